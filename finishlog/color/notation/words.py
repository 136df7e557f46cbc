"""Two colors compared in words: "a touch warmer, same lightness".

Words first, numbers second: below one ΔE00 "alike", then "a touch" to 2, "plainly" to 4, "clearly" above.
Steps and words are ours, as no published tolerance for slabs exists.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from finishlog.color.notation.space import Difference, difference

ALIKE, TOUCH, PLAIN = 1.0, 2.0, 4.0
# Below this chroma a hue is not seen as one: gray to buff is "warmer", not "stronger".
NEAR_GRAY = 8.0
# Orange, the warm end, midway between a* red (about 25°) and yellow (90°); its opposite is the cool end.
WARM_POLE = 57.0


def how_much(de00: float) -> str:
    """The step's word for a ΔE00 from 0 up: alike, a touch, plainly, clearly."""
    if de00 < ALIKE:
        return "alike"
    if de00 < TOUCH:
        return "a touch"
    return "plainly" if de00 <= PLAIN else "clearly"


def nearness(de00: float) -> str:
    """How close a slab is to the requested color, in one word: below ALIKE, up to PLAIN, above it."""
    return "alike" if de00 < ALIKE else "close" if de00 <= PLAIN else "far"


def compare(old: Sequence[float], new: Sequence[float]) -> str:
    """How the new color looks beside the old one; L*a*b* (D65, 2°) each.

    The worst part comes first with the whole difference's word, so the sentence never understates
    CIEDE2000; further parts are named from 1 ΔE00, and unchanged lightness or color is mentioned.
    """
    whole = difference(old, new)
    if whole.de00 < ALIKE:
        return "alike"
    parts = _parts(old, new, whole)
    (_, worst), *others = parts
    said = [f"{how_much(whole.de00)} {worst}"]
    said += [f"{how_much(size)} {word}" for size, word in others if size >= ALIKE]
    return ", ".join(said + _unchanged(whole, parts))


def _parts(old: Sequence[float], new: Sequence[float], whole: Difference) -> list[tuple[float, str]]:
    """Size (ΔE00) and word of each part, worst first."""
    parts = [(abs(whole.lightness), _lightness_word(whole))]
    if min(math.hypot(old[1], old[2]), math.hypot(new[1], new[2])) < NEAR_GRAY:
        parts.append((math.hypot(whole.chroma, whole.hue), _tint_word(new[1] - old[1], new[2] - old[2])))
    else:
        parts.append((abs(whole.chroma), "stronger" if whole.chroma > 0 else "duller"))
        parts.append((abs(whole.hue), _hue_word(old, new)))
    return sorted(parts, key=lambda part: -part[0])


def _lightness_word(whole: Difference) -> str:
    return "lighter" if whole.lightness > 0 else "darker"


def _unchanged(whole: Difference, parts: list[tuple[float, str]]) -> list[str]:
    lightness = _lightness_word(whole)
    if abs(whole.lightness) < ALIKE and parts[0][1] != lightness:
        return ["same lightness"]
    if parts[0][1] == lightness and all(size < ALIKE for size, word in parts if word != lightness):
        return ["same color"]
    return []


def _from_pole(a: float, b: float) -> float:
    """Degrees from the warm pole, -180 to 180, positive towards yellow."""
    return (math.degrees(math.atan2(b, a)) - WARM_POLE + 180) % 360 - 180


def _hue_word(old: Sequence[float], new: Sequence[float]) -> str:
    before, after = _from_pole(old[1], old[2]), _from_pole(new[1], new[2])
    if before * after >= 0:
        return "warmer" if abs(after) < abs(before) else "cooler"
    if abs(before) + abs(after) < 180:
        return "yellower" if after > before else "redder"
    return "greener" if after > before else "more violet"


def _tint_word(a: float, b: float) -> str:
    """The word for a shift in a*b* where one of the two is nearly gray."""
    angle = _from_pole(a, b)
    if abs(angle) <= 60:
        return "warmer"
    if abs(angle) >= 120:
        return "cooler"
    return "greener" if angle > 0 else "more violet"
