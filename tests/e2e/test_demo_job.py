"""A look round: one tap to the demo job, one more to its first task on the phone."""

from __future__ import annotations

from tests.e2e.people import Crew
from tests.e2e.server import Server


def test_from_the_link_to_the_first_task_of_the_demo_job(server: Server, crew: Crew) -> None:
    server.start()
    lea = crew.person("Lea")
    lea.become_lead(server.lead_link)
    lea.tap(lea.button("Open the demo job"))
    assert lea.heading == "Tidewrack, four panels"
    lea.tap(lea.button("Release revision 1"))
    lea.tap(lea.link("Phone"))
    assert lea.task == "join.ways"
    lea.do("join.ways")
    assert lea.task == "before.cautions"
    assert "Never lift from a ladder" in lea.main.inner_text()
