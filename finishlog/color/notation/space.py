"""Colors as numbers: L*a*b*, XYZ, sRGB, Munsell, CIEDE2000.

L*a*b* and XYZ mean CIE 1931 2° observer, illuminant D65 (x 0.3127, y 0.3290), XYZ with Y = 1 for white. The
only module that calls colour-science, and only inside functions: its import takes most of a second. So the
screens' needs (sRGB, gamut, one CIEDE2000) are in plain Python here and the bulk arithmetic in numpy in
`arrays`; the library only supplies the card's values and reads Munsell notations. Tests compare everything
with it, with published values and with another library.
"""

from __future__ import annotations

import math
import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from finishlog.color.notation.reference import D65, EPSILON, KAPPA, RGB_TO_XYZ, WHITE, XYZ_TO_RGB
from finishlog.errors import InputError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

Lab = tuple[float, float, float]


def _colour() -> Any:
    """colour-science, imported at the first need; its process-wide domain scale is never changed."""
    os.environ["COLOUR_SCIENCE__FILTER_USAGE_WARNINGS"] = "1"
    import colour

    return colour


# --- arrays -------------------------------------------------------------------------------------------


def lab_to_xyz(lab: ArrayLike) -> NDArray[np.float64]:
    """XYZ (Y = 1 for white) of L*a*b*; shape (3,) or (n, 3), any finite values.

    Source: CIE 015 (CIE 1976 L*a*b*).
    """
    from finishlog.color.notation import arrays

    return arrays.lab_to_xyz(lab)


def xyz_to_lab(xyz: ArrayLike) -> NDArray[np.float64]:
    """L*a*b* of XYZ (Y = 1 for white); shape (3,) or (n, 3), values from 0 up.

    Source: CIE 015 (CIE 1976 L*a*b*).
    """
    from finishlog.color.notation import arrays

    return arrays.xyz_to_lab(xyz)


def delta_e_2000(lab1: ArrayLike, lab2: ArrayLike) -> NDArray[np.float64]:
    """CIEDE2000 (kL = kC = kH = 1); shapes (3,) or (n, 3), broadcast; answers () or (n,), from 0 up.

    Never compares below |ΔL*| / 1.7471, so a window on L* is an exact prefilter and a box on a*, b* is not.
    Source: Sharma, Wu, Dalal, Color Res. Appl. 30(1):21-30, 2005.
    """
    from finishlog.color.notation import arrays

    return arrays.delta_e_2000(lab1, lab2)


@lru_cache(maxsize=1)
def card_labs() -> tuple[tuple[str, Lab], ...]:
    """Name and L*a*b* of the 24 patches of a color rendition card, row by row from the dark brown one.

    Source: the maker's values for cards made after November 2014, illuminant ICC D50, by colour-science; D50 to
    D65 by Bradford.
    """
    colour = _colour()
    card = colour.CCS_COLOURCHECKERS["ColorChecker24 - After November 2014"]
    xyz = colour.xyY_to_XYZ(list(card.data.values()))
    seen = _adapt(colour, xyz, colour.xy_to_XYZ(card.illuminant), colour.xy_to_XYZ(D65))
    names = (name.split(" (")[0] for name in card.data)
    return tuple((name, _triple(lab)) for name, lab in zip(names, xyz_to_lab(seen).tolist(), strict=True))


# --- one difference, taken apart ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Difference:
    """CIEDE2000 from an old color to a new one and its weighted parts, all in ΔE00 units.

    Parts are signed: lightness > 0 lighter, chroma > 0 stronger, hue > 0 turned from red towards yellow
    (counterclockwise in a*b*). `de00` also holds the formula's blue-region rotation term.
    """

    lightness: float
    chroma: float
    hue: float
    de00: float


def difference(old: Sequence[float], new: Sequence[float]) -> Difference:
    """CIEDE2000 of two single colors, in plain Python; three finite numbers each, any values.

    Source: Sharma, Wu, Dalal, Color Res. Appl. 30(1):21-30, 2005, eqs. 2-22.
    """
    l1, c1, h1, l2, c2, h2 = _primed(_triple(old), _triple(new))
    turn = _turn(c1, h1, c2, h2)
    mean_c = (c1 + c2) / 2
    mean_h = _mean_hue(c1, h1, c2, h2)
    s_l, s_c, s_h = _weights((l1 + l2) / 2, mean_c, mean_h)
    lightness = (l2 - l1) / s_l
    chroma = (c2 - c1) / s_c
    hue = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(turn) / 2) / s_h
    square = lightness**2 + chroma**2 + hue**2 + _rotation(mean_c, mean_h) * chroma * hue
    return Difference(lightness, chroma, hue, math.sqrt(max(0.0, square)))


def _primed(old: Lab, new: Lab) -> tuple[float, float, float, float, float, float]:
    """L', C', h' (degrees, 0 up to 360) of both, a* stretched for grays (eqs. 2-7)."""
    mean = (math.hypot(old[1], old[2]) + math.hypot(new[1], new[2])) / 2
    stretch = 1 + 0.5 * (1 - _chroma_share(mean))

    def polar(lab: Lab) -> tuple[float, float]:
        a, b = lab[1] * stretch, lab[2]
        return math.hypot(a, b), math.degrees(math.atan2(b, a)) % 360

    return (old[0], *polar(old), new[0], *polar(new))


