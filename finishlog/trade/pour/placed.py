"""The dose as placed: actual deliveries, weighted by the yards that stayed in the slab."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from finishlog.records.quantities.placed import OffLoad, PlacedDose, PlacedLoad

OFF_PERCENT = Fraction(5)


def placed_dose(loads: Iterable[PlacedLoad], off_percent: Fraction = OFF_PERCENT) -> PlacedDose | None:
    """Yard-weighted dose of a pour in lb/yd3, and the loads more than `off_percent` off the mean.

    A load's own dose is its pigment over the yards it brought; the mean weights it by the yards placed,
    if known. Loads without yards or pigment are skipped; None if nothing is known.
    """
    known = [
        (load, load.pigment_lb / load.yards)
        for load in loads
        if load.yards and load.yards > 0 and load.pigment_lb is not None
    ]
    if not known:
        return None
    shares = weights([load for load, _ in known])
    mean = sum((dose * share for (_, dose), share in zip(known, shares, strict=True)), Fraction(0))
    off = tuple(
        OffLoad(load.label, dose, (dose / mean - 1) * 100)
        for load, dose in known
        if mean and abs(dose / mean - 1) * 100 > off_percent
    )
    return PlacedDose(mean, off)


def weights(loads: Sequence[PlacedLoad]) -> list[Fraction]:
    """Each load's share of the slab, summing to 1: by yards placed, or brought if the leftover is unknown.

    If nothing stayed, the yards brought count; if nothing was brought either, all loads count alike.
    """
    yards = [load.yards if load.placed_yd3 is None else load.placed_yd3 for load in loads]
    some = [each or Fraction(0) for each in yards]
    if not sum(some):
        some = [load.yards or Fraction(0) for load in loads]
    total = sum(some, Fraction(0))
    return [each / total for each in some] if total else [Fraction(1, len(some))] * len(some)
