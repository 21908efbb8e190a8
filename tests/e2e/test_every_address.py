"""Every address that gives somebody a page, and every kind of task: inspected, none left out.

The application's own table of addresses says which there are: a new one is looked at here, or has
to be listed below as one that gives no page, and why. Each is opened as everybody who may meet it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pytest
from werkzeug.routing import Rule

from holdtrue import create_app
from holdtrue.bootstrap import compose
from holdtrue.domain.checklist import checklist
from holdtrue.domain.documents import with_shims
from holdtrue.domain.tasks import TASK_KINDS
from holdtrue.service import cards, choosing, installers, jobs, parked, tasks
from holdtrue.service.services import Services
from holdtrue.store.memory import MemoryStore
from tests.domain.test_hang_methods import FASTENERS, on_a_rail, on_a_wire
from tests.e2e.inspection import REFUSALS
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server
from tests.walking import LEAD, do, golden, off_by, released, walk

GIVES_NO_PAGE = {
    "static": "pictures, styles and scripts",
    "assets.show": "the phone's style and script",
    "assets.worker": "the phone's service worker",
    "health.health": "for whoever watches the server",
    "label.job_file": "a file to keep",
    "label.download": "a picture to print",
    "jobs.job_file": "a file to keep",
    "jobs.log_file": "a file to keep",
    "review.bundle": "a file to keep",
    "review.photo": "a photo alone",
    "phone.drawings": "for the phone's script",
    "phone.pack": "for the phone's script",
    "phone.park": "for the phone's script",
    "phone.echo": "the words under one input, part of the task's page",
}
NEXT = "fasteners.measure:C2"
MAY = {
    "nobody": ("anyone",),
    "installer": ("anyone", "member"),
    "lead": ("anyone", "member", "lead"),
}
SEND_EMPTY = """
(action) => {
  const form = document.createElement("form");
  Object.assign(form, { method: "post", action });
  const own = { csrf: document.querySelector("[name=csrf]").value, key: crypto.randomUUID() };
  for (const [name, value] of Object.entries(own)) {
    form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
  }
  document.body.append(form);
  form.submit();
}
"""


def rules(method: str) -> list[tuple[Rule, str]]:
    """Addresses that give a page to this kind of request, each with who may call it."""
    app = create_app(compose(MemoryStore(), secret=bytes(32)))
    return [
        (rule, getattr(app.view_functions[rule.endpoint], "holdtrue_access", "anyone"))
        for rule in sorted(app.url_map.iter_rules(), key=lambda rule: rule.rule)
        if method in (rule.methods or ()) and rule.endpoint not in GIVES_NO_PAGE
    ]


@dataclass(frozen=True, kw_only=True)
class House:
    """A job half done, a stop, something refused, a card: what there must be to be looked at."""

    job: str
    code: str
    card: str
    stop: int
    refused: int
    result: int

    def path(self, rule: Rule, link: str = "x") -> str:
        """The address with something of this house in each of its gaps; ``link``: a lead's."""
        of_stop, is_card = "stop" in rule.endpoint + rule.rule, rule.rule[1:3] in ("c/", "C/")
        there = {
            "job_id": self.job,
            "code": self.code,
            "token": self.card if is_card else link,
            "seq": self.stop if of_stop else self.refused if "parked" in rule.rule else self.result,
            "task_id": NEXT,
            "seat": "C2",
            "panel": "C",
            "place": 0,
            "number": self.result,
            # the rest is of addresses that give no page
            **dict.fromkeys(("version", "name", "filename", "digest"), "x"),
        }
        return re.sub(r"<(?:\w+:)?(\w+)>", lambda gap: str(there[gap[1]]), rule.rule)


def furnished(services: Services) -> House:
    job_id = released(services, LEAD)
    walk(services, LEAD, job_id, until=NEXT)

    def key() -> str:
        return services.ids.key()

    code = installers.invite_installer(services, LEAD, job_id, label="the crew", key=key())
    result = jobs.state_of(services, job_id).records["fasteners.measure:C1"].seq
    stop = tasks.call_stop(services, LEAD, job_id, "D1", what="cable", key=key())
    refused = parked.park(
        services, LEAD, job_id, task="fasteners.measure:C1", fields="{}", words="no", key=key()
    )
    return House(
        job=job_id,
        code=code,
        card=cards.issue_card(services, LEAD, job_id, key=key()),
        stop=stop.seq,
        refused=refused.seq,
        result=result,
    )


@pytest.fixture
def house(server: Server) -> House:
    with server.opened() as services:
        return furnished(services)


def test_the_list_of_what_gives_no_page_is_true(server: Server, crew: Crew, house: House) -> None:
    app = create_app(compose(MemoryStore(), secret=bytes(32)))
    assert GIVES_NO_PAGE.keys() <= app.view_functions.keys()
    server.start()
    lea = lead(server, crew)
    for rule in app.url_map.iter_rules():
        if rule.endpoint in GIVES_NO_PAGE and "GET" in (rule.methods or ()):
            answer = lea.page.request.get(server.address + house.path(rule))
            is_page = answer.text().lstrip().lower().startswith("<!doctype html")
            assert answer.status == 404 or not is_page, rule.rule


