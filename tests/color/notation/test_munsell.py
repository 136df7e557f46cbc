"""Munsell both ways. Renotation: Newhall, Nickerson, Judd, JOSA 33(7):385-418, 1943."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finishlog.color.notation import munsell, space
from finishlog.color.notation.space import (
    delta_e_2000,
    lab_to_munsell,
    lab_to_xyz,
    munsell_to_lab,
    xyz_to_lab,
)
from finishlog.errors import InputError
from tests.color import make_munsell

# Outside pytest the library's own setting silences this one; pytest turns it on again.
pytestmark = pytest.mark.filterwarnings("ignore:.*MacAdam")

# ASTM D1535 quintic: (119140000 V - 22533000 V² + 23352000 V³ - 2048400 V⁴ + 81939 V⁵) / 1e8, in percent.
VALUE_TO_Y = [
    (1, 1.180),
    (2, 3.048),
    (3, 6.391),
    (4, 11.701),
    (5, 19.272),
    (6, 29.301),
    (7, 41.985),
    (8, 57.620),
    (9, 76.696),
]
# CIE 1976 L* of the above.
VALUE_TO_L = [
    (1, 10.41),
    (2, 20.24),
    (3, 30.38),
    (4, 40.74),
    (5, 51.00),
    (6, 61.05),
    (7, 70.86),
    (8, 80.53),
    (9, 90.18),
]
# Renotation table, illuminant C (computed with colour-science from the 1943 data, not a printed row).
NOTATION_TO_XYY = [
    ("5R 5/6", (0.4078, 0.3238, 0.19272)),
    ("10YR 6/4", (0.3861, 0.3767, 0.29301)),
    ("2.5YR 4/6", (0.4612, 0.3674, 0.11701)),
]
C_XY, D65_XY = (0.31006, 0.31616), (0.3127, 0.3290)
# Bradford cone responses: Lam 1985, as printed in ICC.1 (Annex E).
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])


def white(xy: tuple[float, float]) -> np.ndarray:
    return np.array([xy[0] / xy[1], 1, (1 - xy[0] - xy[1]) / xy[1]])


def adaptation(source: tuple[float, float], target: tuple[float, float]) -> np.ndarray:
    gain = np.diag((BRADFORD @ white(target)) / (BRADFORD @ white(source)))
    return np.asarray(np.linalg.inv(BRADFORD) @ gain @ BRADFORD)


@pytest.mark.parametrize(("value", "percent"), VALUE_TO_Y)
def test_value_to_y_astm_d1535(value, percent) -> None:
    lab = munsell_to_lab(f"N {value}/")
    assert 100 * lab_to_xyz(lab)[1] == pytest.approx(percent, abs=0.001)


@pytest.mark.parametrize(("value", "lightness"), VALUE_TO_L)
def test_value_to_lightness(value, lightness) -> None:
    neutral = munsell_to_lab(f"N{value}")
    assert neutral[0] == pytest.approx(lightness, abs=0.01)
    assert neutral[1:] == pytest.approx((0, 0), abs=0.01)


@pytest.mark.parametrize(("notation", "xyy"), NOTATION_TO_XYY)
def test_notation_to_xyy(notation, xyy) -> None:
    """Our L*a*b* carried back to illuminant C by a Bradford matrix written out here."""
    xyz = adaptation(D65_XY, C_XY) @ lab_to_xyz(munsell_to_lab(notation))
    assert (xyz[0] / xyz.sum(), xyz[1] / xyz.sum(), xyz[1]) == pytest.approx(xyy, abs=1e-4)


@given(st.floats(0.5, 9.8))
@settings(max_examples=50, deadline=None)
def test_neutral_round_trip(value) -> None:
    text = f"N {value:.1f}/"
    assert lab_to_munsell(munsell_to_lab(text)) == text


@given(
    st.sampled_from(["2.5YR", "5YR", "7.5YR", "10YR", "2.5Y", "10R", "5Y"]),
    st.integers(3, 8),
    st.sampled_from([2, 3, 4, 6]),
)
@settings(max_examples=25, deadline=None)
def test_slab_colors_round_trip(hue, value, chroma) -> None:
    lab = munsell_to_lab(f"{hue} {value}/{chroma}")
    back = lab_to_munsell(lab)
    assert back is not None
    assert float(delta_e_2000(lab, munsell_to_lab(back))) < 0.01


def test_measured_slab_colors_keep_within_what_a_tenth_can_hold() -> None:
    """Half a tenth of value is 0.5 L*, of chroma about 0.3 C*: below one ΔE00, which is not seen."""
    for lab in np.random.default_rng(12).uniform((30, 0, 3), (80, 15, 30), (25, 3)):
        notation = lab_to_munsell(lab)
        assert notation is not None
        assert float(delta_e_2000(lab, munsell_to_lab(notation))) < 1


@pytest.mark.parametrize("colors", [10, pytest.param(400, marks=pytest.mark.long)])
def test_the_table_says_what_the_library_says_to_a_tenth(colors: int) -> None:
    """Surface colors of any hue against colour-science's own inversion, nearly always in the same words."""
    rng = np.random.default_rng(21)
    labs = rng.uniform((30, -8, -8), (80, 20, 32), (colors, 3))
    same = 0
    for lab in labs:
        color = tuple(map(float, lab))
        ours = munsell.notation(space._xyz(color), space.WHITE)
        theirs = space._munsell_by_library(color)
        assert ours is not None, color
        assert theirs is not None
        same += ours == theirs
        (hue, *ours_rest), (library_hue, *rest) = _figures(ours), _figures(theirs)
        assert abs((hue - library_hue + 50) % 100 - 50) < 0.11, (color, ours, theirs)
        assert ours_rest == pytest.approx(rest, abs=0.11)
    print(f"\nMunsell by our table: {same} of {colors} written as by colour-science, the others a tenth off")
    assert same >= 0.95 * colors