def _chroma_share(chroma: float) -> float:
    return math.sqrt(chroma**7 / (chroma**7 + 25.0**7))


def _turn(c1: float, h1: float, c2: float, h2: float) -> float:
    """Hue angle from the first to the second, degrees, -180 to 180; 0 for a neutral (eq. 10)."""
    if c1 * c2 == 0:
        return 0.0
    turn = h2 - h1
    if turn > 180:
        return turn - 360
    return turn + 360 if turn < -180 else turn


def _mean_hue(c1: float, h1: float, c2: float, h2: float) -> float:
    if c1 * c2 == 0:
        return h1 + h2
    if abs(h1 - h2) <= 180:
        return (h1 + h2) / 2
    return (h1 + h2 + 360) / 2 if h1 + h2 < 360 else (h1 + h2 - 360) / 2


def _weights(lightness: float, chroma: float, hue: float) -> tuple[float, float, float]:
    """S_L, S_C, S_H (eqs. 15, 18-20)."""
    off_gray = (lightness - 50) ** 2
    t = (
        1
        - 0.17 * math.cos(math.radians(hue - 30))
        + 0.24 * math.cos(math.radians(2 * hue))
        + 0.32 * math.cos(math.radians(3 * hue + 6))
        - 0.20 * math.cos(math.radians(4 * hue - 63))
    )
    return 1 + 0.015 * off_gray / math.sqrt(20 + off_gray), 1 + 0.045 * chroma, 1 + 0.015 * chroma * t


def _rotation(chroma: float, hue: float) -> float:
    """R_T (eqs. 16, 17, 21)."""
    angle = 30 * math.exp(-(((hue - 275) / 25) ** 2))
    return -2 * _chroma_share(chroma) * math.sin(math.radians(2 * angle))


def as_lab(values: Sequence[float] | NDArray[np.float64]) -> Lab:
    """Three numbers of any kind as one color."""
    L, a, b = (float(value) for value in values)
    return L, a, b


def _triple(lab: Sequence[float]) -> Lab:
    lightness, a, b = (float(part) for part in lab)
    if not (math.isfinite(lightness) and math.isfinite(a) and math.isfinite(b)):
        raise ValueError("a color needs three finite numbers")
    return lightness, a, b


# --- the screen ---------------------------------------------------------------------------------------


def lab_to_srgb(lab: Sequence[float]) -> tuple[int, int, int]:
    """The 8-bit sRGB nearest per channel, 0 to 255; outside the gamut each channel is clipped.

    One color: L* 0 to 100, a*, b* finite. Source: CIE 015; IEC 61966-2-1 (both white D65: no adaptation).
    """
    red, green, blue = (_to_byte(value) for value in _linear_rgb(_triple(lab)))
    return red, green, blue


def lab_to_hex(lab: Sequence[float]) -> str:
    """`#rrggbb` of one L*a*b* color, kept for the next call; domain and source as `lab_to_srgb`."""
    return _hex(_triple(lab))


def hex_to_lab(text: str) -> Lab:
    """L*a*b* of `#rrggbb` (either case, the # required). InputError for anything else.

    Source: IEC 61966-2-1; CIE 015.
    """
    found = re.fullmatch(r"#([0-9a-fA-F]{6})", text)
    if not found:
        raise _wrong("A screen color is # and six of 0-9, a-f.", "#a9927a")
    red, green, blue = (_from_byte(byte) for byte in bytes.fromhex(found[1]))
    x, y, z = (
        _curve((row[0] * red + row[1] * green + row[2] * blue) / white)
        for row, white in zip(RGB_TO_XYZ, WHITE, strict=True)
    )
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


@lru_cache(maxsize=8192)
def _hex(lab: Lab) -> str:
    return "#{:02x}{:02x}{:02x}".format(*lab_to_srgb(lab))


def _xyz(lab: Lab) -> tuple[float, float, float]:
    middle = (lab[0] + 16) / 116
    x, y, z = (
        _uncurve(value) * white
        for value, white in zip((middle + lab[1] / 500, middle, middle - lab[2] / 200), WHITE, strict=True)
    )
    return x, y, z


def _linear_rgb(lab: Lab) -> tuple[float, float, float]:
    x, y, z = _xyz(lab)
    red, green, blue = (row[0] * x + row[1] * y + row[2] * z for row in XYZ_TO_RGB)
    return red, green, blue


def _curve(ratio: float) -> float:
    return float(ratio ** (1 / 3)) if ratio > EPSILON else (KAPPA * ratio + 16) / 116


def _uncurve(value: float) -> float:
    return value**3 if value**3 > EPSILON else (116 * value - 16) / KAPPA


def _to_byte(linear: float) -> int:
    value = min(1.0, max(0.0, linear))
    return round(255 * (12.92 * value if value <= 0.0031308 else 1.055 * value ** (1 / 2.4) - 0.055))