@pytest.mark.parametrize("who", MAY)
def test_every_address(server: Server, crew: Crew, house: House, who: str) -> None:
    """Whoever may see it gets a page; whoever may not, a page that says so or the first one."""
    server.start()
    visitor = {"nobody": stranger, "installer": installer, "lead": lead}[who](server, crew, house)
    link = own_link(visitor) if who == "lead" else server.lead_link.rpartition("/")[2]
    for rule, access in rules("GET"):
        with visitor.watch.refusals():
            answer = visitor.page.goto(server.address + house.path(rule, link))
        assert answer is not None
        is_allowed = access in MAY[who]
        is_there = answer.status == 200 and (is_allowed or who == "nobody")
        assert is_there or (not is_allowed and answer.status == 403), (rule.rule, answer.status)
        visitor.look()


def stranger(_server: Server, crew: Crew, _house: House) -> Person:
    return crew.person("a passer-by")


def installer(server: Server, crew: Crew, house: House) -> Person:
    ivo = crew.person("Ivo")
    ivo.join(server.address, house.code, tape="Inch fractions", hand="Left hand")
    return ivo


def lead(server: Server, crew: Crew, _house: House | None = None) -> Person:
    lea = crew.person("Lea")
    lea.become_lead(server.lead_link)
    return lea


def own_link(lea: Person) -> str:
    """Not used yet."""
    lea.tap(lea.link("People"))
    lea.tap(lea.button("Make a link for my other device"))
    return lea.page.locator("#new-link").inner_text().rpartition("/")[2]


def test_every_form_left_empty(server: Server, crew: Crew, house: House) -> None:
    """What comes is a page too, mostly one that says what lacks."""
    server.start()
    lea = lead(server, crew)
    last = "signin.sign_out"
    for rule, _ in sorted(rules("POST"), key=lambda one: one[0].endpoint == last):
        lea.page.goto(f"{server.address}/people")
        with lea.watch.refusals(), lea.page.expect_navigation() as leads:
            lea.page.evaluate(SEND_EMPTY, house.path(rule))
        answer = leads.value
        assert answer.status == 200 or answer.status in REFUSALS, (rule.rule, answer.status)
        assert answer.headers["content-type"].startswith("text/html"), rule.rule
        lea.look()


# -- tasks -----------------------------------------------------------------------------------------


def test_every_kind_of_task(server: Server, crew: Crew) -> None:
    """As a form to fill in: of a job that is done, and of those that had something more to do."""
    with server.opened() as services:
        there = [one(services) for one in WITH_ALL_KINDS]
        listed = {job_id: checklist(jobs.state_of(services, job_id)) for job_id in there}
    server.start()
    lea = lead(server, crew)
    seen: set[str] = set()
    for job_id, tasks_there in listed.items():
        for task in tasks_there:
            if task.kind.name not in seen:
                lea.open(f"{server.address}/jobs/{job_id}/phone/{task.id}?again=1")
                seen |= {task.kind.name} if lea.task == task.id else set()
    assert seen == TASK_KINDS.keys()


def made(services: Services, document: Mapping[str, Any], **said: Any) -> str:
    job_id = jobs.create_job(services, LEAD, document=document, key=services.ids.key())
    how = {"reason": "the pilot will show", "agreed": "Mara", "way": "fasteners_first", **said}
    jobs.release(services, LEAD, job_id, key=services.ids.key(), **how)
    return job_id


def done(services: Services) -> str:
    """With shims, hold points and the next day's reading."""
    holds = ("first_hole", "first_lift", "leave")
    document = with_shims(golden(), "ABCD", 25.4 / 16)
    job_id = made(services, document, holds=holds, next_day=True)
    walk(services, LEAD, job_id)
    return job_id


def begun(services: Services) -> str:
    """Nothing is marked yet, so a story stick is offered."""
    job_id = made(services, golden())
    walk(services, LEAD, job_id, until="fasteners.mark:C1")
    return job_id


def hung_low(services: Services) -> str:
    """A panel out of level is to be trimmed."""
    job_id = made(services, golden())
    low = {"panels.level:A": {"low": "left", "by": "1/8"}}
    walk(services, LEAD, job_id, answers=low, until="panels.trim:A")
    return job_id


def hung_early(services: Services) -> str:
    """A panel hangs while others are still to be driven: its edge is read."""
    job_id = made(services, golden(), way="panel_by_panel")
    walk(services, LEAD, job_id, until="panels.edge:C")
    return job_id


def on_wire(services: Services) -> str:
    job_id = made(services, on_a_wire() | FASTENERS)
    walk(services, LEAD, job_id, until="work.wire:A")
    return job_id


def on_rail(services: Services) -> str:
    job_id = made(services, on_a_rail() | FASTENERS)
    walk(services, LEAD, job_id, until="work.rail:A")
    return job_id


def moved(services: Services) -> str:
    """A seat came out low and its hanger is to be moved."""
    job_id = made(services, golden())
    state = walk(services, LEAD, job_id, until=NEXT)
    do(services, LEAD, job_id, NEXT, off_by(state, "C2", 0, -5))
    of = jobs.state_of(services, job_id).set_seats["C2"].seq
    key = services.ids.key()
    choosing.choose(services, LEAD, job_id, "C2", choice="move_hanger", of=of, key=key)
    walk(services, LEAD, job_id, until="panels.move:C2")
    return job_id


WITH_ALL_KINDS = (done, begun, hung_low, moved, hung_early, on_wire, on_rail)
