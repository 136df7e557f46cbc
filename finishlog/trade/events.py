"""What is logged and is no stage: the pour and its loads, weather, readings, samples, claims, visits…

`entry_kind` finds stages and events alike; `kinds_in_order` lists what can be logged, in the order of the work.
Forms, the command line and the import are drawn from these declarations. A fact stands in one place only:
what a detail row holds (a load's slump, a coat's temperatures) is not asked here again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

from finishlog import units
from finishlog.errors import InputError
from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade.stages import KINDS
from finishlog.trade.stages.base import Facts, Param, Params, Scalar, Window, first_version
from finishlog.trade.upkeep import windows

F = Fraction
DOSE = "dose_told_lb_per_yd3"
"""The fact of a load that says pounds of pigment to the yard in place of a weight."""
DETAILS = ("", "load", "coat", "reading", "sample", "approval", "claim")
"""Which field of an entry holds the rest of what an event tells."""


class EntryKind(Protocol):
    """What stages and events have in common: all that a form, a command or a sheet needs of them."""

    @property
    def key(self) -> str: ...
    @property
    def title(self) -> str: ...
    @property
    def verb(self) -> str: ...
    @property
    def params(self) -> tuple[Param, ...]: ...
    @property
    def params_version(self) -> int: ...
    @property
    def detail(self) -> str: ...
    @property
    def product_kinds(self) -> tuple[str, ...]: ...
    @property
    def cautions(self) -> tuple[str, ...]: ...
    @property
    def sources(self) -> tuple[str, ...]: ...
    @property
    def repeatable(self) -> bool: ...
    @property
    def needs_area(self) -> bool: ...
    @property
    def logged_as(self) -> str: ...
    @property
    def placed(self) -> tuple[Param, ...]: ...
    @property
    def window(self) -> Callable[[Params, Shop], Window | None]: ...
    @property
    def upgrade(self) -> Callable[[Params, int], dict[str, Scalar]]: ...
    def param(self, name: str) -> Param: ...
    def validate(self, params: Mapping[str, object]) -> dict[str, Scalar]: ...


def _no_window(params: Params, shop: Shop) -> Window | None:
    return None


@dataclass(frozen=True, slots=True)
class EventKind(Facts):
    """A kind of entry that is no stage. Attributes as `StageKind`; `needs_area`: it tells of one area."""

    key: str
    title: str
    verb: str
    params: tuple[Param, ...] = ()
    detail: str = ""
    product_kinds: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    needs_area: bool = False
    repeatable: bool = True
    sources: tuple[str, ...] = (sources.PRACTICE,)
    window: Callable[[Params, Shop], Window | None] = _no_window
    params_version: int = 1
    logged_as: str = ""

    @property
    def upgrade(self) -> Callable[[Params, int], dict[str, Scalar]]:
        """Stored facts as today's version has them."""
        return first_version(self.key)


def _yes_no(name: str, title: str, help: str = "") -> Param:
    return Param(name, title, kind="yes_no", help=help)


def _text(name: str, title: str, help: str = "") -> Param:
    return Param(name, title, kind="text", help=help)


def _choice(name: str, title: str, *choices: str, help: str = "") -> Param:
    return Param(name, title, kind="choice", choices=choices, help=help)


def _count(name: str, title: str, high: int, help: str = "") -> Param:
    return Param(name, title, kind="count", low=F(0), high=F(high), help=help)


def _number(name: str, title: str, unit: str, high: int, low: int = 0, help: str = "") -> Param:
    return Param(name, title, unit, low=F(low), high=F(high), help=help)


