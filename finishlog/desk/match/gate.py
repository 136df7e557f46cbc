"""Whether a match may be promised: with lot, cement or plant changed or unknown, not before a sample is read.

Titles of what differs are for people; the keys of the differences decide.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from finishlog.color.aging import effects, promise
from finishlog.color.aging.effects import Effects, Factor
from finishlog.color.aging.learn import PastSlab
from finishlog.color.aging.promise import Step
from finishlog.desk import words
from finishlog.desk.color import learned as learning
from finishlog.desk.color.remembered import remembered
from finishlog.records.color import Gate, Lab
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import Difference, PlanRequest
from finishlog.units import exact

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.answers import LearningRow, MadeRow
    from finishlog.records.shelf import Enough

FACTOR_OF: Mapping[str, Factor] = {
    "lot": "lot", "lot_unsaid": "lot", "maker": "maker", "cement": "cement", "cement_content": "content",
    "scm": "content", "plant": "plant", "mix_ended": "cement", "mix_switched": "cement",
    "mix_switched_since": "cement",
}  # fmt: skip
"""What each difference that closes the gate is a change of."""
OLD_UNKNOWN = "not logged on the old slab"


@dataclass(frozen=True, slots=True)
class Point:
    """One changed or unknown ingredient."""

    factor: Factor
    title: str


@dataclass(frozen=True, slots=True)
class Learnt:
    """The effects of one spot, and what each read slab was made with."""

    effects: Effects
    of: Mapping[str, Mapping[Factor, str]]


@dataclass(frozen=True, slots=True)
class Gated:
    """Input of the odds from a gate: steps of the change, and a sample's readings."""

    points: tuple[Point, ...] = ()
    now: Mapping[Factor, str] = field(default_factory=dict)
    sample: int | None = None
    sample_rows: tuple[LearningRow, ...] = ()
    shift: Lab | None = None  # from the sample's own dose to the plan's
    notes: tuple[str, ...] = ()

    @property
    def why(self) -> tuple[str, ...]:
        """Each reason once, by its short title."""
        return tuple(dict.fromkeys(point.title for point in self.points))

    def steps(self, then: Mapping[Factor, str]) -> tuple[Step, ...]:
        """Each change once."""
        factors = dict.fromkeys(point.factor for point in self.points)
        return tuple((factor, then.get(factor), self.now.get(factor)) for factor in factors)

    def pairs(self, learnt: Learnt, recipe: str | None, then: Mapping[Factor, str]) -> int:
        """How often the log has read this very change on slabs of the recipe; the least of its steps."""
        steps = self.steps(then)
        return min(
            (learnt.effects.seen(recipe, f, old, new) if old and new else 0 for f, old, new in steps),
            default=0,
        )


def points(
    request: PlanRequest, placed: AsPlaced, differences: Sequence[Difference], shelf_same: bool
) -> tuple[Point, ...]:
    """Everything changed or unknown; lots on the shelf are settled."""
    found = [
        Point(FACTOR_OF[one.key], one.title[:1].lower() + one.title[1:])
        for one in differences
        if one.key in FACTOR_OF and not (shelf_same and one.weight == "ask" and FACTOR_OF[one.key] == "lot")
    ]
    return (*found, *_old_unknown(request, placed, {point.factor for point in found}))


def _old_unknown(request: PlanRequest, placed: AsPlaced, named: set[Factor]) -> Iterator[Point]:
    """What the new one states and nobody logged of the old one: nothing says that it is the same."""
    if "cement" not in named and request.cement_kind and not any(m.cement_kind for m in placed.mixes):
        yield Point("cement", f"cement, {OLD_UNKNOWN}")
    if "plant" not in named and request.plant and not any(m.plant for m in placed.mixes):
        yield Point("plant", f"plant, {OLD_UNKNOWN}")
    recipe = placed.area.recipe
    colored = recipe is None or recipe.stage("integral_color") is not None
    if "lot" not in named and not placed.pigments and colored:
        yield Point("lot", f"pigment, {OLD_UNKNOWN}")


def shelf_same(shelf: Sequence[Enough], request: PlanRequest) -> bool:
    """Whether the shelf has enough of each pigment and the release, all of the old slab's lots."""
    colored = [each for each in shelf if each.wanted.kind in ("pigment", "powder release")]
    pigments = [each for each in colored if each.wanted.kind == "pigment"]
    return bool(pigments) and not request.lots and all(each.same_lot for each in colored)


def now_of(request: PlanRequest, placed: AsPlaced) -> dict[Factor, str]:
    """The new slab's ingredients, as far as stated."""
    scm = request.scm_lb_per_yd3
    if scm is None and placed.mix is not None and placed.mix.scm_lb_per_yd3 is not None:
        scm = exact(placed.mix.scm_lb_per_yd3)
    found: dict[Factor, str | None] = {
        "lot": _joined(set(request.lots) - set(placed.release_lots)),
        "cement": request.cement_kind,
        "content": _content(request.cement_lb_per_yd3, scm),
        "plant": request.plant,
    }
    return {factor: level.casefold() for factor, level in found.items() if level}


