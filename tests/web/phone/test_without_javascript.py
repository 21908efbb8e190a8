"""The whole golden job by plain forms and links: every task a page, every action a POST and 303."""

from __future__ import annotations

import io

from tests.walking import ANSWERS, JPEG, MET
from tests.web.phone.conftest import At, Site
from tests.web.phone.page import Screen, read_screen


def test_the_whole_job_from_joining_to_handing_over(at: At) -> None:
    site = at("join.ways")
    url = f"{site.base}/join.ways"
    for _ in range(200):
        task_id = url.split("/phone/")[1].split("?", maxsplit=1)[0]
        if task_id == "all":
            break
        url = do_task(site, task_id)

    assert site.state.review.state == "handed_over"
    assert len(site.state.set_seats) == 9


def do_task(site: Site, task_id: str) -> str:
    """Do one task by its form; the address of the next."""
    shown = site.see(task_id)
    form = shown.form("task-form")
    kind = task_id.partition(":")[0]
    if kind == "close.photo":
        sent = site.visitor.client.post(
            form.action,
            data={**form.fields, "outcome": "done", "photo": (io.BytesIO(JPEG), "a.jpg")},
        )
        return sent.headers["Location"]
    typed = dict(ANSWERS.get(kind, {}))
    if kind == "fasteners.pilot":
        typed = {"met": MET[site.state.seat(task_id.partition(":")[2]).into]}
    has_plan = any(words == "As planned" for *_, words in form.buttons)
    main = "As planned" if has_plan else next(w for n, _, w in form.buttons if n == "outcome")
    sent = site.visitor.client.post(form.action, data=form.filled(typed).pressed(main).fields)
    if sent.status_code == 422:
        again = read_screen(sent, 422).form("task-form")
        sent = site.send(again.pressed("Save"))
    assert sent.status_code == 303, sent.text
    return follow(site, sent.headers["Location"])


def follow(site: Site, url: str) -> str:
    """Past a result, to the task it leads to."""
    if "/result/" not in url:
        return url
    shown: Screen = site.see(url)
    return shown.link("Go on") if shown.has_link("Go on") else shown.link("All tasks")
