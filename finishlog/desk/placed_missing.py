"""What of a finish nobody logged, said in the order of the work."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from finishlog.records.plan import AsPlaced, BagMix

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
    yield placed.poured_on is None, "the day of the pour was not logged"


def _loads(placed: AsPlaced, unweighed: int) -> Iterator[Check]:
    yield placed.dose_lb_per_yd3 is None, "pigment dose was not logged"
    yield (
        placed.dose_from == "recipe",
        "the pigment weighed into the loads was not logged; the recipe's dose stands in",
    )
    yield (
        placed.dose_from == "loads" and unweighed > 0,
        f"the pigment of {unweighed} of {placed.loads} loads was not logged",
    )
    yield not any(p.lots for p in placed.pigments), "pigment lot was not logged"
    yield not placed.mixes, "the plant's mix was not logged"
    unknown = any(mix.cementitious_lb_per_yd3 is None for mix in placed.mixes)
    several = len({mix.cementitious_lb_per_yd3 for mix in placed.mixes}) > 1
    yield bool(placed.mixes) and (unknown or several), "cement content was not logged"


def _bags(mix: BagMix) -> Iterator[Check]:
    yield mix.bags is None, "the number of bags was not logged"
    yield not mix.pigments, "the pigment in the bags was not logged"
    weighed = all(pigment.lb is not None for pigment in mix.pigments)
    yield bool(mix.pigments) and not weighed, "the pigment in the bags was not weighed"
    yield bool(mix.pigments) and not any(p.lots for p in mix.pigments), "pigment lot was not logged"
    yield bool(mix.pigments), "the cement in a bag is not known: no percent of it, and no check of the limit"
    yield mix.water_per_bag_gal is None, "the water in each bag was not logged"


def _finish(placed: AsPlaced, rinsed: bool) -> Iterator[Check]:
    yield placed.area.area_ft2 is None, "the area was not measured"
    yield placed.release is None, "the release was not logged"
    yield placed.release is not None and placed.release_lb is None, "release thrown was not logged"
    yield not rinsed, "the rinse was not logged"
    yield rinsed and placed.rinse_age_h is None, "rinse age was not logged"
    yield placed.release_left_percent is None, "release left was not judged"
    yield not placed.coats, "no sealer was logged"
    yield placed.base_reading is None, "no color was read"
