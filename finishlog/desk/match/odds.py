"""The odds that an addition will look like the slab beside it: for the owner, never on a customer's sheet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.aging import odds, promise, weathering
from finishlog.color.aging.odds import Batch, Matched, Slab
from finishlog.color.notation.space import difference
from finishlog.color.notation.words import compare
from finishlog.color.pigment import mixing
from finishlog.desk.color import learned as learning
from finishlog.desk.color.learned import Coats, Sorted, State
from finishlog.desk.color.sealer import penetrating
from finishlog.desk.match import cameras
from finishlog.desk.match import gate as match_gate
from finishlog.desk.match import sample as match_sample
from finishlog.desk.match.gate import Gated, Learnt
from finishlog.desk.placed.named import area_of
from finishlog.desk.plan import saved
from finishlog.desk.services import Services
from finishlog.desk.words import listed, season
from finishlog.records.color import Gate, Lab, Odds, OddsAt, OddsFactor, OddsOf
from finishlog.records.shop import Shop
from finishlog.records.when import zone_of
from finishlog.trade.poured import ended
from finishlog.trade.upkeep.windows import first_comparable
from finishlog.units import count

if TYPE_CHECKING:
    from finishlog.color.aging.cure import Floats
    from finishlog.records.answers import LearningRow
    from finishlog.records.log import Area, Job
    from finishlog.records.plan import Plan

NEVER_READ = (
    "No odds: the old slab was never read dry, base or field. Photograph it clean, with a card, on a dry day."
)
NO_POUR = "No odds: the old slab's readings have no age; its pour end was not logged."
BEFORE_SAMPLE = "cannot tell before a sample"
AGES = (14.0, 28.0, 180.0)
SPOTS = ("base", "field")
"""What is compared, like with like: the base where it was read, else the whole field."""
_RAISE: dict[OddsFactor, str] = {
    "job_scatter": "pour a sample of the new load, let it lighten, and choose after it: no two jobs come out alike",
    "old_slab": "read the old slab again, cleaned and dry, several spots, with a card",
    "recipe": "read more slabs of this recipe, and a sample before the pour",
    "weathering": "clean the old slab and read it again near the day of the pour",
    "curve": "read the new slab at days 1, 3, 7 and 14",
    "change": "pour a sample of the new lot and cement and read it: it tells what the change does",
}


@dataclass(frozen=True, slots=True)
class Sides:
    """The two slabs: the readings of one spot that each has, when each was poured.

    The new one has none while it is planned.
    """

    spot: str
    recipe: str | None
    old: Sorted
    old_key: str
    old_poured: datetime
    new: Sorted
    new_key: str
    new_poured: datetime
    penetrating: bool = False
    """The old slab's sealer leaves no film: the new one is taken to get the same."""

    @property
    def jobs(self) -> tuple[str, ...]:
        """The handles of both, as far as they were poured."""
        return tuple(dict.fromkeys(key.partition("/")[0] for key in (self.old_key, self.new_key) if key))


@dataclass(frozen=True, slots=True)
class Told:
    """The odds of a plan, its gate, and why there are no odds (else "")."""

    odds: Odds | None
    gate: Gate
    why: str


def of_plan(
    services: Services, job: Job, area: Area, on: date, shop: Shop, gated: Gated | None = None
) -> Told:
    """The odds of a slab poured on a day against this area, as far as its gate lets them be promised."""
    gated = gated or Gated()
    with services.log().reading() as log:
        rows = log.learning_rows_of(job.handle)
    noon = datetime.combine(on, time(12), zone_of(job))
    sides = []
    for spot in SPOTS:
        own = _rows(rows, job.handle, area.uid, spot)
        if (held := _told(own, services)) is not None and (poured := _poured(job, area)) is not None:
            key = learning.key_of(job.handle, own[0].area)
            soaked = penetrating(job, area)
            sides.append(Sides(spot, own[0].recipe, held, key, poured, learning.sort(()), "", noon, soaked))
    if not sides:
        read = [row for spot in SPOTS for row in _rows(rows, job.handle, area.uid, spot)]
        why = NO_POUR if read and _poured(job, area) is None else NEVER_READ
        return Told(None, Gate("closed" if gated.points else "open", gated.why, notes=gated.notes), why)
    promised = [_promised(services, one, shop, gated) for one in sides]
    found = _first_with_spots(sides, [odds for odds, _ in promised])
    gate = promised[0][1]
    return Told(replace(found, notes=(*found.notes, *_gate_notes(gate))), gate, "")


