"""The server dies at the wrong moment and comes back: what was acknowledged is there, once."""

from __future__ import annotations

from collections import Counter
from random import Random
from time import sleep

from playwright.sync_api import Route

from holdtrue.cli import main
from tests.e2e.people import Crew, Person
from tests.e2e.prepared import Prepared
from tests.e2e.server import Server

KILLS = 5
LONGEST_S = 0.04
"""Posts here take a few hundredths of a second; a kill within them hits before, in and after."""


def joined(server: Server, crew: Crew) -> tuple[Prepared, Person]:
    job = Prepared(server, until="fasteners.mark:C1")
    server.start()
    ivo = crew.person("Ivo")
    ivo.join(server.address, job.code, tape="Inch fractions", hand="Left hand")
    return job, ivo


def recorded(job: Prepared) -> Counter[str]:
    return Counter(e.body["task"] for e in job.entries() if e.type == "TaskRecorded")


def test_a_server_killed_between_two_taps_loses_nothing(server: Server, crew: Crew) -> None:
    job, ivo = joined(server, crew)
    ivo.work(until="fasteners.pilot:C1")
    ivo.put("met", "nothing")
    ivo.all_sent()
    server.kill()
    with ivo.watch.cut_off():
        ivo.tap(ivo.button("Record"))
        assert ivo.task == "fasteners.anchor:C1"
        assert "1 not sent: only on this phone" in ivo.outbox.inner_text()
        server.start()
        ivo.all_sent()
    ivo.work(until="fasteners.measure:C1")
    ivo.all_sent()
    server.stop()
    assert recorded(job)["fasteners.pilot:C1"] == 1


def test_a_lost_answer_is_asked_for_again_and_stored_once(server: Server, crew: Crew) -> None:
    job, ivo = joined(server, crew)

    def lose(route: Route) -> None:
        """The server has it on disk, then dies before a word of it reaches the phone."""
        route.fetch()
        server.kill()
        route.abort()

    assert ivo.task == "fasteners.mark:C1"
    ivo.page.route("**/fasteners.mark:C1", lose, times=1)
    with ivo.watch.cut_off():
        ivo.tap(ivo.button("Marked"))
        assert ivo.task == "fasteners.mark:C2"
        ivo.outbox.get_by_text("1 not sent: only on this phone").wait_for()
        server.start()
        ivo.all_sent()
    server.stop()
    assert recorded(job)["fasteners.mark:C1"] == 1


def test_kills_in_the_middle_of_posts_lose_nothing_acknowledged(server: Server, crew: Crew) -> None:
    job, ivo = joined(server, crew)
    random = Random(7)
    tapped = []
    with ivo.watch.cut_off():
        for _ in range(KILLS):
            tapped.append(ivo.task or "")
            if tapped[-1].startswith("fasteners.pilot"):
                ivo.put("met", "nothing")
            ivo.send(ivo.page.locator(".thumb button.button-main"))
            sleep(random.uniform(0, LONGEST_S))
            server.kill()
            ivo.arrive()
            server.start()
        ivo.all_sent()
    server.stop()
    stored = recorded(job)
    assert len(set(tapped)) == KILLS
    assert {task: stored[task] for task in tapped} == dict.fromkeys(tapped, 1)
    assert main(["check", "--data", str(server.data)]) == 0
