"""Whether a match may be promised: with lot, cement or plant changed or unknown, not before a sample is read.

Titles of what differs are for people; the keys of the differences decide.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from finishlog.color.aging import effects, promise
from finishlog.color.aging.effects import Effects, Factor
from finishlog.color.aging.learn import PastSlab
from finishlog.color.aging.promise import Step
from finishlog.desk.color import kept, made_with, taught
from finishlog.desk.color import learned as learning
from finishlog.records.color import Gate, Lab
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import Difference, PlanRequest
from finishlog.units import exact

if TYPE_CHECKING:
    from finishlog.desk.color.taught import State
    from finishlog.desk.services import Services
    from finishlog.records.answers import LearningRow
    from finishlog.records.shelf import Enough
    from finishlog.store import Reader

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
        "lot": made_with.joined(set(request.lots) - set(placed.release_lots)),
        "cement": request.cement_kind,
        "content": made_with.content(request.cement_lb_per_yd3, scm),
        "plant": request.plant,
    }
    return {factor: level.casefold() for factor, level in found.items() if level}


# --- what the log has read ----------------------------------------------------------------------------


def learnt(services: Services, spot: str, *handles: str) -> Learnt:
    """The effects that the slabs of the log tell, and what those of these jobs and their recipes were made with."""
    found: Learnt = kept.beside(services, spot, "effects", _learn, Learnt, Effects, by_loads=True)
    if not handles:
        return found
    told = {key: found.of.get(key, {}) if made is None else made
            for key, made in kept.family_of(services, spot, handles).items()}  # fmt: skip
    with services.log().reading() as log:
        own = log.learning_rows_of(*handles)
        keys = {
            learning.key_of(row.job, row.area) for row in own if row.reading.spot == spot and not row.apart
        }
        made = made_with.by_slab(own, log.made_rows(*handles)) if keys - told.keys() else {}
    return replace(found, of={**{key: found.of.get(key, made.get(key, {})) for key in keys}, **told})


def _learn(state: State, rows: Sequence[LearningRow], log: Reader) -> Learnt:
    """What the readings of one spot and the loads under them tell."""
    jobs = dict.fromkeys(row.job for row in rows)
    of = made_with.by_slab(rows, log.made_rows(*jobs) if jobs else ())
    slabs = [
        PastSlab(
            learning.key_of(*slab),
            own[0].recipe,
            learning.sort(own, state.coats).track(),
            own[0].dose_percent,
        )
        for slab, own in taught.grouped(row for row in rows if not row.apart).items()
    ]
    return Learnt(effects.learn(promise.made(state.learned, slabs[-MOST:], of)), of)


MOST = 160
"""Of so many newest slabs the effects are learned."""


def said(gated: Gated, learnt_: Learnt, recipe: str | None, key: str, read: bool) -> Gate:
    """The gate of one spot. `read`: the sample was read there, dry and bare."""
    then = learnt_.of.get(key, {})
    if read:
        return Gate("sample", gated.why, sample=gated.sample, notes=gated.notes)
    if not gated.points:
        return Gate("open", notes=gated.notes)
    pairs = gated.pairs(learnt_, recipe, then)
    return Gate("seen" if pairs else "closed", gated.why, pairs=pairs, notes=gated.notes)