def _promised(services: Services, sides: Sides, shop: Shop, gated: Gated) -> tuple[Odds, Gate]:
    """The odds by one spot, with what the new slab is made of in them."""
    learnt = match_gate.learnt(services, sides.spot, *sides.jobs)
    state = learning.state(services, sides.spot, *sides.jobs)
    sample = _sample(state, sides, gated)
    gate = match_gate.said(gated, learnt, sides.recipe, sides.old_key, sample is not None)
    if gate.state == "open" and not learnt.effects.names:
        return between(state, sides, shop), gate
    steps = [*gated.steps(learnt.of.get(sides.old_key, {})), *_season(learnt, sides)]

    def given(seen: tuple[Floats, Floats] | None, expected: Lab | None = None) -> Odds:
        batch = promise.batch(learnt.effects, learnt.of, sides.old_key, steps, seen, expected)
        return between(state, sides, shop, batch)

    found = given(None)
    if sample is not None:
        found = given(sample, found.bare_pair and found.bare_pair[1])
    if gate.state == "closed":
        like = found.bare_pair and given(promise.like(found.bare_pair[0]))
        return _capped(found, like.probability if like else None), gate
    if gate.state == "sample":
        found = replace(found, raise_by=(*_off(found, gate), *found.raise_by))
    return found, gate


def _season(learnt: Learnt, sides: Sides) -> Iterator[promise.Step]:
    then, now = learnt.of.get(sides.old_key, {}).get("season"), season(sides.new_poured.date())
    if then is not None and then != now:
        yield "season", then, now


def _sample(state: State, sides: Sides, gated: Gated) -> tuple[Floats, Floats] | None:
    """The settled color of the sample, taken from its own dose to the plan's; None where it was not read there."""
    read = match_sample.color(state, sides.recipe, gated.sample, gated.sample_rows, sides.spot)
    if read is None or gated.shift is None:
        return read
    return read[0] + np.asarray(gated.shift), read[1] + np.diag(np.square(mixing.MODEL_SD))


def _capped(found: Odds, with_sample: float | None) -> Odds:
    """The odds behind a closed gate: never more than even, whatever the spot and age."""

    def least(p: float) -> float:
        return min(p, promise.CAP)

    return replace(
        found,
        probability=least(found.probability),
        probability_sealed=least(found.probability_sealed),
        by_age=tuple(
            OddsAt(at.age_days, least(at.probability), least(at.probability_sealed)) for at in found.by_age
        ),
        verdict=BEFORE_SAMPLE,
        with_sample=with_sample,
    )


def _off(found: Odds, gate: Gate) -> Iterator[str]:
    """What to do where the sample came out otherwise than the old slab."""
    if found.bare_pair is None:
        return
    old, new = found.bare_pair
    apart = difference(old, new).de00
    if apart > found.threshold_de00 / 2:
        yield (
            f"sample {gate.sample} says the new slab will be {compare(old, new)} (ΔE00 {apart:.1f}): pour a ladder "
            f"of doses with the new lot and cement, `finishlog blend --target {_target(old)}`"
        )


def _target(lab: Lab) -> str:
    return ",".join(f"{value:.1f}" for value in lab)


def _gate_notes(gate: Gate) -> Iterator[str]:
    if gate.state == "seen":
        yield f"The change of {listed(gate.why)} was seen before on {count(gate.pairs, 'pair')}: the odds include it."
    yield from gate.notes


def _of_all(services: Services, sides: Sequence[Sides], shop: Shop) -> Odds:
    """The odds by the first of these, beside them those of every spot that was read."""
    return _first_with_spots(
        sides, [between(learning.state(services, one.spot, *one.jobs), one, shop) for one in sides]
    )


