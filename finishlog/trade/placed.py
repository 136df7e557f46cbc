"""The dose as placed: what the trucks really brought, weighted by their yards."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from finishlog.records.quantities import OffLoad, PlacedDose, PlacedLoad

OFF_PERCENT = Fraction(5)


def placed_dose(loads: Iterable[PlacedLoad], off_percent: Fraction = OFF_PERCENT) -> PlacedDose | None:
    """Yard-weighted dose of a pour in lb/yd3, its range, and the loads more than `off_percent` off the mean.

    Loads without yards or pigment are counted as unknown; None when nothing is known.
    """
    every = tuple(loads)
    known = [
        (load.label, load.yards, load.pigment_lb)
        for load in every
        if load.yards and load.yards > 0 and load.pigment_lb is not None
    ]
    if not known:
        return None
    mean = sum((pounds for _, _, pounds in known), Fraction(0)) / sum(yards for _, yards, _ in known)
    doses = [(label, pounds / yards) for label, yards, pounds in known]
    off = tuple(
        OffLoad(label, dose, (dose / mean - 1) * 100)
        for label, dose in doses
        if mean and abs(dose / mean - 1) * 100 > off_percent
    )
    low, high = min(dose for _, dose in doses), max(dose for _, dose in doses)
    spread = (high - low) / mean * 100 if mean else Fraction(0)
    return PlacedDose(mean, low, high, spread, len(known), len(every) - len(known), off)
