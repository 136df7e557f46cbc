"""Kinds of entry that are not stages: the pour and its loads, weather, readings, samples, claims, visits…

To add one, put an `EventKind` into `EVENTS` in order of work. Each fact has one place: whatever a detail
row holds (a load's slump, a coat's temperatures) is not repeated here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from finishlog.records.shop import Shop
from finishlog.trade import sources
from finishlog.trade.stages import KINDS
from finishlog.trade.stages.base import (
    Amiss,
    DayCard,
    Kind,
    Param,
    Params,
    Scalar,
    StageKind,
    Window,
    Without,
    first_version,
    no_window,
)
from finishlog.trade.upkeep import due_rules, windows

F = Fraction
DOSE = "dose_told_lb_per_yd3"
"""The load fact for pounds of pigment per yard, given instead of a weight."""
JOINED, JOINED_RECIPE, JOINED_TO = "recipe_joined", "recipe", "joined_to"
"""The kind that joins recipes, and its facts: the family that is joined, and the one it counts as."""
MIX = ("plant", "mix_number", "cement_kind", "cement_mill", "cement_lb_per_yd3", "scm_kind", "scm_lb_per_yd3",
       "admixtures", "sand")  # fmt: skip
"""The load fields that name its mix."""


@dataclass(frozen=True, slots=True)
class EventKind(Kind):
    """A kind of entry that is not a stage. `before` is the stage it precedes in the order of work;
    `needs_area`: it concerns one area."""

    before: str = ""
    needs_area: bool = False
    repeatable: bool = True
    sources: tuple[str, ...] = (sources.PRACTICE,)
    window: Callable[[Params, Shop], Window | None] = no_window

    @property
    def upgrade(self) -> Callable[[Params, int], dict[str, Scalar]]:
        """Stored facts as today's version has them."""
        return first_version(self.key)


EntryKind = StageKind | EventKind


def in_order(events: Sequence[EventKind]) -> Iterator[EntryKind]:
    """Everything that can be logged, in order of work, without kinds logged as another."""
    for stage in KINDS:
        yield from (event for event in events if event.before == stage.key)
        if not stage.logged_as:
            yield stage
    yield from (event for event in events if not event.before)


def _yes_no(name: str, title: str, help: str = "", amiss: Amiss = (), amiss_said: str = "") -> Param:
    return Param(name, title, kind="yes_no", help=help, amiss=amiss, amiss_said=amiss_said)


def _text(name: str, title: str, help: str = "", amiss: Amiss = ()) -> Param:
    return Param(name, title, kind="text", help=help, amiss=amiss)


def _choice(name: str, title: str, *choices: str, help: str = "", amiss: Amiss = ()) -> Param:
    return Param(name, title, kind="choice", choices=choices, help=help, amiss=amiss)


def _count(name: str, title: str, high: int, help: str = "") -> Param:
    return Param(name, title, kind="count", low=F(0), high=F(high), help=help)


def _number(
    name: str, title: str, unit: str, high: int, low: int = 0, help: str = "", amiss: Amiss = ()
) -> Param:
    return Param(name, title, unit, low=F(low), high=F(high), help=help, amiss=amiss)