def _joined(levels: Iterable[str | None]) -> str | None:
    """Several in one slab are a level of their own; None where one of them is unknown."""
    held = set(levels)
    known = sorted(level.casefold() for level in held if level)
    return " + ".join(known) if known and len(known) == len(held) else None


def _content(cement: Fraction | float | None, scm: Fraction | float | None) -> str | None:
    return None if cement is None else f"{float(cement):g} + {float(scm or 0):g}"


# --- what the log has read ----------------------------------------------------------------------------


def learnt(services: Services, spot: str, *handles: str) -> Learnt:
    """The effects that the slabs of the log tell, and what those of these jobs' recipes were made with."""
    with services.log().reading() as log:
        mark, made_rows = log.readings_mark(), log.made_rows()
        held = services.kept.get(f"effects/{spot}")
        stamp = f"{mark}/{hash(made_rows)}"
        rows, made = (log.learning_rows_of(*handles), log.made_rows(*handles)) if handles else ((), ())
    if held is not None and held[0] == stamp and isinstance(held[1], Learnt):
        found = held[1]
    else:
        found = _learnt(tuple(row for row in services.learning_rows() if row.reading.spot == spot), made_rows)
        services.kept[f"effects/{spot}"] = (stamp, found)
    return _with_recipes(found, [row for row in rows if row.reading.spot == spot], made)


def _with_recipes(found: Learnt, rows: Iterable[LearningRow], made_rows: Iterable[MadeRow]) -> Learnt:
    made = _by_job(made_rows)
    slabs = {(row.job, row.area) for row in rows if not row.apart}
    more = {key: levels(made.get(slab[0], ()), *slab) for slab in slabs
            if (key := learning.key_of(*slab)) not in found.of}  # fmt: skip
    return replace(found, of={**found.of, **more}) if more else found


def _by_job(rows: Iterable[MadeRow]) -> dict[str, list[MadeRow]]:
    found: dict[str, list[MadeRow]] = {}
    for row in rows:
        found.setdefault(row.job, []).append(row)
    return found


@lru_cache(maxsize=4)
def _learnt(rows: tuple[LearningRow, ...], made_rows: tuple[MadeRow, ...]) -> Learnt:
    """What the readings of one spot and the loads under them tell."""
    told = {row.job for row in rows}
    made = tuple(row for row in made_rows if row.job in told)
    return remembered("effects", Learnt, (rows, made), lambda: _learn(rows, made), (Effects,))


def _learn(rows: tuple[LearningRow, ...], made_rows: tuple[MadeRow, ...]) -> Learnt:
    grouped: dict[tuple[str, str | None], list[LearningRow]] = {}
    for row in rows:
        if not row.apart:
            grouped.setdefault((row.job, row.area), []).append(row)
    made = _by_job(made_rows)
    of = {learning.key_of(*slab): levels(made.get(slab[0], ()), *slab) for slab in grouped}
    state = learning.learned(rows)
    slabs = [
        PastSlab(learning.key_of(*slab), own[0].recipe, learning.sort(own, state.coats).track())
        for slab, own in grouped.items()
    ]
    return Learnt(effects.learn(promise.made(state.learned, slabs[-MOST:], of)), of)


MOST = 160
"""Of so many newest slabs the effects are learned."""


def levels(rows: Iterable[MadeRow], job: str, area: str | None) -> dict[Factor, str]:
    """What a slab was made with; what one of its loads does not say is unknown."""
    own = [row for row in rows if row.job == job and (not row.areas or area is None or area in row.areas)]
    if not own:
        return {}
    found: dict[Factor, str | None] = {
        "lot": _joined(lot for row in own for lot in row.lots),
        "maker": _joined(maker for row in own for maker in row.makers),
        "cement": _joined(row.cement_kind for row in own),
        "content": _joined(_content(row.cement_lb_per_yd3, row.scm_lb_per_yd3) for row in own),
        "plant": _joined(row.plant for row in own),
        "season": words.season(own[-1].happened.date()),
    }
    return {factor: level for factor, level in found.items() if level}


def said(gated: Gated, learnt_: Learnt, recipe: str | None, key: str, read: bool) -> Gate:
    """The gate of one spot. `read`: the sample was read there, dry and bare."""
    then = learnt_.of.get(key, {})
    if read:
        return Gate("sample", gated.why, sample=gated.sample, notes=gated.notes)
    if not gated.points:
        return Gate("open", notes=gated.notes)
    pairs = gated.pairs(learnt_, recipe, then)
    return Gate("seen" if pairs else "closed", gated.why, pairs=pairs, notes=gated.notes)
