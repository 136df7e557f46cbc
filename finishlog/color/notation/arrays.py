"""L*a*b*, XYZ and CIEDE2000 on arrays in numpy; backs `space` without the library's one-second import.

Sources as there; tests compare with colour-science, coloraide and Sharma's table.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.notation.reference import EPSILON, KAPPA, WHITE

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

_WHITE = np.array(WHITE)
_FAR = 25.0**7


def lab_to_xyz(lab: ArrayLike) -> Floats:
    """(..., 3) to (..., 3)."""
    L, a, b = np.moveaxis(np.asarray(lab, float), -1, 0)
    middle = (L + 16) / 116
    ratio = np.stack([middle + a / 500, middle, middle - b / 200], axis=-1)
    return np.asarray(np.where(ratio**3 > EPSILON, ratio**3, (116 * ratio - 16) / KAPPA) * _WHITE)


def xyz_to_lab(xyz: ArrayLike) -> Floats:
    """(..., 3) to (..., 3)."""
    ratio = np.asarray(xyz, float) / _WHITE
    x, y, z = np.moveaxis(np.where(ratio > EPSILON, np.cbrt(ratio), (KAPPA * ratio + 16) / 116), -1, 0)
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def delta_e_2000(first: ArrayLike, second: ArrayLike) -> Floats:
    """(..., 3) and (..., 3), broadcast, to (...): Sharma, Wu, Dalal 2005, eqs. 2-22."""
    one, two = np.broadcast_arrays(np.asarray(first, float), np.asarray(second, float))
    mean = (np.hypot(one[..., 1], one[..., 2]) + np.hypot(two[..., 1], two[..., 2])) / 2
    stretch = 1 + 0.5 * (1 - _chroma_share(mean))
    (c1, h1), (c2, h2) = (_polar(lab, stretch) for lab in (one, two))
    light, chroma = (one[..., 0] + two[..., 0]) / 2, (c1 + c2) / 2
    hue = _mean_hue(c1, h1, c2, h2)
    s_l, s_c, s_h = _weights(light, chroma, hue)
    dl = (two[..., 0] - one[..., 0]) / s_l
    dc = (c2 - c1) / s_c
    dh = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(_turn(c1, h1, c2, h2)) / 2) / s_h
    square = dl**2 + dc**2 + dh**2 + _rotation(chroma, hue) * dc * dh
    return np.asarray(np.sqrt(np.maximum(square, 0.0)))


def _polar(lab: Floats, stretch: Floats) -> tuple[Floats, Floats]:
    """C' and h', degrees 0 up to 360."""
    a, b = lab[..., 1] * stretch, lab[..., 2]
    return np.hypot(a, b), np.degrees(np.arctan2(b, a)) % 360


def _chroma_share(chroma: Floats) -> Floats:
    seventh = chroma**7
    return np.asarray(np.sqrt(seventh / (seventh + _FAR)))


def _turn(c1: Floats, h1: Floats, c2: Floats, h2: Floats) -> Floats:
    """Hue angle from the first to the second, -180 to 180; 0 for a neutral."""
    turn = h2 - h1
    turn = np.where(turn > 180, turn - 360, np.where(turn < -180, turn + 360, turn))
    return np.where(c1 * c2 == 0, 0.0, turn)


def _mean_hue(c1: Floats, h1: Floats, c2: Floats, h2: Floats) -> Floats:
    whole = h1 + h2
    apart = np.where(whole < 360, whole + 360, whole - 360) / 2
    mean = np.where(np.abs(h1 - h2) <= 180, whole / 2, apart)
    return np.where(c1 * c2 == 0, whole, mean)


def _weights(light: Floats, chroma: Floats, hue: Floats) -> tuple[Floats, Floats, Floats]:
    """S_L, S_C, S_H."""
    off_gray, angle = (light - 50) ** 2, np.radians(hue)
    t = (
        1
        - 0.17 * np.cos(angle - np.radians(30))
        + 0.24 * np.cos(2 * angle)
        + 0.32 * np.cos(3 * angle + np.radians(6))
        - 0.20 * np.cos(4 * angle - np.radians(63))
    )
    return 1 + 0.015 * off_gray / np.sqrt(20 + off_gray), 1 + 0.045 * chroma, 1 + 0.015 * chroma * t


def _rotation(chroma: Floats, hue: Floats) -> Floats:
    """R_T."""
    angle = np.radians(60 * np.exp(-(((hue - 275) / 25) ** 2)))
    return np.asarray(-2 * _chroma_share(chroma) * np.sin(angle))


def nine_in_ten(apart: Floats) -> Floats:
    """The .9 quantile along the last axis (two numbers or more), linear between neighbors.

    As numpy's own, which loads its masked arrays for it: 15 ms of each answer.
    """
    place = 0.9 * (apart.shape[-1] - 1)
    low = int(place)
    ordered = np.partition(apart, (low, low + 1), axis=-1)
    below, above = ordered[..., low], ordered[..., low + 1]
    return np.asarray(above - (above - below) * (low + 1 - place))
