"""A cold-weather pour: how much slower the slab hardens, and the precautions."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

F = Fraction
COLD_F = F(40)
"""Cold weather: the air has fallen to, or is expected to fall below, 40 °F (ACI 306R, as concrete.org defines it)."""
SOURCE = "ACI 306R: cold weather is air that falls below 40 °F while the slab must be protected"
SETS_H = ((F(20), F(25)), (F(30), F(19)), (COLD_F, F(14)))
"""Hours to final set by air temperature (from memory, the trade's table); at 20 °F it has none, so ours."""
AT_70_F_H = F(6)


def is_cold(air_f: Fraction | None) -> bool:
    """Whether a stated temperature is below the limit; an unstated one is not."""
    return air_f is not None and air_f < COLD_F


def slower(air_f: Fraction) -> Fraction | None:
    """Hardening time relative to 70 °F; None if it would not harden."""
    if air_f >= COLD_F:
        return F(1)
    if air_f <= SETS_H[0][0]:
        return None
    (low, most), (high, least) = next(pair for pair in pairwise(SETS_H) if air_f <= pair[1][0])
    return (most + (air_f - low) / (high - low) * (least - most)) / AT_70_F_H


def caution() -> str:
    """The usual care below 40 °F. Common practice, from memory, but for the limit; local codes win."""
    return (
        f"Below 40 °F ({SOURCE}): never on frozen or snowy ground; concrete at 50 °F or warmer (from memory); cover it "
        "before it freezes, nothing touching the color; no calcium chloride to hurry it, ask the plant for warm water "
        "or a non-chloride accelerator and for a sample with it; vent a heater outdoors, its fumes dust the "
        "surface and kill. Sawing, rinse and sealer wait. The plant and local codes win."
    )
