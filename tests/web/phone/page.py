"""A page as a browser without scripts has it: its forms, their fields and buttons, its words."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from html.parser import HTMLParser

from werkzeug.test import TestResponse

Attributes = dict[str, str]
_PACK = re.compile(
    r'<div id="pack" hidden>.*?</div>\s*(?=<script type="application/json")', re.DOTALL
)
"""The other tasks' screens, as templates: not on the page for who runs no script."""


@dataclass(frozen=True)
class Form:
    """What a form would send."""

    action: str
    id: str
    fields: dict[str, str]
    buttons: tuple[tuple[str, str, str], ...] = ()
    """Name, value and words of each."""

    def filled(self, typed: dict[str, str]) -> Form:
        unknown = set(typed) - set(self.fields) - self._radios()
        assert not unknown, f"the form has no field {unknown}"
        return replace(self, fields={**self.fields, **typed})

    def _radios(self) -> set[str]:
        return set(self.radios)

    radios: tuple[str, ...] = ()

    def pressed(self, words: str) -> Form:
        """With the button of these words, as a browser sends it."""
        found = [(name, value) for name, value, said in self.buttons if said == words]
        assert found, f"no button {words!r}; there are {[said for *_, said in self.buttons]}"
        name, value = found[0]
        return replace(self, fields={**self.fields, **({name: value} if name else {})})


@dataclass
class Screen:
    """One answer, taken apart."""

    html: str
    status: int
    location: str | None
    forms: list[Form] = field(default_factory=list)
    links: list[tuple[str, str]] = field(default_factory=list)
    heading: str = ""
    words: str = ""

    def form(self, form_id: str) -> Form:
        found = [form for form in self.forms if form.id == form_id]
        assert found, f"no form {form_id}; there are {[form.id for form in self.forms]}"
        return found[0]

    def link(self, words: str) -> str:
        found = [href for href, said in self.links if said == words]
        assert found, f"no link {words!r}; there are {[said for _, said in self.links]}"
        return found[0]

    def has_link(self, words: str) -> bool:
        return any(said == words for _, said in self.links)


class _Reader(HTMLParser):
    """Collects forms (buttons may name theirs from outside), links and text."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: dict[int, dict[str, object]] = {}
        self.open: int | None = None
        self.loose: list[tuple[str, str, str, str]] = []
        self.links: list[tuple[str, str]] = []
        self.text: list[str] = []
        self.heading = ""
        self.button: tuple[str, str, str | None] | None = None
        self.link: str | None = None
        self.select: str | None = None
        self.said: list[str] = []
        self.in_heading = False
        self.skipped = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        at = {name: value or "" for name, value in attrs}
        if tag in ("script", "title", "desc") or (self.skipped and tag != "br"):
            self.skipped += 1 if tag in ("script", "title", "desc") else 0
            return
        if tag == "form":
            self.open = len(self.forms)
            self.forms[self.open] = {"at": at, "fields": {}, "buttons": [], "radios": []}
        elif tag == "input":
            self._input(at)
        elif tag == "select":
            self.select = at.get("name")
        elif tag == "option" and self.select is not None:
            fields = self._fields()
            if "selected" in at or self.select not in fields:
                fields[self.select] = at.get("value", "")
        elif tag == "button":
            self.button = (at.get("name", ""), at.get("value", ""), at.get("form"))
            self.said = []
        elif tag == "a":
            self.link, self.said = at.get("href", ""), []
        elif tag == "h1":
            self.in_heading = True

    def _fields(self) -> dict[str, str]:
        fields = self.forms[self.open if self.open is not None else -1]["fields"]
        assert isinstance(fields, dict)
        return fields

    def _input(self, at: Attributes) -> None:
        if self.open is None or at.get("type") == "file":
            return
        if at.get("type") in ("radio", "checkbox"):
            radios = self.forms[self.open]["radios"]
            assert isinstance(radios, list)
            radios.append(at["name"])
            if "checked" not in at:
                return
        self._fields()[at["name"]] = at.get("value", "")

    def handle_endtag(self, tag: str) -> None:
        if tag in ("script", "title", "desc"):
            self.skipped = max(0, self.skipped - 1)
        elif tag == "form":
            self.open = None
        elif tag == "select":
            self.select = None
        elif tag == "button" and self.button is not None:
            name, value, owner = self.button
            words = " ".join("".join(self.said).split())
            if owner is not None:
                self.loose.append((owner, name, value, words))
            elif self.open is not None:
                buttons = self.forms[self.open]["buttons"]
                assert isinstance(buttons, list)
                buttons.append((name, value, words))
            self.button = None
        elif tag == "a" and self.link is not None:
            self.links.append((self.link, " ".join("".join(self.said).split())))
            self.link = None
        elif tag == "h1":
            self.in_heading = False

    def handle_data(self, data: str) -> None:
        if self.skipped:
            return
        self.text.append(data)
        self.said.append(data)
        if self.in_heading:
            self.heading += data


def read_screen(answer: TestResponse, status: int = 200) -> Screen:
    """The answer, which must have this status."""
    html = _PACK.sub("", answer.text)
    reader = _Reader()
    reader.feed(html)
    assert answer.status_code == status, "".join(reader.text)
    screen = Screen(
        html=html,
        status=answer.status_code,
        location=answer.headers.get("Location"),
        links=reader.links,
        heading=" ".join(reader.heading.split()),
        words=re.sub(r"\s+", " ", "".join(reader.text)),
    )
    for form in reader.forms.values():
        at, fields, buttons = form["at"], form["fields"], form["buttons"]
        assert isinstance(at, dict)
        assert isinstance(fields, dict)
        assert isinstance(buttons, list)
        assert isinstance(form["radios"], list)
        own_id = at.get("id", "")
        outside = [(n, v, said) for owner, n, v, said in reader.loose if owner == own_id]
        screen.forms.append(
            Form(
                action=at.get("action", ""),
                id=own_id,
                fields=fields,
                buttons=(*buttons, *outside),
                radios=tuple(form["radios"]),
            )
        )
    return screen