def _first_with_spots(sides: Sequence[Sides], found: Sequence[Odds]) -> Odds:
    spots = tuple(
        OddsOf(side.spot, odds.probability, odds.probability_sealed, odds.radius90_de00)
        for side, odds in zip(sides, found, strict=True)
    )
    return replace(found[0], spots=spots)


def between(state: State, sides: Sides, shop: Shop, batch: Batch | None = None) -> Odds:
    """The odds of two slabs, now and by age, from what is learned of their spot, recipes and kind of sealer."""
    state = replace(state, look=state.look_of(sides.penetrating))
    both = sides.new, sides.old
    common = cameras.common_sd(both)
    together = common is None and cameras.are_known(both)
    new, old = (
        _slab(key, held, state, together)
        for key, held in zip((sides.new_key, sides.old_key), both, strict=True)
    )
    learned = replace(state.learned, noise=max(state.learned.noise, 1.0)) if together else state.learned
    apart = (sides.new_poured - sides.old_poured).total_seconds() / 86400
    final = float(shop.final_color_day)
    ages = [(age, max(age + apart, 0.0)) for age in dict.fromkeys((final, *AGES))]
    limit = float(shop.match_de00)
    matched = odds.odds(
        learned,
        sides.recipe,
        new,
        old,
        state.pace,
        state.look,
        ages,
        limit,
        batch=batch,
        common=common,
    )
    return _answer(state, sides, matched, limit, shop)


def _answer(state: State, sides: Sides, matched: Sequence[Matched], limit: float, shop: Shop) -> Odds:
    final = matched[0]
    without = (sides.new_key, sides.old_key)
    by_age = sorted(matched, key=lambda one: one.age_days)
    return Odds(
        probability=final.probability,
        probability_sealed=final.probability_sealed,
        threshold_de00=limit,
        dominant=final.dominant,
        shares=final.shares,
        compare_from=first_comparable(sides.new_poured.date(), shop),
        radius90_de00=final.radius90_de00,
        verdict=_verdict(final),
        by_age=tuple(OddsAt(m.age_days, m.probability, m.probability_sealed) for m in by_age),
        raise_by=tuple(_RAISE[factor] for factor in _largest(final)),
        history_jobs=state.jobs,
        recipe_jobs=state.learned.of_recipe(sides.recipe, without) + 1,
        notes=tuple(_notes(state, sides)),
        spot=sides.spot,
        bare_pair=final.bare_pair,
        sealed_pair=final.sealed_pair,
    )


def _verdict(matched: Matched) -> str:
    said = matched.verdict
    return f"{said}, photograph again at day 14" if said == "cannot tell yet" else said


def _largest(matched: Matched) -> list[OddsFactor]:
    """The two factors that make most of the miss."""
    ordered = sorted(matched.shares, key=lambda share: -share[1])
    return [factor for factor, share in ordered[:2] if share > 0.05]


def _slab(key: str, held: Sorted, state: State, together: bool) -> Slab:
    """The readings of one side; sealed ones are taken back to bare by what the sealer does, and count for less.

    `together`: what the photos of one camera share is its error of this slab, which does not average out.
    """
    of_late = held.late
    ages, lab, variance = held.late_arrays()
    if cameras.only_sealed(held) and held.sealed:
        of_late = held.sealed
        ages, sealed, own = held.sealed_arrays()
        lab = weathering.bare_colors(state.look, sealed)
        variance = own * 1.3 + weathering.look_variance(state.look, sealed)
    dose = next((row.dose_percent for _, row in (*held.curve, *held.late, *held.sealed)), None)
    early, late = held.track(), np.asarray(variance)
    if together:
        count_of = Counter(row.reading.camera for _, row in (*held.curve, *of_late))
        early = replace(early, sd=early.sd * np.sqrt(cameras.again(held.curve, count_of)))
        late = late * cameras.again(of_late, count_of)
    return Slab(key, early, ages, lab, late, dose)


