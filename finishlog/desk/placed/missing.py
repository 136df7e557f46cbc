"""Missing facts of a finish, in order of work."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from finishlog.records.placed import AsPlaced, BagMix

Check = tuple[bool, str]


def with_missing(placed: AsPlaced, rinsed: bool, unweighed: int, unshared: tuple[str, ...] = ()) -> AsPlaced:
    """The finish with all that is missing; `unweighed` loads have no pigment logged.

    `unshared` says what was logged for several areas and cannot be shared.
    """
    only_bags = placed.bag_mix is not None and not placed.loads
    concrete = _bags(placed.bag_mix) if only_bags and placed.bag_mix else _loads(placed, unweighed)
    found = (*_pour(placed), *concrete, *((True, text) for text in unshared), *_finish(placed, rinsed))
    return replace(placed, missing=tuple(text for absent, text in found if absent))


def _pour(placed: AsPlaced) -> Iterator[Check]:
    yield placed.poured_on is None, "pour date not logged"


def _loads(placed: AsPlaced, unweighed: int) -> Iterator[Check]:
    yield placed.dose_lb_per_yd3 is None, "pigment dose not logged"
    yield (
        placed.dose_from == "recipe",
        "pigment weighed into the loads not logged; using the recipe's dose",
    )
    yield (
        placed.dose_from == "loads" and unweighed > 0,
        f"pigment for {unweighed} of {placed.loads} loads not logged",
    )
    yield not any(p.lots for p in placed.pigments), "pigment lot not logged"
    yield not placed.mixes, "plant mix not logged"
    unknown = any(mix.cementitious_lb_per_yd3 is None for mix in placed.mixes)
    several = len({mix.cementitious_lb_per_yd3 for mix in placed.mixes}) > 1
    yield bool(placed.mixes) and (unknown or several), "cement content not logged"


def _bags(mix: BagMix) -> Iterator[Check]:
    yield mix.bags is None, "number of bags not logged"
    yield not mix.pigments, "pigment in the bags not logged"
    weighed = all(pigment.lb is not None for pigment in mix.pigments)
    yield bool(mix.pigments) and not weighed, "pigment in the bags not weighed"
    yield bool(mix.pigments) and not any(p.lots for p in mix.pigments), "pigment lot not logged"
    yield bool(mix.pigments), "cement per bag unknown: no percent, no limit check"
    yield mix.water_per_bag_gal is None, "water per bag not logged"


def _finish(placed: AsPlaced, rinsed: bool) -> Iterator[Check]:
    yield placed.area.area_ft2 is None, "area not measured"
    yield placed.release is None, "release not logged"
    yield placed.release is not None and placed.release_lb is None, "release thrown not logged"
    yield not rinsed, "rinse not logged"
    yield rinsed and placed.rinse_age_h is None, "rinse age not logged"
    yield placed.release_left_percent is None, "release left not judged"
    yield not placed.coats, "no sealer logged"
    yield placed.base_reading is None, "no color read"
