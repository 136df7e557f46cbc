"""Student's t in plain Python: an order is advised without waiting for SciPy to load."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

_SMALLEST = 1e-300
_EXACT = 1e-15
_NEAR = 1e-5
"""A step of Halley's rule leaves about its cube as error."""


def above(freedom: int, t: float) -> float:
    """Chance that a Student-t with ν degrees of freedom exceeds t: ½·I(ν/2, ½) at ν/(ν + t²), DLMF 8.17.

    Accurate far out too.
    """
    square = t * t
    half = freedom / 2
    if square < 3:  # the fraction converges fast up to (a + 1)/(a + b + 2)
        tail = 0.5 - _beta(0.5, half, square / (freedom + square)) / 2
    else:
        tail = _beta(half, 0.5, freedom / (freedom + square)) / 2
    return tail if t > 0 else 1 - tail


def exceeded(freedom: int, chances: Iterable[float]) -> Iterator[float]:
    """What a Student-t exceeds with these chances, each ½ or less and less than the one before.

    Halley's rule, from where the last three lead.
    """
    scale = math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2) - math.log(freedom * math.pi) / 2
    a = b = c = 0.0
    for chance in chances:
        t, step = 3 * (a - b) + c, 1.0
        while abs(step) > _NEAR:
            density = math.exp(scale - (freedom + 1) / 2 * math.log1p(t * t / freedom))
            newton = (above(freedom, t) - chance) / density
            step = newton / (1 - newton * (freedom + 1) * t / (freedom + t * t) / 2)
            t += step
        a, b, c = t, a, b
        yield t


def _beta(a: float, b: float, x: float) -> float:
    """The regularized incomplete beta function I(a, b) at x, by its continued fraction (DLMF 8.17.22)."""
    if x <= 0:
        return 0.0
    log_front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    found, above_it, below_it = 1.0, 1.0, 0.0
    for part in _parts(a, b, x):  # Lentz's way
        below_it = 1 / (1 + part * below_it or _SMALLEST)
        above_it = 1 + part / above_it or _SMALLEST
        found *= above_it * below_it
        if abs(above_it * below_it - 1) < _EXACT:
            break
    return math.exp(log_front) / (a * found)


def _parts(a: float, b: float, x: float) -> Iterator[float]:
    """d₁, d₂, … of DLMF 8.17.23, their signs included."""
    yield -(a + b) * x / (a + 1)
    for m in range(1, 500):
        yield m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        yield -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
