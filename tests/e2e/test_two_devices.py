"""A lead on two devices: the lost one is signed out, however often the button is tapped."""

from __future__ import annotations

from tests.e2e.people import Crew, Person
from tests.e2e.server import Server


def test_two_taps_on_signing_out_my_other_devices_sign_only_those_out(
    server: Server, crew: Crew
) -> None:
    server.start()
    lea, lost = crew.person("Lea"), crew.person("Lea")
    lea.become_lead(server.lead_link)
    lea.open(f"{server.address}/people")
    lea.tap(lea.button("Make a link for my other device"))
    lost.open(lea.page.locator("#new-link").inner_text())
    lost.page.get_by_label("Your name").fill("Lea")
    lost.tap(lost.button("Sign in"))
    assert lost.button("Sign out").is_visible()
    tap_twice(lea)
    assert "Your other devices are signed out." in lea.main.inner_text()
    lea.open(f"{server.address}/people")
    assert lea.heading == "Leads", "who taps stays signed in"
    lost.open(f"{server.address}/people")
    assert lost.page.get_by_label("Code from your lead").is_visible()


def tap_twice(lea: Person) -> None:
    """As a finger that trembles: the second tap comes before the answer to the first."""
    button = lea.button("Sign out my other devices")
    button.scroll_into_view_if_needed()
    box = button.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    lea.page.touchscreen.tap(x, y)
    lea.page.touchscreen.tap(x, y)
    lea.page.get_by_role("status").wait_for()
    lea.page.wait_for_load_state("networkidle")
    lea.look()