def _notes(state: State, sides: Sides) -> Iterator[str]:
    if sides.spot == "field":
        yield "Old slab's base never read: whole field against whole field, release color included."
    if state.jobs < 5:
        yield "Little history yet: the odds use starting values (finishlog color --rests-on)."
    if not sides.old.curve and not sides.old.late:
        sealer = "learned from your pairs" if state.look.pairs else "assumed"
        yield f"The old slab was read sealed only; its bare color is estimated, sealer effect {sealer}."
    elif not state.look.pairs:
        yield f"{_kind(sides)} effect assumed: no slab was read both bare and under one."
    if not state.pace.slabs:
        yield "Weathering assumed, lighter or darker alike: none of your slabs was read bare after day 60."


def _kind(sides: Sides) -> str:
    return "Penetrating sealer's" if sides.penetrating else "Sealer film's"


def _rows(rows: Sequence[LearningRow], handle: str, area: str, spot: str) -> list[LearningRow]:
    return [
        row for row in rows
        if row.job == handle and row.area in (area, None) and row.reading.spot == spot and not row.apart
    ]  # fmt: skip


def _told(rows: Sequence[LearningRow], services: Services | None = None) -> Sorted | None:
    """The readings by kind; None where none is dry and of an age. With services, what looks sealed apart."""
    held = learning.sort(rows, _coats(services, rows))
    return held if held.curve or held.late or held.sealed else None


def _coats(services: Services | None, rows: Sequence[LearningRow]) -> Coats:
    if services is None or len(rows) < 2:
        return ()
    return learning.state(services, rows[0].reading.spot, rows[0].job).coats


def _poured(job: Job, area: Area) -> datetime | None:
    end = ended(job, area.uid)
    return end.happened if end else None


def of_job(services: Services, handle: str, area: str | None = None) -> Odds | None:
    """The odds of a job that was to match another, of its field or the area named; None where it was not, or untold."""
    with services.log().reading() as log:
        job, shop = log.job(log.resolve(handle)), log.shop()
    ordered = sorted(job.areas, key=lambda one: one.kind != "field")
    wanted = area_of(job, area) if area is not None else next(iter(ordered), None)
    return None if wanted is None else of_addition(services, job, wanted, shop)


def closed(services: Services, handle: str, area: str | None = None) -> Plan | None:
    """The plan kept with a job whose slab was not read yet, if it could not tell before a sample; else None."""
    with services.log().reading() as log:
        job = log.job(log.resolve(handle))
        kept, rows = saved.of_job(log, job), log.learning_rows_of(job.handle)
    if kept is None or kept.plan.gate is None or kept.plan.gate.state != "closed":
        return None
    named = job.areas if (one := area_of(job, area)) is None else (one,)
    own = (_rows(rows, job.handle, each.uid, spot) for each in named for spot in SPOTS)
    return None if any(_told(some) for some in own) else kept.plan


def of_addition(services: Services, job: Job, area: Area, shop: Shop) -> Odds | None:
    """The odds of a poured addition against the job it is to match, by the readings of both; None where untold."""
    if job.reference is None:
        return None
    with services.log().reading() as log:
        rows = log.learning_rows_of(job.handle, job.reference)
        reference = log.job(job.reference)
    other = next((one for one in reference.areas if one.kind == area.kind), None)
    if other is None:
        return None
    sides = [one for spot in SPOTS if (one := _sides(services, rows, spot, (job, area), (reference, other)))]
    return _of_all(services, sides, shop) if sides else None


def _sides(
    services: Services, rows: Sequence[LearningRow], spot: str, new: tuple[Job, Area], old: tuple[Job, Area]
) -> Sides | None:
    """A spot of both slabs; None where the old one does not tell it, or either has no end of its pour."""
    read, before = (_rows(rows, job.handle, area.uid, spot) for job, area in (new, old))
    held, old_poured = _told(before, services), _poured(*old)
    new_poured = _poured(*new)
    if held is None or old_poured is None or new_poured is None:
        return None
    key = learning.key_of(new[0].handle, read[0].area if read else new[1].uid)
    old_key = learning.key_of(old[0].handle, before[0].area)
    at_site = new_poured.astimezone(zone_of(new[0]))
    seen = learning.sort(read, _coats(services, read))
    soaked = penetrating(*old)
    return Sides(spot, before[0].recipe, held, old_key, old_poured, seen, key, at_site, soaked)
