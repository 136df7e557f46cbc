"""How good forecasts and promises were, as kept or made afterwards, against later readings."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from statistics import median

import numpy as np

from finishlog.color.aging import cure, held, promise
from finishlog.color.aging.learn import PastSlab
from finishlog.color.notation.space import difference
from finishlog.desk.color import kept
from finishlog.desk.color import learned as learning
from finishlog.desk.color.learned import State
from finishlog.desk.exact_data import UNREADABLE
from finishlog.desk.match import odds
from finishlog.desk.services import Services
from finishlog.records.answers import Advice, LearningRow
from finishlog.records.color import HeldOn, HowGood, Lab, Promised, Tried
from finishlog.records.log import Job
from finishlog.records.shop import Shop

LATE_DAY = 20.0
MOST_SLABS = 200
_Met = tuple[bool, float]
"""Whether the range held, and ΔE00 of the reading from what was expected."""


def how_good(services: Services) -> HowGood:
    """Of the 90 % ranges that a later reading met, how many held: saved ones of L*, and by day and axis."""
    state = learning.state(services)
    rows = [row for row in services.learning_rows() if row.reading.spot == "base"]
    with services.log().reading() as log:
        jobs = tuple(dict.fromkeys(row.job for row in rows))
        advices = log.advices_among("forecast", jobs)
        names = {handle: {a.uid: a.name for a in log.job(handle).areas} for handle, _ in advices}
        plans = [(log.job(handle), advice) for handle, advice in log.advices_among("plan", jobs)]
        shop = log.shop()
    met = [one for handle, advice in advices for one in _kept(handle, advice, rows, names[handle])]
    told = [one for job, advice in plans if (one := _promise(services, job, advice, rows, shop)) is not None]
    by_day = _by_day_once(services)
    return HowGood(_tried(met), by_day, state.jobs, _promises(told), state.learned.noise)


BANDS = ((0.8, 1.0), (0.5, 0.8), (0.0, 0.5))
_Told = tuple[float, bool, bool]
"""The odds that a kept plan gave, whether it said "cannot tell before a sample", whether the slabs match now."""


def _promise(
    services: Services, job: Job, advice: Advice, rows: Sequence[LearningRow], shop: Shop
) -> _Told | None:
    """A kept plan whose slab was read dry and bare when it was old enough to be judged; None for any other."""
    given = _odds(advice)
    own = [row for row in rows if row.job == job.handle and row.happened > advice.given]
    after = learning.sort(own)
    if not given or not any(age >= LATE_DAY for age, _ in (*after.curve, *after.late)):
        return None
    named = {row.area for row in own}
    area = next((one for one in job.areas if one.uid in named), None)
    now = None if area is None else odds.of_addition(services, job, area, shop)
    if now is None or now.bare_pair is None:
        return None
    probability, closed, threshold = given
    return probability, closed, difference(*now.bare_pair).de00 < threshold


def _odds(advice: Advice) -> tuple[float, bool, float] | None:
    """What a kept plan gave: probability, whether it said "cannot tell", threshold; None where it gave none."""
    with suppress(*UNREADABLE):
        answer = json.loads(advice.answer)
        given, gate = answer["odds"], answer.get("gate") or {}
        return float(given["probability"]), gate.get("state") == "closed", float(given["threshold_de00"])
    return None


def _promises(told: Sequence[_Told]) -> tuple[Promised, ...]:
    """By the odds that were given, the highest first; those that could not tell apart from them, last."""
    found = [(low, high, [one for one in told if not one[1] and low <= one[0] < (high if high < 1 else 2)])
             for low, high in BANDS]  # fmt: skip
    counted = [_counted(low, high, of, closed=False) for low, high, of in found if of]
    closed = [one for one in told if one[1]]
    return (*counted, *([_counted(0.0, promise.CAP, closed, closed=True)] if closed else ()))


def _counted(low: float, high: float, of: Sequence[_Told], *, closed: bool) -> Promised:
    said = sum(one[0] for one in of) / len(of)
    return Promised(low, high, len(of), sum(one[2] for one in of), said, closed)


def _tried(met: Sequence[_Met]) -> Tried:
    return Tried(len(met), sum(inside for inside, _ in met), median(off for _, off in met) if met else None)


def _kept(handle: str, advice: Advice, rows: Iterable[LearningRow], names: dict[str, str]) -> Iterator[_Met]:
    """Later dry bare readings of the area against the forecast as it was given."""
    area, points = _forecast(advice)
    if len(points) < 2:
        return
    own = [row for row in rows if row.job == handle and names.get(row.area or "") == area]
    after = learning.sort(own)
    for age, row in (*after.curve, *after.late):
        if row.happened > advice.given and (said := _between(points, age)) is not None:
            yield _met(row, *said)


def _forecast(advice: Advice) -> tuple[str | None, Sequence[tuple[float, ...]]]:
    """The area of a kept forecast of a base color, and its age, L*a*b* and sd of L* by point."""
    with suppress(*UNREADABLE):
        answer = json.loads(advice.answer)
        if answer["spot"] == "base":
            return answer["area"], [
                (float(p["age_days"]), *(float(p["lab"][axis]) for axis in range(3)), float(p["lab_sd"][0]))
                for p in answer["forecast"]
            ]
    return None, ()


def _between(points: Sequence[tuple[float, ...]], age: float) -> tuple[Lab, float] | None:
    """L*a*b* and sd of L* that were said for an age; None outside the ages forecast."""
    ages = [point[0] for point in points]
    if not ages[0] <= age <= ages[-1]:
        return None
    L, a, b, sd = (float(np.interp(age, ages, [point[part] for point in points])) for part in range(1, 5))
    return (L, a, b), sd


def _met(row: LearningRow, lab: Lab, sd: float) -> _Met:
    read = row.reading
    own = np.hypot(learning.lab_sd(row)[0], cure.MOISTURE_SD[0])
    inside = abs(read.L - lab[0]) <= cure.NORMAL_90 * float(np.hypot(sd, own))
    return bool(inside), difference(lab, (read.L, read.a, read.b)).de00


def _by_day_once(services: Services) -> tuple[HeldOn, ...]:
    """Of the readings that taught the shop, kept beside it."""
    found: tuple[HeldOn, ...] = kept.beside(
        services, "base", "held", lambda state, rows, _log: _by_day(state, rows), HeldOn
    )
    return found


def _by_day(state: State, rows: Iterable[LearningRow]) -> tuple[HeldOn, ...]:
    """The newest slabs' later readings against what their first ones and the other slabs tell."""
    grouped: dict[tuple[str, str | None], list[LearningRow]] = {}
    for row in rows:
        grouped.setdefault((row.job, row.area), []).append(row)
    slabs = [
        PastSlab(
            learning.key_of(job, area),
            of[0].recipe,
            learning.sort(of, state.coats).track(),
            of[0].dose_percent,
        )
        for (job, area), of in list(grouped.items())[-MOST_SLABS:]
    ]
    return tuple(_counted_on(one) for one in held.check(state.learned, slabs))


def _counted_on(one: held.Checked) -> HeldOn:
    light, red, yellow, color = map(int, one.held.sum(axis=0))
    return HeldOn(one.day, one.slabs, len(one.off), light, red, yellow, color, float(np.median(one.off)))
