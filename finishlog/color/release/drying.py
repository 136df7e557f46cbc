"""The share of later lightening that drying a spot already shows on rinse day, and the dried look.

A slab is darker when wet (Lekner & Dorf, Appl. Opt. 27:1278, 1988; Levinson & Akbari, LBNL, 2001: until its
surface dries). The share is learned from spots read damp and dry within a day; assumed until there are any.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from finishlog.color.notation.space import Lab
from finishlog.color.priors import figures
from finishlog.color.release.rinse import pooled

ASSUMED, ASSUMED_SD = figures.DRYING.one, figures.DRYING.one_sd
LEAST_WAY = 3.0
"""Least ΔL* from damp to final for a pair to inform the share."""


@dataclass(frozen=True, slots=True)
class Drying:
    """The share, 0 to 1, its sd from slab to slab, and how many pairs taught it; 0: assumed."""

    share: float = ASSUMED
    sd: float = ASSUMED_SD
    pairs: int = 0


@dataclass(frozen=True, slots=True)
class WetDry:
    """L* of one spot damp, dried and final, each with its variance."""

    damp: float
    dry: float
    settled: float
    damp_variance: float
    dry_variance: float
    settled_variance: float


def learn(pairs: Iterable[WetDry]) -> Drying:
    """The share from these pairs, weighted by sd; the assumed one counts as two."""
    told = [_told(pair) for pair in pairs if pair.settled - pair.damp >= LEAST_WAY]
    if not told:
        return Drying()
    share, sd = pooled([value for value, _ in told], [own for _, own in told], ASSUMED, ASSUMED_SD)
    return Drying(min(max(share, 0.0), 1.0), sd, len(told))


def dried(damp: Lab, settled: Lab, drying: Drying) -> Lab:
    """Predicted L*a*b* of that spot's base when dry."""
    L, a, b = (now + drying.share * (then - now) for now, then in zip(damp, settled, strict=True))
    return L, a, b


def _told(pair: WetDry) -> tuple[float, float]:
    """The share of a pair, and its sd by the readings' own."""
    way = pair.settled - pair.damp
    share = (pair.dry - pair.damp) / way
    variance = pair.dry_variance + (1 - share) ** 2 * pair.damp_variance + share**2 * pair.settled_variance
    return share, float(variance**0.5) / way
