"""Colors the rinse helper needs from outside the frame: base now and final, release color, habit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from finishlog.color.priors import figures
from finishlog.desk.placed import left as placed_left
from finishlog.desk.services import Services
from finishlog.records.color import PHOTO_SD
from finishlog.records.log import Job, Reading
from finishlog.records.placed import AsPlaced, dry_bare
from finishlog.units import count

if TYPE_CHECKING:
    from finishlog.color.release.drying import Drying
    from finishlog.color.release.rinse import Habit, Known
    from finishlog.records.answers import LearningRow
    from finishlog.records.color import ColorPoint
    from finishlog.records.shop import Shop
    from finishlog.store import Reader

_NO_HISTORY = "no history yet"
MOST_JOBS = 400
"""Newest jobs whose release left, as logged, tells the crew's habit."""
_LIBRARY_SD = figures.RELEASE_COLOR.sd
"""How far a release color of the same product lies from job to job, L*, a*, b*: assumed, from memory."""


@dataclass(frozen=True, slots=True)
class Colors:
    """What is known beside the frame, None where nothing is; `notes` say what each rests on."""

    base_now: Known | None
    base_settled: Known | None
    release: Known | None
    habit: Habit
    drying: Drying
    notes: tuple[str, ...]


def release_color(job: Job, placed: AsPlaced, reference: AsPlaced | None) -> tuple[Known | None, str]:
    """The release color, which does not move: the job's own readings, else those of the job that it matches."""
    own = dry_bare(job, "release color", placed.area.uid)
    if own:
        return _mean([reading for _, reading in own]), f"Release color: {_count(len(own))} of this job."
    other = reference.release_reading if reference else None
    if (
        other is not None
        and reference is not None
        and not (other.damp or other.sealed)
        and _same(placed, reference)
    ):
        return _mean([other], _LIBRARY_SD), "Release color: from the job it matches, same product."
    return None, "Release color: not read yet on this job or the one it matches."


def base_colors(services: Services, job: Job, placed: AsPlaced) -> tuple[Known | None, Known | None, str]:
    """The base as it is today, dry, and when it has settled, both as forecast; and what that rests on."""
    from finishlog.desk.color import color

    found = color.job(services, job.handle, placed.area.name)
    track = next((one for one in found.areas if one.spot == "base"), None)
    if track is None or track.final is None:
        why = track.flags[0] if track and track.flags else "not read yet"
        return (
            None,
            None,
            f"Base color: final value unknown. {why[:1].upper()}{why[1:].rstrip('.')}.",
        )
    read = sum(reading.in_curve for reading in track.readings)
    taught = f"{found.history_jobs} jobs taught the forecast" if found.history_jobs > 1 else _NO_HISTORY
    said = f"Base color: {_count(read)} of this job, {taught}."
    return _point(track.today), _point(track.final), said


def habit(log: Reader, handle: str, shop: Shop) -> Habit:
    """What the crew leaves on past jobs: as measured on settled slabs, else as logged, by eye.

    Every slab counts by its own sd.
    """
    from finishlog.color.release import rinse

    settled = _measured(log.learning_rows(), shop.first_comparable_day, handle)
    lines = log.lines(archived=True, limit=MOST_JOBS)
    judged = [
        line.release_left_percent
        for line in lines
        if line.release_left_percent is not None and line.state != "planned" and line.handle != handle
        and all(job != line.handle for job, _ in settled)
    ]  # fmt: skip
    past = [*settled.values(), *((percent, placed_left.BY_EYE_SD_PERCENT) for percent in judged)]
    found = rinse.learn(
        [percent / 100 for percent, _ in past],
        float(shop.release_left_percent) / 100,
        [sd / 100 for _, sd in past],
    )
    return replace(found, measured=len(settled))


def _measured(
    rows: Sequence[LearningRow], settled_day: int, without: str
) -> dict[tuple[str, str | None], tuple[float, float]]:
    """Release left and its sd, percent, by slab: the surest reading of a field that is dry and has settled."""
    from finishlog.desk.color.learned import age_days

    found: dict[tuple[str, str | None], tuple[float, float]] = {}
    for row in rows:
        age, left = age_days(row), row.release_left_percent
        if left is None or age is None or age < settled_day or row.job == without:
            continue
        if row.reading.sample is not None or row.reading.damp:
            continue
        sure = placed_left.sure(row.release_left_sd_percent)
        slab = row.job, row.area
        if slab not in found or sure <= found[slab][1]:
            found[slab] = left, sure
    return found


def _sd(reading: Reading) -> tuple[float, float, float]:
    given = (reading.sd_L, reading.sd_a, reading.sd_b)
    L, a, b = (own or usual for own, usual in zip(given, PHOTO_SD, strict=True))
    return L, a, b


def _mean(readings: Sequence[Reading], more: Sequence[float] = (0.0, 0.0, 0.0)) -> Known:
    """The mean color with its variance; `more` is a further sd of each axis."""
    from finishlog.color.release.rinse import Known

    n = len(readings)
    L, a, b = (sum(axis) / n for axis in zip(*((r.L, r.a, r.b) for r in readings), strict=True))
    own = [sum(sd * sd for sd in axis) / n**2 for axis in zip(*map(_sd, readings), strict=True)]
    vL, va, vb = (variance + extra**2 for variance, extra in zip(own, more, strict=True))
    return Known((L, a, b), ((vL, 0.0, 0.0), (0.0, va, 0.0), (0.0, 0.0, vb)))


def _point(point: ColorPoint | None) -> Known | None:
    from finishlog.color.release.rinse import Known

    if point is None:
        return None
    vL, va, vb = (sd * sd for sd in point.lab_sd)
    return Known(point.lab, ((vL, 0.0, 0.0), (0.0, va, 0.0), (0.0, 0.0, vb)))


def _same(placed: AsPlaced, reference: AsPlaced) -> bool:
    """Whether both had the same release, as far as the log knows: shade and maker."""
    return placed.release is not None and (placed.release, placed.release_maker) == (
        reference.release,
        reference.release_maker,
    )


def _count(readings: int) -> str:
    return count(readings, "reading")
