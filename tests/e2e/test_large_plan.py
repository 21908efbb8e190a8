"""A plan form larger than the server takes: it is not sent, and all that was typed stays."""

from __future__ import annotations

from tests.e2e.people import Crew
from tests.e2e.server import Server

FILL = """() => {
  const fields = document.querySelectorAll("#plan-form input:not([type=hidden])");
  for (const field of fields) field.value = "7".repeat(400_000);
  return fields.length;
}"""


def test_a_form_too_large_to_send_stays_as_it_was_typed(server: Server, crew: Crew) -> None:
    server.start()
    lea = crew.person("Lea")
    lea.become_lead(server.lead_link)
    lea.tap(lea.link("New job"))
    assert lea.page.evaluate(FILL) * 400_000 > 16 * 1024 * 1024
    lea.page.get_by_label("Title").fill("Tall ships")
    address = lea.page.url

    lea.button("Save as a new job").tap()

    said = lea.page.get_by_role("alert")
    assert said.inner_text().startswith("Not sent: this is more text than a plan can hold.")
    assert lea.page.url == address
    assert lea.page.get_by_label("Title").input_value() == "Tall ships"
    assert len(lea.page.get_by_label("Width").first.input_value()) == 400_000
