"""Write finishlog/data/munsell.csv anew: python tests/color/make_munsell.py"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from pathlib import Path

import colour

from finishlog.color.notation.munsell import FAMILIES, HUES, RINGS

FILE = Path(__file__).parents[2] / "finishlog" / "data" / "munsell.csv"
HEAD = """\
# The Munsell renotation as chromaticity, illuminant C, 2 degree, times 1000000.
# Newhall, Nickerson, Judd, JOSA 33(7):385-418, 1943; hues between the printed ones and colors beyond them as
# colour-science 0.4.7 interpolates and extrapolates them. A row: value, chroma, then x and y of 200 hues from 0.5R
# in steps of 0.5; empty where the renotation does not reach.
"""


def xy(hue: int, value: int, chroma: int) -> tuple[float, float] | None:
    """x and y of one color, `hue` from 0 (0.5R) to 199 (10RP); None beyond the renotation."""
    step = (hue + 1) * 100 / HUES
    family = FAMILIES[int((step - 1e-9) // 10)]
    try:
        x, y, _ = colour.munsell_colour_to_xyY(
            f"{step - 10 * FAMILIES.index(family)}{family} {value}.0/{chroma}.0"
        )
    except (ValueError, AssertionError, RuntimeError, IndexError):
        return None
    return float(x), float(y)


def rows() -> Iterator[str]:
    for value in range(1, 10):
        for ring in range(1, RINGS + 1):
            found = (xy(hue, value, 2 * ring) for hue in range(HUES))
            cells = ("" if at is None else f"{at[0] * 1e6:.0f} {at[1] * 1e6:.0f}" for at in found)
            yield ",".join((str(value), str(2 * ring), *cells))


if __name__ == "__main__":
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        FILE.write_text(HEAD + "\n".join(rows()) + "\n", encoding="utf-8")
