"""How good forecasts and promises were, as kept or made afterwards, against later readings."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from statistics import median

import numpy as np

from finishlog.color.aging import cure, promise
from finishlog.color.notation.space import difference
from finishlog.desk.color import kept
from finishlog.desk.color import learned as learning
from finishlog.desk.color.curve import curve
from finishlog.desk.color.learned import Row, Sorted, State
from finishlog.desk.exact_data import UNREADABLE
from finishlog.desk.match import odds
from finishlog.desk.services import Services
from finishlog.records.answers import Advice, LearningRow
from finishlog.records.color import HowGood, Lab, Promised, Tried
from finishlog.records.log import Job
from finishlog.records.shop import Shop

HINDCAST_DAY = 8.0
LATE_DAY = 20.0
MOST_SLABS = 200
_Met = tuple[bool, float]
"""Whether the range held, and ΔE00 of the reading from what was expected."""


def how_good(services: Services) -> HowGood:
    """Of the 90 % ranges of L* that a later reading met, how many held."""
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
    return HowGood(_tried(met), _tried(_hindcasts_once(services)), state.jobs, _promises(told))


BANDS = ((0.8, 1.0), (0.5, 0.8), (0.0, 0.5))
_Told = tuple[float, bool, bool]
"""The odds that a kept plan gave, whether it said "cannot tell before a sample", whether the slabs match now."""


def _promise(
    services: Services, job: Job, advice: Advice, rows: Sequence[LearningRow], shop: Shop
) -> _Told | None:
    """A kept plan whose slab was read dry and bare when it was old enough to be judged; None for any other."""
    given = _odds(advice)
    own = [row for row in rows if row.job == job.handle and row.happened > advice.given]
    held = learning.sort(own)
    if not given or not any(age >= LATE_DAY for age, _ in (*held.curve, *held.late)):
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
    held = [_counted(low, high, of, closed=False) for low, high, of in found if of]
    closed = [one for one in told if one[1]]
    return (*held, *([_counted(0.0, promise.CAP, closed, closed=True)] if closed else ()))


def _counted(low: float, high: float, of: Sequence[_Told], *, closed: bool) -> Promised:
    said = sum(one[0] for one in of) / len(of)
    return Promised(low, high, len(of), sum(one[2] for one in of), said, closed)


def _tried(met: Sequence[_Met]) -> Tried:
    return Tried(len(met), sum(held for held, _ in met), median(off for _, off in met) if met else None)


def _kept(handle: str, advice: Advice, rows: Iterable[LearningRow], names: dict[str, str]) -> Iterator[_Met]:
    """Later dry bare readings of the area against the forecast as it was given."""
    area, points = _forecast(advice)
    if len(points) < 2:
        return
    own = [row for row in rows if row.job == handle and names.get(row.area or "") == area]
    held = learning.sort(own)
    for age, row in (*held.curve, *held.late):
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
    held = abs(read.L - lab[0]) <= cure.NORMAL_90 * float(np.hypot(sd, own))
    return bool(held), difference(lab, (read.L, read.a, read.b)).de00


def _hindcasts_once(services: Services) -> Sequence[_Met]:
    """Of the readings that taught the shop, kept beside it."""
    met: Sequence[_Met] = kept.beside(
        services, "base", "hindcasts", lambda state, rows, _log: tuple(_hindcasts(state, rows))
    )
    return met


def _hindcasts(state: State, rows: Iterable[LearningRow]) -> Iterator[_Met]:
    """Late readings of the newest slabs against what the early ones and the other slabs tell."""
    grouped: dict[tuple[str, str | None], list[LearningRow]] = {}
    for row in rows:
        grouped.setdefault((row.job, row.area), []).append(row)
    for (job, area), of in list(grouped.items())[-MOST_SLABS:]:
        held = learning.sort(of, state.coats)
        early, late = _cut(held)
        if early.curve and late:
            made = curve(state, of[0].recipe, early, (learning.key_of(job, area),))
            lab, cov = made.at([age for age, _ in late])
            for (_, row), expected, spread in zip(late, lab, cov, strict=True):
                L, a, b = map(float, expected)
                yield _met(row, (L, a, b), float(spread[0, 0] ** 0.5))


def _cut(held: Sorted) -> tuple[Sorted, tuple[Row, ...]]:
    """The readings up to day 7, and those from day 20 to 60."""
    early = tuple(row for row in held.curve if row[0] <= HINDCAST_DAY)
    return Sorted(early, (), (), ()), tuple(row for row in held.curve if row[0] >= LATE_DAY)
