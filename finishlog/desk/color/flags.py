"""A forecast's basis and the evidence against it, one sentence each."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from finishlog.color.notation.space import difference
from finishlog.desk.words import listed
from finishlog.units import count

if TYPE_CHECKING:
    from finishlog.desk.color.curve import Curve
    from finishlog.desk.color.learned import Sorted, State
    from finishlog.records.color import ColorReading, ColorTrack

NO_POUR = "Pour end not logged, so readings have no age and there is no forecast."
PLANNED = "Not poured yet: nothing to forecast. Its samples feed the blend."
FEW = 5
_BELIEVED = 0.05
_SAME_DAY, _FAR_APART, _STILL = 1.0, 8.0, 1.0


def unread(held: Sorted) -> Iterator[str]:
    """Why there is no forecast."""
    if held.damp or held.sealed:
        yield "No dry bare color read, and no job of this recipe: nothing to forecast from."
    else:
        yield "No color read yet, and none on a job of this recipe: nothing to forecast from."
    yield from _kept_apart(held)


def flags(track: ColorTrack, held: Sorted, state: State, made: Curve) -> Iterator[str]:
    """Most important first."""
    if state.jobs < FEW:
        yield _few(state.jobs)
    if not held.curve:
        yield f"Not read dry and bare yet: this comes from {count(track.recipe_jobs, 'other job')} of its recipe."
    if track.spot == "field":
        yield "Base alone not read: this is the whole field, release color included."
    if made.fit.unlike:
        yield "Unlike its recipe and your other slabs: its own readings count more; the range is wider."
    yield from _looks_sealed(held)
    yield from _contradictions(track)
    yield from _outliers(track, held, made)
    yield from _clock(track)
    yield from _from_sample(held)
    yield from _kept_apart(held)
    if track.sealed is None:
        yield "Sealed look unknown: no slab was read both bare and under such a sealer."
    yield from _late(track, made)


def _few(jobs: int) -> str:
    """What the range rests on, and what would narrow it."""
    so_far = "No history yet" if jobs < 2 else f"Only {jobs} jobs read so far"
    return (
        f"{so_far}: the range uses starting values (finishlog color --rests-on), so it is wide. "
        f"Read {count(FEW - jobs, 'more job')}, each young and at 4 weeks, to narrow it."
    )


def _contradictions(track: ColorTrack) -> Iterator[str]:
    """Two readings of one day that cannot both be right."""
    dry = [r for r in track.readings if r.in_curve]
    for first, second in pairwise(dry):
        if (second.age_days or 0) - (first.age_days or 0) > _SAME_DAY or first.sample != second.sample:
            continue
        de00 = difference(first.lab, second.lab).de00
        if de00 > _FAR_APART:
            yield (
                f"Entries {first.entry} and {second.entry}, both {_age(first)}, are ΔE00 {de00:.0f} apart: "
                "both kept, but count less."
            )


def _outliers(track: ColorTrack, held: Sorted, made: Curve) -> Iterator[str]:
    """Which reading is rejected, and why."""
    impossible = {row.number for _, row in held.no_concrete}
    for reading in track.readings:
        if not reading.apart or reading.age_days is None or reading.entry in impossible:
            continue
        L, a, b = map(float, made.at([reading.age_days])[0][0])
        off = difference(reading.lab, (L, a, b)).de00
        counts = "is rejected" if (reading.weight or 0.0) < _BELIEVED else "counts little"
        yield (
            f"Entry {reading.entry}, {_age(reading)}, stands apart and {counts}: L* {reading.lab[0]:.0f}, "
            f"ΔE00 {off:.0f} from the L* {L:.0f} of all the rest. Read that spot again."
        )


def _clock(track: ColorTrack) -> Iterator[str]:
    for reading in track.readings:
        if reading.age_days is not None and reading.age_days < 0:
            yield f"Entry {reading.entry} is from before the pour ended: left out."


def _age(reading: ColorReading) -> str:
    return f"day {reading.age_days:.0f}" if reading.age_days is not None else "age unknown"


def _from_sample(held: Sorted) -> Iterator[str]:
    samples = sorted({row.reading.sample for _, row in held.curve if row.reading.sample is not None})
    if samples:
        first = min(age for age, row in held.curve if row.reading.sample is not None)
        names = " and ".join(str(number) for number in samples)
        yield f"From day {first:.0f} on the curve goes by the bare half of sample {names}."


def _looks_sealed(held: Sorted) -> Iterator[str]:
    """The coat that nobody logged, and how to say what was there."""
    if not held.looks_sealed:
        return
    age, row = held.looks_sealed[0]
    numbers = listed([str(one.number) for _, one in held.looks_sealed])
    called = f"Entry {numbers} was" if len(held.looks_sealed) == 1 else f"Entries {numbers} were"
    yield (
        f"From day {age:.0f} on it looks sealed or wet: darker and deeper at once, and it stays so. "
        f"{called} logged as dry and bare: left out of the bare curve."
    )
    yield (
        "If it was sealed, log the coat and correct the reading with sealed=yes, if wet with damp=yes; if you looked "
        f"and it was bare: finishlog record {row.job} reading --replaces {row.number} --set no_sealer=yes"
    )


def _kept_apart(held: Sorted) -> Iterator[str]:
    for age, row in held.no_concrete:
        read = row.reading
        yield (
            f"Entry {row.number}, day {age:.0f}, is rejected: L*a*b* {read.L:.0f}, {read.a:.0f}, {read.b:.0f} "
            "is not a color of concrete. Read that spot again."
        )
    if held.damp:
        yield f"{count(len(held.damp), 'damp reading')} kept out of the dry curve: a preview of the sealed look."
    if held.sealed:
        yield f"{count(len(held.sealed), 'sealed reading')} kept out of the bare curve."


def _late(track: ColorTrack, made: Curve) -> Iterator[str]:
    """Where the shop's final-color day comes too early for this slab."""
    if track.final is None:
        return
    lab, _ = made.fit.at([1000.0])
    rest = difference(track.final.lab, lab[0].tolist()).de00
    if rest >= _STILL:
        yield f"On the final-color day it still has about ΔE00 {rest:.1f} to go: this slab is slow."
