"""What each truck brings."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class LoadPlan:
    """What each truck brings, in order; `below_minimum` are loads (counted from 1) the plant may refuse."""

    loads_yd3: tuple[Fraction, ...]
    below_minimum: tuple[int, ...]
    badly_mixed: tuple[int, ...]
