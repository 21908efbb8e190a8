"""Two installers on one job at once, each on a panel of their own."""

from __future__ import annotations

from collections import Counter

from playwright.sync_api import Response

from tests.e2e.offline.fieldwork import has_the_job, offline
from tests.e2e.people import Crew, Person
from tests.e2e.prepared import Prepared
from tests.e2e.server import Server


def test_two_installers_work_on_different_panels_at_once(server: Server, crew: Crew) -> None:
    job = Prepared(server, until="fasteners.mark:C1")
    server.start()
    ivo, una = crew.person("Ivo"), crew.person("Una")
    ivo.join(server.address, job.code, tape="Inch fractions", hand="Left hand")
    una.join(server.address, job.code, tape="Millimetres", hand="Right hand")
    ivo.go_to("Mark C1")
    una.go_to("Mark D1")
    done = [tap_at_once(ivo, una) for _ in range(6)]
    for person in (ivo, una):
        person.all_sent()
    server.stop()
    recorded = [(e.who, e.body["task"]) for e in job.entries() if e.type == "TaskRecorded"]
    mine, hers = (Counter(task for task, _ in done), Counter(task for _, task in done))
    for tasks, panel in ((mine, "C"), (hers, "D")):
        assert all(f":{panel}" in task for task in tasks), tasks
        assert all(sum(t == task for _, t in recorded) == n for task, n in tasks.items())
    by = {task: who for who, task in recorded}
    assert len({by[task] for task in mine}) == len({by[task] for task in hers}) == 1
    assert by["fasteners.mark:C1"] != by["fasteners.mark:D1"]


def tap_at_once(ivo: Person, una: Person) -> tuple[str, str]:
    """Both tap before either has an answer."""
    tasks = (ivo.task or "", una.task or "")
    for person in (ivo, una):
        if person.task and person.task.startswith("fasteners.pilot"):
            person.put("met", "nothing" if person.task[-2] == "C" else "wood")
    for person in (ivo, una):
        planned = person.button("As planned")
        main = person.page.locator(".thumb button.button-main")
        person.send(planned if planned.count() else main)
    for person in (ivo, una):
        person.arrive()
    return tasks


def c1_comes_out_off(server: Server, crew: Crew) -> tuple[Person, Person]:
    """Ivo at the seat, Una about to mark D1."""
    job = Prepared(server, until="fasteners.measure:C1")
    server.start()
    ivo, una = crew.person("Ivo"), crew.person("Una")
    ivo.join(server.address, job.code, tape="Inch fractions", hand="Left hand")
    una.join(server.address, job.code, tape="Inch fractions", hand="Right hand")
    una.go_to("Mark D1")
    ivo.go_to("Measure C1")
    return ivo, una


def measure_off(ivo: Person) -> None:
    ivo.do("fasteners.measure:C1", {"x": "1", "above": "5 1/16"})
    assert "marks move" in ivo.main.inner_text()
    ivo.all_sent()


def test_a_mark_that_moves_while_somebody_looks_is_shown_anew_and_said(
    server: Server, crew: Crew
) -> None:
    ivo, una = c1_comes_out_off(server, crew)
    before = numbers(una)
    measure_off(ivo)
    una.main.get_by_role("alert").wait_for()
    assert una.alert.startswith("The numbers of this task changed")
    assert una.task == "fasteners.mark:D1"
    assert numbers(una) != before


def test_what_somebody_recorded_themselves_is_no_news_to_them(server: Server, crew: Crew) -> None:
    ivo, _ = c1_comes_out_off(server, crew)
    has_the_job(ivo)
    with ivo.page.expect_response(is_news):
        with offline(ivo):
            ivo.do("fasteners.measure:C1", {"x": "1", "above": "5 1/16"})
            ivo.tap(ivo.page.locator(".thumb .button-main"))
            ivo.do(ivo.task or "")
            task = ivo.task
        ivo.main.get_by_text("Mark C2: saved").wait_for()
    ivo.page.wait_for_timeout(500)  # what the news does to the screen, it does at once
    assert ivo.task == task
    assert not ivo.main.get_by_role("alert").count(), ivo.main.inner_text()
    assert ivo.main.locator(".kept").all_inner_texts() == ["Mark C2: saved"]


def is_news(response: Response) -> bool:
    return "/phone/pack" in response.url and response.status == 200


def test_a_mark_made_before_the_news_came_is_kept_and_asked_for_again(
    server: Server, crew: Crew
) -> None:
    ivo, una = c1_comes_out_off(server, crew)
    before = numbers(una)
    una.page.route("**/phone/pack?**", lambda route: route.abort())
    measure_off(ivo)
    una.tap(una.button("Marked"))
    una.all_sent()
    una.page.unroute_all()
    una.go_to("Mark D1")
    una.page.locator("#task-form").wait_for(state="attached")
    assert una.task == "fasteners.mark:D1", "it stands on the wall where it was shown, and moves"
    assert numbers(una) != before
    una.tap(una.button("Marked"))
    una.all_sent()
    una.go_to("Mark D1")
    assert una.task is None


def numbers(person: Person) -> list[str]:
    return person.page.locator(".number-hand").all_inner_texts()
