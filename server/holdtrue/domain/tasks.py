"""Every kind of task of a job, stage by stage: what to do, what is read, what may be recorded.

This table is the single place where tasks are described: pages, forms, the log's texts and the
checklist are all made from it. A task's id is ``kind`` or ``kind:subject`` (a panel, a seat, two
neighbouring seats or panels, a level line).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Scope = Literal["job", "panel", "hanger", "seat", "pair", "facing", "line"]
FieldKind = Literal["length", "across", "choice", "text", "count", "studs", "photo"]


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
    line; ``studs`` is a list of stud centres with their material.
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
    done_word: str = "Done"
    caution: str = ""
    instrument: str = ""
    figure: str = ""
    """Name of the explanatory figure, where there is no drawing of this job's own."""


YES_NO = (("yes", "Yes"), ("no", "No"))
MET = (
    ("nothing", "Nothing: hollow"),
    ("wood", "Wood"),
    ("steel", "Steel"),
    ("masonry", "Masonry: solid"),
    ("unclear", "Cannot tell"),
)
BEHIND_CHOICES = (
    ("hollow", "Hollow between studs"),
    ("backed", "Board behind the lining"),
    ("solid", "Solid"),
)
EDGES = (("left", "Left edge"), ("right", "Right edge"))

_KINDS: tuple[TaskKind, ...] = (
    TaskKind(
        name="join.ways",
        stage="join",
        scope="job",
        title="Your way of working",
        ask="Choose the unit on your tape and the hand you hold the phone with.",
        fields=(
            Field(
                name="unit",
                kind="choice",
                label="Your tape reads",
                choices=(("in", "inch fractions"), ("mm", "mm"), ("cm", "cm")),
            ),
            Field(
                name="hand",
                kind="choice",
                label="Phone in the",
                choices=(("right", "right hand"), ("left", "left hand")),
            ),
        ),
        done_word="Use these",
    ),
    # -- Before anything ---------------------------------------------------------------------
    TaskKind(
        name="before.cautions",
        stage="before",
        scope="job",
        title="Cautions",
        ask="Read these out to everybody who helps.",
        done_word="Everybody knows",
        caution="cautions",
    ),
    TaskKind(
        name="before.loads",
        stage="before",
        scope="job",
        title="Loads",
        ask="See what each fastener will carry and what is allowed.",
        done_word="Seen and understood",
        caution="loads",
    ),
    TaskKind(
        name="before.tools",
        stage="before",
        scope="job",
        title="Tools and fasteners",
        ask="Lay out the tools, the fasteners and the spares.",
        done_word="All here",
    ),
    TaskKind(
        name="before.people",
        stage="before",
        scope="job",
        title="People for the lift",
        ask="Count the people for the lift and name what they stand on.",
        fields=(
            Field(name="people", kind="count", label="People for the heaviest panel"),
            Field(
                name="platform",
                kind="choice",
                label="They stand on",
                choices=(
                    ("floor", "the floor"),
                    ("platform", "a platform"),
                    ("two_ladders", "two ladders, a third person steadying"),
                ),
            ),
        ),
        caution="lifting",
        done_word="Record",
    ),
    TaskKind(
        name="before.wall_yes",
        stage="before",
        scope="job",
        title="The venue's yes",
        ask="Who at the venue said yes to drilling this wall?",
        fields=(Field(name="who", kind="text", label="Name and role"),),
        caution="old_walls",
        done_word="Record",
    ),
    TaskKind(
        name="before.services",
        stage="before",
        scope="job",
        title="Hidden cables and pipes",
        ask="Check the wall for hidden cables and pipes before anything is drilled.",
        fields=(
            Field(
                name="how",
                kind="choice",
                label="Checked with",
                choices=(
                    ("detector", "a detector"),
                    ("drawings", "the venue's drawings"),
                    ("both", "both"),
                ),
            ),
            Field(
                name="found",
                kind="text",
                label="What was found",
                required=False,
                hint="empty = nothing found",
            ),
        ),
        caution="services",
        done_word="Checked",
    ),
    # -- The work ------------------------------------------------------------------------------
    TaskKind(
        name="work.hanger",
        stage="work",
        scope="hanger",
        title="Hanger {subject}",
        ask="Measure hanger {subject} from the edge shown and down from the top edge.",
        fields=(
            Field(name="edge", kind="choice", label="Measured from the", choices=EDGES),
            Field(name="in", kind="length", label="In from that edge", far_mm=10.0),
            Field(name="down", kind="length", label="Down from the top edge", far_mm=10.0),
            Field(
                name="to",
                kind="text",
                label="Down to",
                required=False,
                hint="empty = the bearing point; or the name of the sample fastener whose hole "
                "centre you measured to, hanger pulled taut",
            ),
        ),
        has_plan=True,
        shapes_plan=True,
        instrument="tape",
    ),
    TaskKind(
        name="work.spacing",
        stage="work",
        scope="pair",
        title="Spacing {subject}",
        ask="Measure hanger to hanger: it must agree with the two readings from the edges.",
        fields=(Field(name="spacing", kind="length", label="Hanger to hanger", far_mm=10.0),),
        has_plan=True,
        shapes_plan=True,
        instrument="tape",
    ),
    TaskKind(
        name="work.diagonals",
        stage="work",
        scope="panel",
        title="Diagonals of {subject}",
        ask="Measure both diagonals of panel {subject} and name the edge that is read level.",
        fields=(
            Field(name="one", kind="length", label="Top left to bottom right", far_mm=10.0),
            Field(name="two", kind="length", label="Top right to bottom left", far_mm=10.0),
            Field(
                name="level_edge",
                kind="choice",
                label="Edge read level",
                choices=(("top", "Top"), ("bottom", "Bottom")),
            ),
        ),
        has_plan=True,
        instrument="tape",
    ),
    # -- Reference -----------------------------------------------------------------------------
    TaskKind(
        name="reference.mark",
        stage="reference",
        scope="job",
        title="The venue's mark",
        ask="What does the venue's mark mean, and what height does it give?",
        fields=(
            Field(
                name="meaning",
                kind="choice",
                label="The mark is the",
                choices=(
                    ("plan", "reference of the plan, as drawn"),
                    ("centre", "centre of the work"),
                    ("left", "left edge of the work"),
                    ("right", "right edge of the work"),
                ),
            ),
            Field(name="height", kind="length", label="Height it gives", far_mm=25.0),
            Field(
                name="height_of",
                kind="choice",
                label="That height is the work's",
                choices=(("centre", "Centre"), ("top", "Top"), ("bottom", "Bottom")),
            ),
        ),
        has_plan=True,
        shapes_plan=True,
        instrument="tape",
        caution="not_references",
    ),
    TaskKind(
        name="reference.floor",
        stage="reference",
        scope="job",
        title="The floor",
        ask="From one level line, read down to the floor at both ends and at the reference.",
        fields=(
            Field(name="left", kind="length", label="Down to the floor, left end"),
            Field(name="reference", kind="length", label="at the reference"),
            Field(name="right", kind="length", label="right end"),
        ),
        instrument="level",
        figure="floor",
        done_word="Record",
    ),
    TaskKind(
        name="reference.ends",
        stage="reference",
        scope="job",
        title="Wall ends",
        ask="At seat height, measure from the reference to both ends of the wall.",
        fields=(
            Field(name="left", kind="length", label="To the left end", required=False),
            Field(name="right", kind="length", label="To the right end", required=False),
        ),
        shapes_plan=True,
        instrument="tape",
        done_word="Record",
    ),
    TaskKind(
        name="reference.line",
        stage="reference",
        scope="job",
        title="The reference line",
        ask="Plumb the reference line through the mark, top to bottom of the work.",
        instrument="plumb line or laser",
        figure="plumb",
        done_word="Line is plumb",
        caution="marking",
    ),
    TaskKind(
        name="reference.bow",
        stage="reference",
        scope="job",
        title="Bow and lean",
        ask="Lay a straightedge across the wall and plumb it: how far does it bow and lean?",
        fields=(
            Field(name="bow", kind="length", label="Bow, largest gap under the straightedge"),
            Field(name="lean", kind="length", label="Lean over the work's height"),
        ),
        instrument="straightedge",
        figure="bow",
        done_word="Record",
    ),
    # -- The level line ------------------------------------------------------------------------
    TaskKind(
        name="level.check",
        stage="level",
        scope="job",
        title="Check the level",
        ask="Draw along the level, turn it end for end on the same point, draw again.",
        fields=(
            Field(
                name="instrument",
                kind="choice",
                label="Instrument",
                choices=(("spirit", "Spirit level"), ("laser", "Laser")),
            ),
            Field(name="over", kind="length", label="Over a length of"),
            Field(
                name="miss", kind="length", label="The two lines differ by", hint="0 is possible"
            ),
            Field(
                name="higher",
                kind="choice",
                label="First reading's right end was",
                choices=(("same", "the same"), ("high", "higher"), ("low", "lower")),
            ),
        ),
        instrument="level",
        figure="reversal",
        done_word="Record",
    ),
    TaskKind(
        name="level.line",
        stage="level",
        scope="line",
        title="Level line {subject}",
        ask="Draw level line {subject} at this height, behind the panels, and measure it.",
        fields=(
            Field(
                name="height",
                kind="length",
                label="Height above the floor at the reference",
                far_mm=25.0,
            ),
        ),
        has_plan=True,
        instrument="level",
        caution="marking",
    ),
    TaskKind(
        name="level.tape",
        stage="level",
        scope="line",
        title="Paper tape on line {subject}",
        ask="Fix a paper tape along level line {subject}, zero at the reference line.",
        done_word="Tape is on",
        instrument="tape",
    ),
    # -- Behind the wall -----------------------------------------------------------------------
    TaskKind(
        name="behind.studs",
        stage="behind",
        scope="job",
        title="Studs",
        ask="Find the studs where the work hangs: centre of each, and what it is.",
        fields=(Field(name="studs", kind="studs", label="Stud centres from the reference line"),),
        has_plan=True,
        shapes_plan=True,
        instrument="detector",
        caution="services",
    ),
    TaskKind(
        name="behind.wall",
        stage="behind",
        scope="job",
        title="Between the studs",
        ask="What is behind the wall between the studs?",
        fields=(Field(name="behind", kind="choice", label="The wall is", choices=BEHIND_CHOICES),),
        has_plan=True,
        shapes_plan=True,
    ),
    # -- Stand back ----------------------------------------------------------------------------
    TaskKind(
        name="stand_back.corners",
        stage="stand_back",
        scope="job",
        title="Corners on the wall",
        ask="Tape the corners of every panel on the wall with low-tack tape.",
        done_word="Corners are up",
        figure="corners",
    ),
    TaskKind(
        name="stand_back.yes",
        stage="stand_back",
        scope="job",
        title="Maker's or curator's yes",
        ask="Stand back together: height, spacing and order right? No hole before this yes.",
        fields=(Field(name="who", kind="text", label="Who says yes (name and role)"),),
        done_word="They say yes",
    ),
    TaskKind(
        name="hold.first_hole",
        stage="stand_back",
        scope="job",
        title="Hold: first hole",
        ask="The lead looks before the first hole.",
        lead_only=True,
        done_word="Go on",
    ),
    # -- Fasteners -----------------------------------------------------------------------------
    TaskKind(
        name="fasteners.mark",
        stage="fasteners",
        scope="seat",
        title="Mark {subject}",
        ask="Mark the hole for {subject}.",
        done_word="Marked",
        instrument="tape",
    ),
    TaskKind(
        name="fasteners.pair",
        stage="fasteners",
        scope="pair",
        title="Check marks {subject}",
        ask="Before any hole: check the two marks against each other.",
        fields=(
            Field(name="spacing", kind="length", label="Apart, along the level", far_mm=25.0),
            Field(
                name="higher",
                kind="choice",
                label="Higher mark",
                choices=(("level", "same height"), ("left", "left one"), ("right", "right one")),
            ),
            Field(name="by", kind="length", label="Higher by", required=False, far_mm=25.0),
        ),
        has_plan=True,
        instrument="level",
    ),
    TaskKind(
        name="fasteners.pilot",
        stage="fasteners",
        scope="seat",
        title="Pilot {subject}",
        ask="Drill {subject} with the thinnest bit. What did it meet?",
        fields=(Field(name="met", kind="choice", label="The bit met", choices=MET),),
        caution="drilling",
        figure="pilot",
        done_word="Record",
    ),
    TaskKind(
        name="fasteners.anchor",
        stage="fasteners",
        scope="seat",
        title="Anchor {subject}",
        ask="Open the hole and set the fastener.",
        done_word="It is in",
        caution="drilling",
    ),
    TaskKind(
        name="fasteners.press",
        stage="fasteners",
        scope="seat",
        title="Seat {subject}",
        ask="Press it home or hang a test weight on it, so that it settles now and not later.",
        done_word="It holds",
    ),
    TaskKind(
        name="fasteners.measure",
        stage="fasteners",
        scope="seat",
        title="Measure {subject}",
        ask="Measure where seat {subject} really is: across from the reference line, and up "
        "from the level line.",
        fields=(
            Field(name="x", kind="across", label="From the reference line", far_mm=20.0),
            Field(name="above", kind="length", label="Above the level line", far_mm=20.0),
        ),
        has_plan=True,
        instrument="tape",
    ),
    # -- Each panel ----------------------------------------------------------------------------
    TaskKind(
        name="hold.first_lift",
        stage="panels",
        scope="job",
        title="Hold: first lift",
        ask="The lead looks before the first lift.",
        lead_only=True,
        done_word="Go on",
    ),
    TaskKind(
        name="panels.lift",
        stage="panels",
        scope="panel",
        title="Lift {subject}",
        ask="Phone down. Lift panel {subject} together, by both sides.",
        caution="lift_now",
        figure="lift",
        done_word="It is on the wall",
    ),
    TaskKind(
        name="panels.engaged",
        stage="panels",
        scope="panel",
        title="Seat {subject}",
        ask="See or feel that every hanger of {subject} sits on its fastener.",
        done_word="All engaged",
    ),
    TaskKind(
        name="panels.level",
        stage="panels",
        scope="panel",
        title="Level of {subject}",
        ask="Read the level edge of panel {subject} over its whole width.",
        fields=(
            Field(
                name="low",
                kind="choice",
                label="Low side",
                choices=(("level", "level"), ("left", "left"), ("right", "right")),
            ),
            Field(name="by", kind="length", label="Low by", required=False, far_mm=15.0),
        ),
        has_plan=True,
        instrument="level",
    ),
    TaskKind(
        name="panels.facing",
        stage="panels",
        scope="facing",
        title="Between {subject}",
        ask="Laser and rule held clear of the art: read the gap at both ends, and the edges.",
        fields=(
            Field(name="first", kind="length", label="Gap, upper or left end", far_mm=15.0),
            Field(name="second", kind="length", label="Gap, lower or right end", far_mm=15.0),
            Field(
                name="ahead",
                kind="choice",
                label="Further up (or right)",
                choices=(("as_planned", "as planned"), ("p", "first panel"), ("q", "second panel")),
            ),
            Field(
                name="by", kind="length", label="More than planned by", required=False, far_mm=15.0
            ),
            Field(name="flush", kind="length", label="Faces in or out by", required=False),
        ),
        has_plan=True,
        instrument="rule",
    ),
    TaskKind(
        name="panels.trim",
        stage="panels",
        scope="panel",
        title="Trim {subject}",
        ask="Trim panel {subject}, then check it again.",
        fields=(
            Field(name="seat", kind="text", label="At seat"),
            Field(name="by", kind="length", label="Raised by"),
            Field(
                name="means",
                kind="choice",
                label="With",
                choices=(
                    ("shim", "a shim in the ring"),
                    ("screw", "turns of the screw"),
                    ("hanger", "the hanger moved"),
                    ("bumper", "a bumper"),
                ),
            ),
        ),
        done_word="Trimmed",
    ),
    # -- Secure --------------------------------------------------------------------------------
    TaskKind(
        name="secure.lock",
        stage="secure",
        scope="panel",
        title="Secure {subject}",
        ask="Fit the locks, anti-lift or seismic fixings of panel {subject}.",
        fields=(
            Field(
                name="with",
                kind="choice",
                label="Secured with",
                choices=(
                    ("lock", "security locks"),
                    ("anti_lift", "anti-lift fixings"),
                    ("seismic", "seismic fixings"),
                    ("none", "none needed here"),
                ),
            ),
        ),
        done_word="Record",
        caution="public",
    ),
    TaskKind(
        name="secure.try",
        stage="secure",
        scope="panel",
        title="Try {subject}",
        ask="Try panel {subject}: lift, pull, push sideways. Does it hold?",
        done_word="It holds",
    ),
    TaskKind(
        name="secure.key",
        stage="secure",
        scope="job",
        title="The key",
        ask="Who holds the key or tool for the locks?",
        fields=(Field(name="who", kind="text", label="Name and role"),),
        done_word="Record",
    ),
    # -- Close ---------------------------------------------------------------------------------
    TaskKind(
        name="close.engaged",
        stage="close",
        scope="job",
        title="Every hanger",
        ask="Go round once more: every hanger of every panel engaged.",
        done_word="All engaged",
    ),
    TaskKind(
        name="close.photo",
        stage="close",
        scope="job",
        title="Photo",
        ask="Take one photo of the whole work, straight on.",
        fields=(Field(name="photo", kind="photo", label="Photo (JPEG, PNG or WebP)"),),
        done_word="Keep this photo",
    ),
    TaskKind(
        name="close.note",
        stage="close",
        scope="job",
        title="Note",
        ask="Anything the lead or the next venue should know?",
        fields=(Field(name="note", kind="text", label="Note", required=False),),
        done_word="Record",
    ),
    TaskKind(
        name="hold.leave",
        stage="close",
        scope="job",
        title="Hold: before leaving",
        ask="The lead looks before the crew leaves.",
        lead_only=True,
        done_word="Go on",
    ),
    TaskKind(
        name="close.hand_over",
        stage="close",
        scope="job",
        title="Hand over",
        ask="Hand the work over to the lead for review.",
        done_word="Hand over",
    ),
)

