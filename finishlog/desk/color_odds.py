"""The odds that an addition will look like the slab beside it: for the owner, never on a customer's sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from finishlog.color import cure, odds, weathering
from finishlog.color.odds import Matched, Slab
from finishlog.desk import color_learned as learning
from finishlog.desk.color_learned import Sorted, State
from finishlog.desk.ready import area_of
from finishlog.desk.services import Services
from finishlog.desk.words import listed
from finishlog.records.color import Odds, OddsAt, OddsFactor, OddsOf
from finishlog.records.plan import Difference
from finishlog.records.shop import Shop

if TYPE_CHECKING:
    from finishlog.records.answers import LearningRow
    from finishlog.records.exactness import has_days
from finishlog.records.log import Area, Job

NEVER_READ = (
    "No odds: the old slab was never read dry, base or field. Photograph it with a card, clean, on a dry day."
)
NO_POUR = "No odds: the old slab's readings have no age, since the end of its pour was not logged."
AGES = (14.0, 28.0, 180.0)
SPOTS = ("base", "field")
"""What is compared, like with like: the base where it was read, else the whole field."""
_CHANGED = ("lot", "maker", "cement", "content", "plant")
_RAISE: dict[OddsFactor, str] = {
    "job_scatter": "pour a sample of the new load, let it lighten, and choose after it: no two jobs come out alike",
    "old_slab": "read the old slab again, cleaned and dry, several spots, with a card",
    "recipe": "read more slabs of this recipe, and a sample before the pour",
    "weathering": "clean the old slab and read it again near the day of the pour",
    "curve": "read the new slab at days 1, 3, 7 and 14",
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


def of_plan(
    services: Services, job: Job, area: Area, on: date, shop: Shop, differences: Sequence[Difference]
) -> tuple[Odds | None, str]:
    """The odds of a slab poured on a day against this area; None with the reason where nothing is known."""
    with services.log().reading() as log:
        rows = log.learning_rows()
    noon = datetime.combine(on, time(12), ZoneInfo(job.site.zone))
    sides = []
    for spot in SPOTS:
        own = _rows(rows, job.handle, area.uid, spot)
        if (held := _told(own)) is not None and (poured := _poured(own)) is not None:
            key = learning.key_of(job.handle, own[0].area)
            sides.append(Sides(spot, own[0].recipe, held, key, poured, learning.sort(()), "", noon))
    if not sides:
        read = [row for spot in SPOTS for row in _rows(rows, job.handle, area.uid, spot)]
        return None, NO_POUR if read and _poured(read) is None else NEVER_READ
    found = _of_all(services, sides, shop)
    return replace(found, notes=(*found.notes, *_not_in_it(differences))), ""


def _of_all(services: Services, sides: Sequence[Sides], shop: Shop) -> Odds:
    """The odds by the first of these, beside them those of every spot that was read."""
    found = [between(services, one, shop) for one in sides]
    spots = tuple(
        OddsOf(side.spot, odds.probability, odds.probability_sealed, odds.radius90_de00)
        for side, odds in zip(sides, found, strict=True)
    )
    return replace(found[0], spots=spots)


def between(services: Services, sides: Sides, shop: Shop) -> Odds:
    """The odds of two slabs, now and by age."""
    state = learning.state(services, sides.spot)
    new, old = _slab(sides.new_key, sides.new, state), _slab(sides.old_key, sides.old, state)
    apart = (sides.new_poured - sides.old_poured).total_seconds() / 86400
    final = float(shop.final_color_day)
    ages = [(age, max(age + apart, 0.0)) for age in dict.fromkeys((final, *AGES))]
    limit = float(shop.match_de00)
    matched = odds.odds(state.learned, sides.recipe, new, old, state.pace, state.look, ages, limit)
    return _answer(state, sides, matched, limit, shop)


def _answer(state: State, sides: Sides, matched: Sequence[Matched], limit: float, shop: Shop) -> Odds:
    final = matched[0]
    without = (sides.new_key, sides.old_key)
    made = cure.fit(sides.new.track(), state.learned.prior(sides.recipe, (sides.new_key,)))
    judge = cure.settled_from(made) or shop.first_comparable_day
    by_age = sorted(matched, key=lambda one: one.age_days)
    return Odds(
        probability=final.probability,
        probability_sealed=final.probability_sealed,
        threshold_de00=limit,
        dominant=final.dominant,
        shares=final.shares,
        compare_from=(sides.new_poured + timedelta(days=judge)).date(),
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


def _slab(key: str, held: Sorted, state: State) -> Slab:
    """The readings of one side; sealed ones are taken back to bare by what the sealer does, and count for less."""
    ages, lab, variance = held.late_arrays()
    if not held.curve and not held.late and held.sealed:
        ages, sealed, own = held.sealed_arrays()
        lab = weathering.bare_colors(state.look, sealed)
        variance = own * 1.3 + weathering.look_variance(state.look, sealed)
    return Slab(key, held.track(), ages, lab, np.asarray(variance))


def _notes(state: State, sides: Sides) -> Iterator[str]:
    if sides.spot == "field":
        yield "The base of the old slab was never read: whole field against whole field, its release color in it."
    if state.jobs < 5:
        yield "Little history of yours yet: the odds rest on starting values from memory."
    if not sides.old.curve and not sides.old.late:
        sealer = "learned from your pairs" if state.look.pairs else "assumed, from memory"
        yield f"The old slab was read sealed only; its bare color is worked back, the sealer's effect {sealer}."
    elif not state.look.pairs:
        yield "What the sealer does is assumed, from memory: no slab was read bare and sealed."
    if not state.pace.slabs:
        yield "How slabs weather is assumed, from memory: none of yours was read bare after day 60."


def _not_in_it(differences: Sequence[Difference]) -> Iterator[str]:
    """What is known to change and cannot be in the odds."""
    changed = [d.title.lower() for d in differences if d.weight == "act" and d.key in _CHANGED]
    if changed:
        yield f"Not in the odds: the change of {listed(dict.fromkeys(changed))}. Only a sample tells what it does."


def _rows(rows: Sequence[LearningRow], handle: str, area: str, spot: str) -> list[LearningRow]:
    return [
        row for row in rows
        if row.job == handle and row.area in (area, None) and row.reading.spot == spot and not row.apart
    ]  # fmt: skip


def _told(rows: Sequence[LearningRow]) -> Sorted | None:
    """The readings by kind; None where none is dry and of an age."""
    held = learning.sort(rows)
    return held if held.curve or held.late or held.sealed else None


def _ended(job: Job, area: Area) -> datetime | None:
    """The last end of a pour of the area."""
    ends = (entry for entry in job.of_kind("pour", area=area.uid) if has_days(entry.exactness))
    return max((entry.happened for entry in ends), default=None)


def _poured(rows: Sequence[LearningRow]) -> datetime | None:
    return next((row.poured for row in rows if row.poured is not None), None)


def of_job(services: Services, handle: str, area: str | None = None) -> Odds | None:
    """The odds of a job that was to match another, of its field or the area named; None where it was not, or untold."""
    with services.log().reading() as log:
        job, shop = log.job(log.resolve(handle)), log.shop()
    ordered = sorted(job.areas, key=lambda one: one.kind != "field")
    wanted = area_of(job, area) if area is not None else next(iter(ordered), None)
    return None if wanted is None else of_addition(services, job, wanted, shop)


def of_addition(services: Services, job: Job, area: Area, shop: Shop) -> Odds | None:
    """The odds of a poured addition against the job it is to match, by the readings of both; None where untold."""
    if job.reference is None:
        return None
    with services.log().reading() as log:
        rows = log.learning_rows()
        reference = log.job(job.reference)
    other = next((one for one in reference.areas if one.kind == area.kind), None)
    if other is None:
        return None
    sides = [one for spot in SPOTS if (one := _sides(rows, spot, (job, area), (reference, other)))]
    return _of_all(services, sides, shop) if sides else None


def _sides(
    rows: Sequence[LearningRow], spot: str, new: tuple[Job, Area], old: tuple[Job, Area]
) -> Sides | None:
    """A spot of both slabs; None where the old one does not tell it, or either has no end of its pour."""
    read, before = (_rows(rows, job.handle, area.uid, spot) for job, area in (new, old))
    held, old_poured = _told(before), _poured(before)
    new_poured = _poured(read) or _ended(*new)
    if held is None or old_poured is None or new_poured is None:
        return None
    key = learning.key_of(new[0].handle, read[0].area if read else new[1].uid)
    old_key = learning.key_of(old[0].handle, before[0].area)
    return Sides(spot, before[0].recipe, held, old_key, old_poured, learning.sort(read), key, new_poured)