EVENTS: tuple[EventKind, ...] = (
    EventKind(
        "load", "Load", "load placed", detail="load", product_kinds=("pigment", "admixture"),
        cautions=("order", "integral_color", "placing", "skin", "trades"),
        params=(
            _number(DOSE, "Pigment per yard", "dose_lb_per_yd3", 2000,
                    help="from the ticket or the bags; pounds follow from the yards"),
            _choice("water_against_color", "Water added when", "before_color", "after_color", "both",
                    help="No water after the color goes in."),
            _number("water_after_color_gal", "Water after color", "liquid_gal", 500),
            _yes_no("retempered", "Re-tempered", "Water added later to a stiffening load."),
            _count("drum_turns_after_color", "Drum turns after the color", 1000),
            _count("mixing_minutes", "Mixing after the color, min", 120, "Usually 5 to 10 min."),
            _choice("accelerator", "Accelerator", "none", "non_chloride", "chloride",
                    help="No calcium chloride with color."),
            _yes_no("retarder", "Retarder"),
            _yes_no("plasticizer", "Plasticizer"),
            _number("air_percent", "Air", "percent", 30),
            _number("concrete_temperature_f", "Concrete temperature", "temperature_f", 150, 20),
            _count("truck_minutes", "Batching to last placed, min", 600,
                   "90 min at most, 60 in heat."),
            _yes_no("drum_clean", "Drum clean before"),
            _number("load_wind_mph", "Wind", "speed_mph", 200, help="Wind and sun dry the top."),
            _choice("light", "Light", "sun", "part_shade", "shade", help="While placing."),
        ),
    ),
    EventKind(
        "bag_mix", "Bag mix", "bag mix placed", product_kinds=("overlay mix", "repair mix", "pigment"),
        cautions=("integral_color", "skin"), needs_area=True,
        params=(
            _number("bags", "Bags", "", 10000),
            _number("water_per_bag_gal", "Water in each bag", "liquid_gal", 50),
            _number("thickness_in", "Thickness", "depth_in", 12),
            _text("prepared_by", "Old surface prep"),
            _yes_no("primed", "Primed"),
        ),
    ),
    EventKind(
        "pour", "End of the pour", "poured, last concrete placed",
        cautions=("placing", "skin", "trades"), needs_area=True,
        params=(
            _choice("subgrade", "Subgrade", "dry", "damp", "puddles", "frozen"),
            _yes_no("sheet_under", "Sheet under the slab"),
            _text("sections", "Sections, in pour order"),
            _yes_no("ran_short", "Ran short"),
            _text("why_short", "Why short"),
            _text("stopped_at", "Stopped where, at what joint"),
            _count("edge_minutes", "Balance load wait, min", 600),
            _text("leftover_to", "Leftover went to"),
        ),
    ),
    EventKind(
        "finishing", "Finishing", "finished", product_kinds=("finishing aid", "evaporation retarder"),
        cautions=("finishing",), needs_area=True,
        params=(
            _yes_no("bleed_water_gone", "Bleed water gone first"),
            _count("passes", "Passes", 50),
            _text("burnished_spots", "Burnished spots"),
            _choice("sprayed", "Sprayed on", "nothing", "water", "finishing_aid"),
        ),
    ),
    EventKind(
        "weather", "Weather, first 72 h", "weather noted",
        params=(
            _number("from_h", "From, hours after the pour", "hours", 72),
            _number("to_h", "To, hours after the pour", "hours", 72),
            _number("low_f", "Low", "temperature_f", 140, -60),
            _number("high_f", "High", "temperature_f", 140, -60),
            _number("rain_in", "Rain", "depth_in", 40),
            _number("rain_began_h", "Rain began, hours after the pour", "hours", 72),
            _number("wind_mph", "Wind", "speed_mph", 200),
            _number("humidity_percent", "Humidity", "percent", 100),
            _choice("sky", "Sky", "sun", "part_sun", "cloud"),
        ),
    ),
    EventKind(
        "sweep", "Sweep", "swept", product_kinds=("powder release",), cautions=("sweep",), needs_area=True,
        window=windows.sweep,
        params=(
            _number("reclaimed_lb", "Reclaimed clean", "mass_lb", 5000),
            _text("spoiled", "Spoiled, by what"),
            _yes_no("bagged", "Kept dry and bagged"),
        ),
    ),
    EventKind(
        "dryness_test", "Dryness test", "dryness tested", cautions=("dryness_test",), needs_area=True,
        window=windows.dryness_test, sources=(sources.SHEET_TEST, sources.PRACTICE),
        params=(
            _choice("result", "Under the sheet", "dry", "damp"),
            _number("sheet_on_h", "Sheet on", "hours", 200, help="16 h at least."),
            _count("spots", "Spots", 100, "About one per 500 ft²."),
            _count("damp_spots", "Damp spots", 100),
            _text("where", "Where"),
        ),
    ),
    EventKind(
        "strip", "Strip or wipe sealer", "old sealer taken off",
        product_kinds=("stripper", "solvent", "cleaner"),
        cautions=("wipe", "reseal"), needs_area=True,
        params=(
            _choice("how", "How", "wiped", "stripped", "washed"),
            _choice("extent", "How much", "all", "small_patch"),
            _choice("old_film", "Old film", "solvent_acrylic", "water_acrylic", "urethane", "epoxy",
                    "penetrating", "unknown"),
            _choice("rag_test", "Rag test", "softens", "stays"),
        ),
    ),
    EventKind(
        "reading", "Reading", "color read", detail="reading", needs_area=True,
        params=(
            _number("release_left_percent", "Release left", "percent", 100,
                    help="Of a whole field, settled and dry: teaches the rinse helper what your crew leaves."),
            _number("release_left_sd_percent", "Release left, give or take", "percent", 100),
        ),
    ),
    EventKind(
        "photo", "Photo", "photo taken",
        params=(
            _yes_no("damp", "Damp"),
            _yes_no("sealed", "Sealed"),
            _choice("light", "Light", "sun", "open_shade", "overcast", "indoors"),
            _text("clock", "Whose clock it is"),
        ),
    ),
    EventKind(
        "sample", "Sample", "sample poured", detail="sample", cautions=("skin",),
        product_kinds=("pigment", "powder release", "sealer"),
        params=(
            _number("thickness_in", "Thickness", "depth_in", 12),
            _text("exposure", "Where it sits, sun or shade"),
        ),
    ),
    EventKind(
        "approval", "Approval", "sample shown", detail="approval",
        params=(
            _choice("shown", "Shown", "bare", "damp", "sealed"),
        ),
    ),
    EventKind(
        "change", "Change order", "order changed", needs_area=True,
        params=(
            _choice("asked_by", "Asked by", "customer", "us", "plant"),
            _yes_no("signed", "Signed"),
            _number("price_added", "Added price", "money", 10000000),
        ),
    ),
    EventKind(
        "claim", "Claim", "complaint taken", detail="claim",
        params=(
            _choice("about", "About", "color", "mismatch", "cracks", "peeling", "whitening", "slippery",
                    "joint", "other"),
        ),
    ),
    EventKind(
        "visit", "Visit", "visited", cautions=("reseal",),
        params=(
            _choice("condition", "The sealer is", "clean", "whitening", "peeling", "tacky", "dull", "worn",
                    help="Reseal by condition first, then by years."),
            _choice("old_film", "Film", "none", "solvent_acrylic", "water_acrylic", "urethane", "epoxy",
                    "penetrating", "unknown"),
            _choice("rag_test", "Rag test", "softens", "stays"),
            _choice("harsh", "Exposed to", "pool", "salt", "traffic", "nothing_harsh"),
            _number("film_mil", "Film", "film_mil", 100),
            _yes_no("trial_patch", "2 × 2 ft trial patch on"),
        ),
    ),
    EventKind(
        "put_off", "Put off", "put off",
        params=(
            _choice("what", "What", "joint", "sweep", "rinse", "photo", "dryness_test", "seal", "second_coat",
                    "judge_color", "reseal", "pour", "pour_end"),
            _count("age_days", "Photo of day", 3650),
            Param("until", "Until", kind="instant", help="A day or a time; none: not for this job."),
        ),
    ),
    EventKind(
        "care", "Care", "care of the sealer noted", cautions=("reseal",),
        params=(
            _choice("state", "State", "due", "contacted", "booked", "done", "declined", "ask_again"),
            Param("on", "On", kind="day", help="Booked for, or ask again from: 2026-08-14."),
            _yes_no("by_plan", "Set by the week plan", "No: someone set the day, and the plan leaves it."),
        ),
    ),
    EventKind(
        "reminder", "Reminder", "customer written to",
        params=(
            _choice("how", "How", "letter", "mail", "table", "phone", help="table: the list for mail merge."),
            _text("to", "To whom"),
            _choice("what", "What it was", "remind", "confirm", "thank",
                    help="A reseal is due, its booking is confirmed, or thanks for one that is done."),
            _choice("result", "Result", "bounced", help="It came back: the address is wrong."),
        ),
    ),
    EventKind("note", "Note", "noted"),
)  # fmt: skip
"""Every event; `ORDER` says where each stands among the stages."""

ORDER = (
    *("load", "bag_mix", "pour", "color_hardener", "finishing", "powder_release", "liquid_release", "stamp"),
    *("cure", "joint", "weather", "sample", "sweep", "rinse", "antiquing_wash", "stain", "photo"),
    *(
        "reading",
        "dryness_test",
        "seal",
        "approval",
        "visit",
        "strip",
        "change",
        "claim",
        "put_off",
        "care",
        "reminder",
        "note",
    ),
)
_STAGES: tuple[EntryKind, ...] = KINDS
_ALL: dict[str, EntryKind] = {each.key: each for each in (*_STAGES, *EVENTS)}


def entry_kind(key: str) -> EntryKind:
    """The stage or event of that key. Raises InputError that lists what can be logged."""
    found = _ALL.get(key)
    if found is None:
        title = f"“{units.shown(key)}” is no entry type."
        raise InputError(title, f"It can be {', '.join(ORDER)}.", example="load")
    return found


def kinds_in_order() -> tuple[EntryKind, ...]:
    """All that can be logged, in the order of the work; integral color is logged with its load."""
    return tuple(_ALL[key] for key in ORDER)
