"""What a stage, a task kind and a field are; the tables are in ``tasks_survey`` and
``tasks_hanging``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Scope = Literal["job", "panel", "hanger", "seat", "pair", "facing", "line"]
FieldKind = Literal[
    "length", "across", "choice", "text", "name", "count", "studs", "seats", "photo"
]


FAILED = "failed"
"""Outcome of what was tried and did not hold: it stands in the log, and its task stays to do."""
EVERYWHERE = "everywhere"
"""Instead of naming seats; no seat is called so, since they all end in a number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    name: str
    title: str


STAGES: tuple[Stage, ...] = (
    Stage(name="join", title="Join"),
    Stage(name="before", title="Before anything"),
    Stage(name="work", title="The work"),
    Stage(name="reference", title="Reference"),
    Stage(name="level", title="The level line"),
    Stage(name="behind", title="Behind the wall"),
    Stage(name="stand_back", title="Stand back"),
    Stage(name="fasteners", title="Fasteners"),
    Stage(name="panels", title="Each panel"),
    Stage(name="secure", title="Secure"),
    Stage(name="close", title="Close"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One thing typed or chosen.

    ``length`` is never negative; ``across`` is a length left (negative) or right of the reference
    line; ``name`` is a text that says whose yes it is; ``studs`` is a list of stud centres with
    their material; ``seats`` are the seats it is about, or ``EVERYWHERE``.
    """

    name: str
    kind: FieldKind
    label: str
    choices: tuple[tuple[str, str], ...] = ()
    required: bool = True
    hint: str = ""
    far_mm: float | None = None
    """Farther than this from the plan asks once more."""

    @property
    def is_length(self) -> bool:
        return self.kind in ("length", "across")


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskKind:
    """One kind of task.

    ``ask`` is the one line that says what to do ({subject} stands for its subject); ``done_word``
    labels its main button when there is no plan to confirm; ``has_plan``: its fields are prefilled
    with the plan and "As planned" records them; ``shapes_plan``: what is recorded changes the plan,
    so it is closed once a hole exists.
    """

    name: str
    stage: str
    scope: Scope
    title: str
    ask: str
    fields: tuple[Field, ...] = ()
    has_plan: bool = False
    shapes_plan: bool = False
    lead_only: bool = False
    is_optional: bool = False
    """Nothing waits for it, and it is never the next task by itself."""
    failing: Literal["", "way", "record"] = ""
    """What is tried may fail: that is in the way of its seat, or is recorded and stays to do."""
    done_word: str = "Done"
    plan_word: str = "As planned"
    measured_word: str = "Record what I measured"
    caution: str = ""
    instrument: str = ""
    figure: str = ""
    """Name of the explanatory figure, where there is no drawing of this job's own."""
    asks: tuple[tuple[str, str], ...] = field(default=(), repr=False)
    """Hanging method and what is asked for then instead of ``ask``."""
    methods: tuple[str, ...] = field(default=(), repr=False)
    """Hanging methods whose panels have this task; empty: all of them."""

    def ask_for(self, method: str) -> str:
        """The one line for a panel that hangs by this method."""
        return dict(self.asks).get(method, self.ask)
