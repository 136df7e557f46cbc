"""A blend's answer: doses by pigment, the ladder to pour, and pigments the samples cannot identify."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from finishlog.records.color import Lab
from finishlog.records.quantities.cautions import Caution


@dataclass(frozen=True, slots=True)
class Unknown:
    """Pigments the samples cannot identify, and why, in a sentence."""

    pigments: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class Rung:
    """One sample of the ladder: doses in percent of cementitious by pigment."""

    factor: float
    doses: Mapping[str, float]
    lab: Lab


@dataclass(frozen=True, slots=True)
class Found:
    """A blend by pigment, in percent of cementitious and in lb/yd³, and the color that it is thought to give."""

    doses: Mapping[str, float]
    lb_per_yd3: Mapping[str, float]
    lab: Lab
    lab_sd: Lab
    de00: float
    radius90_de00: float
    limit_percent: float  # of cementitious, for what is in it
    levels_off_percent: float


@dataclass(frozen=True, slots=True)
class BlendAnswer:
    """The blend; None where the samples do not tell one."""

    target: Lab
    verdict: str
    advice: str
    found: Found | None
    ladder: tuple[Rung, ...]
    ladder_read: int
    ladder_samples: tuple[str, ...]
    unknown: tuple[Unknown, ...]
    samples: int
    cement: str | None
    content_lb_per_yd3: Fraction
    content_assumed: bool
    cautions: tuple[Caution, ...]
    sources: tuple[str, ...]