TASK_KINDS: Mapping[str, TaskKind] = MappingProxyType({kind.name: kind for kind in _KINDS})

CAUTIONS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "cautions": (
            "Hidden cables and pipes: check before drilling; stop when in doubt.",
            "Never lift from a ladder: use a platform, or two ladders with a third person steadying.",
            "Nobody below a panel until it is secured.",
            "Nobody works within 2 m of drilling near uncovered work.",
            "Old paint and plaster may hold lead or asbestos: ask first.",
            "Glass: tape it, wear gloves, carry it upright. Dust: mask and glasses.",
            "Seismic or public places: fixings as local codes ask.",
            "Local codes, the hardware maker's figures and a licensed professional prevail.",
        ),
        "loads": (
            "This tool computes; it does not certify. Local codes, the hardware maker's figures and "
            "a licensed professional prevail.",
        ),
        "lifting": (
            "Never lift from a ladder. Platform, or two ladders and a third person steadying.",
            "Nobody below until the panel is secured.",
        ),
        "old_walls": ("Old paint and plaster may hold lead or asbestos: ask the venue first.",),
        "services": (
            "Cables run up, down and sideways from every outlet and switch. In doubt: stop.",
        ),
        "not_references": ("Ceilings, cornices, skirtings and door frames are never references.",),
        "marking": (
            "Laser or low-tack tape on a finished wall; pencil only where a panel covers it.",
        ),
        "drilling": ("Eyes and dust: glasses, mask. Cable or pipe suspected: stop.",),
        "lift_now": ("Never from a ladder. Nobody below. One person calls the lift.",),
        "public": ("Public or seismic places: as local codes and the venue ask.",),
    }
)