_WORK: tuple[EventKind, ...] = (
    EventKind(
        "load", "Load", "load placed", detail="load", product_kinds=("pigment", "admixture"),
        cautions=("order", "integral_color", "placing", "skin", "trades"),
        due=Without("the day of a planned pour is in the job"),
        day_card=DayCard(20, ("ticket", "at", "yards", "product", "lot", "amount", DOSE, "water_gal", "slump_in",
                              "load_wind_mph", "light", "area", "map", "is_balance")),
        in_plan="day", plan_day="pour", before="color_hardener",
        usual_settings=("slump_in", "color_percent", "mixing_minutes", "truck_minutes"),
        same_as_last=(*MIX, "area"),
        params=(
            _number(DOSE, "Pigment per yard", "dose_lb_per_yd3", 2000,
                    help="from the ticket or the bags; pounds follow from the yards"),
            _choice("water_against_color", "Water added when", "before_color", "after_color", "both",
                    amiss=("after_color", "both"), help="No water after the color goes in."),
            _number("water_after_color_gal", "Water after color", "liquid_gal", 500, amiss="any"),
            _yes_no("retempered", "Re-tempered", "Water added later to a stiffening load.", (True,), "re-tempered"),
            _count("drum_turns_after_color", "Drum turns after the color", 1000),
            _count("mixing_minutes", "Mixing after the color, min", 120, "Usually 5 to 10 min."),
            _choice("accelerator", "Accelerator", "none", "non_chloride", "chloride", amiss=("chloride",),
                    help="No calcium chloride with color."),
            _yes_no("retarder", "Retarder"),
            _yes_no("plasticizer", "Plasticizer"),
            _number("air_percent", "Air", "percent", 30),
            _number("concrete_temperature_f", "Concrete temperature", "temperature_f", 150, 20),
            _count("truck_minutes", "Batching to last placed, min", 600,
                   "90 min at most, 60 in heat."),
            _yes_no("drum_clean", "Drum clean before", "", (False,), "the drum was not clean"),
            _number("load_wind_mph", "Wind", "speed_mph", 200, help="Wind and sun dry the top."),
            _choice("light", "Light", "sun", "part_shade", "shade", help="While placing."),
        ),
    ),
    EventKind(
        "bag_mix", "Bag mix", "bag mix placed", product_kinds=("overlay mix", "repair mix", "pigment"),
        cautions=("integral_color", "skin"), needs_area=True,
        due=Without("it is logged as it is mixed"),
        day_card=Without("the card counts trucks; bags are logged by themselves"),
        in_plan="day", before="color_hardener",
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
        due=(due_rules.POUR_END,), day_card=DayCard(80, ("at", "ran_short", "why_short")),
        in_plan="day", again="soon", plan_day="pour", before="color_hardener",
        params=(
            _choice("subgrade", "Subgrade", "dry", "damp", "puddles", "frozen", amiss=("puddles", "frozen")),
            _yes_no("sheet_under", "Sheet under the slab"),
            _text("sections", "Sections, in pour order"),
            _yes_no("ran_short", "Ran short", "", (True,), "ran short"),
            _text("why_short", "Why short"),
            _text("stopped_at", "Stopped where, at what joint"),
            _count("edge_minutes", "Balance load wait, min", 600),
            _text("leftover_to", "Leftover went to"),
        ),
    ),
    EventKind(
        "finishing", "Finishing", "finished", product_kinds=("finishing aid", "evaporation retarder"),
        cautions=("finishing",), needs_area=True,
        due=Without("it is done while the slab is placed"),
        day_card=DayCard(50, ("bleed_water_gone", "passes", "sprayed", "burnished_spots")),
        in_plan="day", comes="on_the_day", again="soon", before="powder_release",
        params=(
            _yes_no("bleed_water_gone", "Bleed water gone first", "", (False,), "finished on bleed water"),
            _count("passes", "Passes", 50),
            _text("burnished_spots", "Burnished spots", amiss="any"),
            _choice("sprayed", "Sprayed on", "nothing", "water", "finishing_aid", amiss=("water", "finishing_aid")),
        ),
    ),
    EventKind(
        "weather", "Weather, first 72 h", "weather noted",
        cautions=Without("it is only noted"), due=Without("it is noted when it comes"),
        day_card=DayCard(10, ("low_f", "high_f", "rain_in", "wind_mph", "humidity_percent", "sky")),
        in_plan="day", before="rinse",
        params=(
            _number("from_h", "From, hours after the pour", "hours", 72),
            _number("to_h", "To, hours after the pour", "hours", 72),
            _number("low_f", "Low", "temperature_f", 140, -60),
            _number("high_f", "High", "temperature_f", 140, -60),
            _number("rain_in", "Rain", "depth_in", 40, amiss="any"),
            _number("rain_began_h", "Rain began, hours after the pour", "hours", 72),
            _number("wind_mph", "Wind", "speed_mph", 200),
            _number("humidity_percent", "Humidity", "percent", 100),
            _choice("sky", "Sky", "sun", "part_sun", "cloud"),
        ),
    ),
    EventKind(
        "sample", "Sample", "sample poured", detail="sample", cautions=("skin",),
        product_kinds=("pigment", "powder release", "sealer"),
        due=Without("it is poured with its load"),
        day_card=DayCard(90, ("number", "load", "kept_where", "half_sealed")),
        in_plan="day", same_as_last=("size", "kept_where"), before="rinse",
        params=(
            _number("thickness_in", "Thickness", "depth_in", 12),
            _text("exposure", "Where it sits, sun or shade"),
        ),
    ),
    EventKind(
        "sweep", "Sweep", "swept", product_kinds=("powder release",), cautions=("sweep",), needs_area=True,
        window=windows.sweep,
        due=(due_rules.SWEEP,), day_card=DayCard(100, ("at", "reclaimed_lb", "spoiled"), later=True),
        in_plan="day", comes="afterwards", again="once", asks=("reclaimed_lb",), plan_day="rinse", before="rinse",
        warns=("Keep it dry, bag it, keep it off the neighbors.",),
        params=(
            _number("reclaimed_lb", "Reclaimed clean", "mass_lb", 5000),
            _text("spoiled", "Spoiled, by what", amiss="any"),
            _yes_no("bagged", "Kept dry and bagged"),
        ),
    ),
    EventKind(
        "photo", "Photo", "photo taken",
        cautions=Without("a picture harms nothing"), due=(due_rules.PHOTO,),
        day_card=Without("photos have a screen of their own"),
        in_plan=Without("the odds and the old slab's color are made of it"),
        comes="afterwards", at_night=True, before="seal",
        params=(
            _yes_no("damp", "Damp"),
            _yes_no("sealed", "Sealed"),
            _choice("light", "Light", "sun", "open_shade", "overcast", "indoors"),
            _text("clock", "Whose clock it is"),
        ),
    ),
    EventKind(
        "reading", "Reading", "color read", detail="reading", needs_area=True,
        cautions=Without("a reading harms nothing"),
        due=Without("a color is judged on a visit too; it falls due there"),
        day_card=DayCard(140, ("at", "color", "spot", "damp", "sealed", "area"), later=True),
        in_plan=Without("the odds and the old slab's color are made of it"),
        comes="afterwards", asks=("damp", "sealed"), before="seal",
        usual_settings=("spots_per_area", "first_comparable_day", "final_color_day"),
        same_as_last=("instrument", "spot", "area"),
        params=(
            _number("release_left_percent", "Release left", "percent", 100,
                    help="Of a whole field, settled and dry: teaches the rinse helper what your crew leaves."),
            _number("release_left_sd_percent", "Release left, give or take", "percent", 100),
            _yes_no("no_sealer", "Looked: no sealer on it",
                    "Yes where the color page says it looks sealed and it was bare: it counts again."),
        ),
    ),
    EventKind(
        "dryness_test", "Dryness test", "dryness tested", cautions=("dryness_test",), needs_area=True,
        window=windows.dryness_test, sources=(sources.SHEET_TEST, sources.PRACTICE),
        due=(due_rules.DRYNESS_TEST,), day_card=Without("it is done weeks later"),
        in_plan=Without("it showed when the old slab could be sealed; the new one gets its own test"),
        comes="afterwards", again="soon", asks=("result",), before="seal",
        warns=("The sheet can mark young colored concrete: hidden spots, several (about one per 500 ft²).",
               "Leave it 16 h or more, all edges taped, out of sun and heat."),
        params=(
            _choice("result", "Under the sheet", "dry", "damp"),
            _number("sheet_on_h", "Sheet on", "hours", 200, help="16 h at least."),
            _count("spots", "Spots", 100, "About one per 500 ft²."),
            _count("damp_spots", "Damp spots", 100),
            _text("where", "Where"),
        ),
    ),
    EventKind(
        "approval", "Approval", "sample shown", detail="approval",
        cautions=Without("it is signed paper"), due=Without("the customer says when"),
        day_card=Without("it is no work of the day of the pour"),
        in_plan=Without("whose sample was signed says nothing of how the slab was made"),
        params=(
            _choice("shown", "Shown", "bare", "damp", "sealed"),
        ),
    ),
    EventKind(
        "visit", "Visit", "visited", cautions=("reseal",),
        due=(due_rules.JUDGE_COLOR,),
        day_card=Without("it is no work of the day of the pour"),
        in_plan=Without("it is of the old sealer's care"), comes="afterwards", again="soon",
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
        "strip", "Strip or wipe sealer", "old sealer taken off",
        product_kinds=("stripper", "solvent", "cleaner"),
        cautions=("wipe", "reseal"), needs_area=True,
        due=Without("care says whether an old film comes off first"),
        day_card=Without("it is no work of the day of the pour"),
        in_plan=Without("it is of the old sealer's care; the coats say what is on the slab"),
        comes="afterwards", again="soon",
        params=(
            _choice("how", "How", "wiped", "stripped", "washed"),
            _choice("extent", "How much", "all", "small_patch"),
            _choice("old_film", "Old film", "solvent_acrylic", "water_acrylic", "urethane", "epoxy",
                    "penetrating", "unknown"),
            _choice("rag_test", "Rag test", "softens", "stays"),
        ),
    ),
    EventKind(
        JOINED, "Recipe joined", "recipe joined", needs_area=True,
        cautions=Without("it is bookkeeping"), due=Without("the book of recipes offers it"),
        day_card=Without("it is no work of the day of the pour"),
        in_plan=Without("the forecast and the odds are made of it"),
        params=(
            _text(JOINED_RECIPE, "Recipe", "Its key; the recipes page and finishlog recipes write it."),
            _text(JOINED_TO, "Counts as", "The key of the recipe that it is one with."),
        ),
    ),
    EventKind(
        "change", "Change order", "order changed", needs_area=True,
        cautions=Without("it is paper"), due=Without("the customer says when"),
        day_card=Without("it is no work of the day of the pour"),
        in_plan=Without("the recipe that came of it is the one that is planned"),
        params=(
            _choice("asked_by", "Asked by", "customer", "us", "plant"),
            _yes_no("signed", "Signed"),
            _number("price_added", "Added price", "money", 10000000),
        ),
    ),
    EventKind(
        "claim", "Claim", "complaint taken", detail="claim",
        cautions=Without("it is a complaint; the work that mends it warns"), due=Without("the customer says when"),
        day_card=Without("it is no work of the day of the pour"),
        in_plan=Without("it stands on the job's page"), comes="afterwards",
        params=(
            _choice("about", "About", "color", "mismatch", "cracks", "peeling", "whitening", "slippery",
                    "joint", "other"),
        ),
    ),
)  # fmt: skip
_OFFICE: tuple[EventKind, ...] = (
    EventKind(
        "care", "Care", "care of the sealer noted", cautions=("reseal",),
        due=(due_rules.RESEAL,),
        day_card=Without("it is no work of the day of the pour"),
        in_plan=Without("it is of the list of what is due"),
        params=(
            _choice("state", "State", "due", "contacted", "booked", "done", "declined", "ask_again"),
            Param("on", "On", kind="day", help="Booked for, or ask again from: 2026-08-14."),
            _yes_no("by_plan", "Set by the week plan", "No: someone set the day, and the plan leaves it."),
        ),
    ),
    EventKind(
        "reminder", "Reminder", "customer written to",
        cautions=Without("it is a letter"), due=Without("care says whom to write to"),
        day_card=Without("it is no work of the day of the pour"),
        in_plan=Without("it is of the list of what is due"),
        params=(
            _choice("how", "How", "letter", "mail", "table", "phone", help="table: the list for mail merge."),
            _text("to", "To whom"),
            _choice("what", "What it was", "remind", "confirm", "thank",
                    help="A reseal is due, its booking is confirmed, or thanks for one that is done."),
            _choice("result", "Result", "bounced", help="It came back: the address is wrong."),
        ),
    ),
    EventKind(
        "note", "Note", "noted",
        cautions=Without("its words are free"), due=Without("its words are free"),
        day_card=Without("it is no work of the day of the pour"),
        in_plan=Without("free words, on the job's page"),
    ),
)  # fmt: skip


def _put_off() -> EventKind:
    """Keys that can be put off: whatever falls due of any kind, and a planned pour."""
    due = [
        due.key for kind in in_order((*_WORK, *_OFFICE)) for due in kind.due if due is not due_rules.POUR_END
    ]
    return EventKind(
        "put_off", "Put off", "put off",
        cautions=Without("nothing is done"), due=Without("it moves what is due"),
        day_card=Without("it is no work of the day of the pour"),
        in_plan=Without("it is of the list of what is due"),
        params=(
            _choice("what", "What", *due, "pour", due_rules.POUR_END.key),
            _count("age_days", "Photo of day", 3650),
            Param("until", "Until", kind="instant", help="A day or a time; none: not for this job."),
        ),
    )  # fmt: skip


EVENTS = (*_WORK, _put_off(), *_OFFICE)
"""Every event, in the order of the work."""
