"""Two installers on one job at once, each on a panel of their own."""

from __future__ import annotations

from collections import Counter

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


def test_a_mark_that_moved_while_the_page_was_open_is_refused_and_shown_anew(
    server: Server, crew: Crew
) -> None:
    job = Prepared(server, until="fasteners.measure:C1")
    server.start()
    ivo, una = crew.person("Ivo"), crew.person("Una")
    ivo.join(server.address, job.code, tape="Inch fractions", hand="Left hand")
    una.join(server.address, job.code, tape="Inch fractions", hand="Right hand")
    una.go_to("Mark D1")
    before = numbers(una)

    ivo.go_to("Measure C1")
    ivo.do("fasteners.measure:C1", {"x": "1", "above": "5 1/16"})
    assert "marks move" in ivo.main.inner_text()

    with una.watch.refused(409):
        una.tap(una.button("Marked"))
    assert una.alert.startswith("The numbers of this task changed while the page was open")
    assert "nothing was recorded" in una.alert
    assert una.task == "fasteners.mark:D1"
    assert numbers(una) != before
    una.tap(una.button("Marked"))
    assert una.task != "fasteners.mark:D1"


def numbers(person: Person) -> list[str]:
    return person.page.locator(".number-hand").all_inner_texts()