def _figures(notation: str) -> tuple[float, float, float]:
    """Hue 0 to 100, value, chroma."""
    hue, rest = notation.split(" ")
    value, chroma = map(float, rest.split("/"))
    family = hue.lstrip("0123456789.")
    return float(hue[: -len(family)]) + 10 * munsell.FAMILIES.index(family), value, chroma


def test_the_table_is_what_its_maker_writes() -> None:
    """A few cells of finishlog/data/munsell.csv against tests/color/make_munsell.py, by colour-science."""
    for hue, value, chroma in ((3, 5, 6), (37, 6, 4), (55, 8, 2), (100, 3, 8), (199, 8, 2)):
        made = make_munsell.xy(hue, value, chroma)
        assert made is not None
        assert munsell._corner(value, 0.0, chroma // 2, hue) == pytest.approx(made, abs=1e-6)


def test_a_hue_on_the_border_is_written_as_ten() -> None:
    """10YR and 0Y are one hue; the book writes 10YR."""
    back = lab_to_munsell(munsell_to_lab("10YR 3/2"))
    assert back == "10.0YR 3.0/2.0"


def test_known_slab_color() -> None:
    assert munsell_to_lab("10YR 6/3")[0] == pytest.approx(61.07, abs=0.05)
    assert munsell_to_lab("10yr 6/3") == munsell_to_lab(" 10 YR  6/3 ")
    assert lab_to_munsell((62, 4, 16)) == "9.6YR 6.1/2.5"
    assert munsell_to_lab("5R 5/0") == munsell_to_lab("N 5")


@pytest.mark.parametrize("lab", [(0, 0, 0), (50, 100, 100)])
def test_no_conversion_is_none(lab) -> None:
    assert lab_to_munsell(lab) is None


@pytest.mark.parametrize(
    "notation",
    [
        "",
        "10YR",
        "10YR 6",
        "10YR 6/",
        "11YR 6/3",
        "0YR 6/3",
        "10YX 6/3",
        "10YR 0.8/1",
        "10YR 10/1",
        "10YR 6/60",
        "10YR 6/-3",
        "10YR 6/3x",
        "N 11/",
        "N 5/8",
        "N",
        "nan",
        "١٠YR 6/3",
        "1_0YR 6/3",
        "9" * 400 + "YR 6/3",
        "10YR 1/6\0",
        "10YR 1/40",
    ],
)
def test_refused_with_an_example(notation) -> None:
    with pytest.raises(InputError) as failure:
        munsell_to_lab(notation)
    assert failure.value.example in {"10YR 6/3", "N 5/"}


def test_xyz_round_trip() -> None:
    labs = np.random.default_rng(11).uniform((5, -40, -40), (95, 40, 40), (500, 3))
    assert np.abs(xyz_to_lab(lab_to_xyz(labs)) - labs).max() < 1e-9