def _from_byte(byte: int) -> float:
    value = byte / 255
    return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)


# --- Munsell ------------------------------------------------------------------------------------------

HUE = r"(?P<step>\d+(?:\.\d+)?)\s*(?P<family>BG|GY|YR|PB|RP|R|Y|G|B|P)"
_CHROMATIC = re.compile(rf"{HUE}\s+(?P<value>\d+(?:\.\d+)?)/(?P<chroma>\d+(?:\.\d+)?)", re.ASCII)
_NEUTRAL = re.compile(r"N\s*(?P<value>\d+(?:\.\d+)?)(?:/0?)?", re.ASCII)
_FAMILIES = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
LONGEST = 40


def munsell_to_lab(notation: str) -> Lab:
    """L*a*b* of a Munsell notation: `10YR 6/3`, `N 5/`, `N5`; either case.

    Domain: hue step above 0 to 10; value 1 up to 10 (neutrals 0 to 10); chroma to 50 where the renotation
    reaches. InputError outside it, or where the notation is malformed.
    Source: Newhall, Nickerson, Judd, JOSA 33(7):385-418, 1943 (renotation) and ASTM D1535 (value), by
    colour-science; illuminant C to D65 by Bradford.
    """
    colour, illuminants = _illuminants()
    import numpy as np

    try:
        with np.errstate(all="ignore"):
            xyy = colour.munsell_colour_to_xyY(_renotation(notation))
            xyz = colour.xyY_to_XYZ(xyy)
            lab = xyz_to_lab(_adapt(colour, xyz, illuminants["C"], illuminants["D65"]))
    except (ValueError, AssertionError, RuntimeError, IndexError) as error:
        raise _wrong("No such color in the Munsell renotation.", "10YR 6/3") from error
    return _triple(lab.tolist())


def lab_to_munsell(lab: Sequence[float]) -> str | None:
    """Munsell notation of one color to a tenth, like `9.6YR 6.1/2.5` or `N 4.9/`.

    None where the renotation has no conversion (near black, far outside real surface colors): the caller
    then shows the name and L*a*b* alone. Surface colors come from a table, in about a millisecond; what lies
    beyond it loads colour-science. Answers are kept. Source as `munsell_to_lab`, inverted.
    """
    return _munsell(_triple(lab))


@lru_cache(maxsize=4096)
def _munsell(lab: Lab) -> str | None:
    from finishlog.color.notation import munsell

    return munsell.notation(_xyz(lab), WHITE) or _munsell_by_library(lab)


def _munsell_by_library(lab: Lab) -> str | None:
    colour, illuminants = _illuminants()
    import numpy as np

    try:
        with np.errstate(all="ignore"):
            xyz = _adapt(colour, lab_to_xyz(lab), illuminants["D65"], illuminants["C"])
            notation = str(colour.xyY_to_munsell_colour(colour.XYZ_to_xyY(xyz)))
    except (ValueError, AssertionError, RuntimeError, IndexError):
        return None
    return _as_written(notation)


def _as_written(notation: str) -> str:
    """The library's `N4.9` and `0.0Y 6/3` as the book writes them: `N 4.9/`, `10.0YR 6/3`."""
    if notation.startswith("N"):
        return f"N {notation[1:]}/"
    if found := re.match(r"0\.0([A-Z]+)", notation):
        return f"10.0{_FAMILIES[_FAMILIES.index(found[1]) - 1]}{notation[found.end() :]}"
    return notation


def _illuminants() -> tuple[Any, dict[str, Any]]:
    colour = _colour()
    found = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    return colour, {name: colour.xy_to_XYZ(found[name]) for name in ("C", "D65")}


def _adapt(colour: Any, xyz: Any, source: Any, target: Any) -> Any:
    return colour.chromatic_adaptation(xyz, source, target, transform="Bradford")


def _renotation(notation: str) -> str:
    """The notation as the library spells it; InputError outside the domain we promise."""
    text = notation.strip().upper()
    if len(text) > LONGEST:
        raise _wrong("A Munsell color is hue, value and chroma.", "10YR 6/3")
    if found := _NEUTRAL.fullmatch(text):
        if float(found["value"]) > 10:
            raise _wrong("A Munsell value is 0 to 10.", "N 5/")
        return f"N{found['value']}"
    found = _CHROMATIC.fullmatch(text)
    if not found:
        raise _wrong("A Munsell color is hue, value and chroma.", "10YR 6/3")
    if not 0 < float(found["step"]) <= 10:
        raise _wrong("A Munsell hue step is above 0 and at most 10.", "10YR 6/3")
    if not 1 <= float(found["value"]) < 10:
        raise _wrong("A Munsell value with chroma is 1 to under 10.", "10YR 6/3")
    if float(found["chroma"]) == 0:
        return f"N{found['value']}"
    return f"{found['step']}{found['family']} {found['value']}/{found['chroma']}"


def _wrong(cause: str, example: str) -> InputError:
    return InputError("This color cannot be read.", cause, example=example)
