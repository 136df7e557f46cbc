"""L*a*b*, XYZ, sRGB and CIEDE2000 against published values and against a second library."""

from __future__ import annotations

import csv
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from coloraide import Color
from hypothesis import given
from hypothesis import strategies as st

from finishlog.color.notation.space import (
    RGB_TO_XYZ,
    WHITE,
    XYZ_TO_RGB,
    delta_e_2000,
    difference,
    hex_to_lab,
    lab_to_hex,
    lab_to_srgb,
    lab_to_xyz,
    xyz_to_lab,
)
from finishlog.errors import InputError

# Largest S_L of CIEDE2000 (L* 0 or 100): 1 + 0.015 · 2500 / sqrt(2520), rounded up.
LARGEST_S_L = 1.7471

LABS = st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128))
BYTES = st.integers(0, 255)


def sharma_pairs() -> list[tuple[str, tuple[float, ...], tuple[float, ...], float]]:
    """Sharma, Wu, Dalal, Color Res. Appl. 30(1):21-30, 2005, Table 1 (the file says how it was read)."""
    lines = (Path(__file__).parents[1] / "data" / "ciede2000_sharma2005.csv").read_text("utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    return [
        (
            row["pair"],
            tuple(float(row[key]) for key in ("L1", "a1", "b1")),
            tuple(float(row[key]) for key in ("L2", "a2", "b2")),
            float(row["dE00"]),
        )
        for row in rows
    ]


def random_labs(count: int, seed: int) -> np.ndarray:
    return np.random.default_rng(seed).uniform((0, -128, -128), (100, 128, 128), (count, 3))


def test_sharma_table_is_whole() -> None:
    assert [pair for pair, *_ in sharma_pairs()] == [str(number) for number in range(1, 35)]


@pytest.mark.parametrize(("pair", "first", "second", "published"), sharma_pairs())
def test_ciede2000_sharma_2005_table_1(pair, first, second, published) -> None:
    assert float(delta_e_2000(first, second)) == pytest.approx(published, abs=1e-4)
    assert float(delta_e_2000(second, first)) == pytest.approx(published, abs=1e-4)
    assert difference(first, second).de00 == pytest.approx(published, abs=1e-4)


def test_ciede2000_agrees_with_coloraide_on_10_000_pairs() -> None:
    first, second = random_labs(10_000, 1), random_labs(10_000, 2)
    # half of the pairs near each other, where slabs are compared
    second[::2] = first[::2] + np.random.default_rng(3).normal(0, 2, (5_000, 3))
    other = np.array(
        [
            Color("lab-d65", list(one)).delta_e(Color("lab-d65", list(two)), method="2000")
            for one, two in zip(first, second, strict=True)
        ]
    )
    own = np.array([difference(one, two).de00 for one, two in zip(first, second, strict=True)])
    assert np.abs(delta_e_2000(first, second) - other).max() < 1e-9
    assert np.abs(own - other).max() < 1e-9


def test_arrays_agree_with_colour_science() -> None:
    """L*a*b*, XYZ and CIEDE2000 of many colors, neutrals and near blacks among them, in any shape."""
    import colour

    rng = np.random.default_rng(31)
    labs = rng.uniform((0, -100, -100), (100, 100, 100), (3000, 3))
    labs[:300, 1:] = 0
    labs[300:600, 0] = rng.uniform(0, 9, 300)
    others = np.roll(labs, 450, axis=0) + rng.normal(0, 3, labs.shape) * (rng.random((3000, 1)) < 0.5)
    theirs = colour.difference.delta_E_CIE2000(labs, others)
    assert np.abs(delta_e_2000(labs, others) - theirs).max() < 1e-9
    d65 = np.array([0.3127, 0.3290])
    assert np.abs(lab_to_xyz(labs) - colour.Lab_to_XYZ(labs, d65)).max() < 1e-12
    xyz = rng.uniform(0, 1.2, (3000, 3)) ** 4
    assert np.abs(xyz_to_lab(xyz) - colour.XYZ_to_Lab(xyz, d65)).max() < 1e-9
    folded = labs.reshape(10, 300, 3)
    assert delta_e_2000(folded, folded[:, :1]).shape == (10, 300)
    assert lab_to_xyz(folded).shape == xyz_to_lab(folded).shape == folded.shape


def test_ciede2000_black_against_white_is_100() -> None:
    """Check value: the formula at C* = 0 and mean L* 50 (S_L = 1)."""
    assert float(delta_e_2000((0, 0, 0), (100, 0, 0))) == pytest.approx(100, abs=1e-12)
    assert difference((0, 0, 0), (100, 0, 0)).de00 == pytest.approx(100, abs=1e-12)


def test_ciede2000_shapes() -> None:
    many = random_labs(5, 4)
    assert delta_e_2000(many[0], many[1]).shape == ()
    assert delta_e_2000(many, many).shape == (5,)
    assert delta_e_2000(many[0], many).shape == (5,)
    assert delta_e_2000(many, many[0])[0] == 0


@given(LABS, LABS)
def test_difference_properties(first, second) -> None:
    there, back = difference(first, second), difference(second, first)
    assert there.de00 == pytest.approx(back.de00, abs=1e-9)
    assert there.lightness == pytest.approx(-back.lightness, abs=1e-9)
    assert there.chroma == pytest.approx(-back.chroma, abs=1e-9)
    assert difference(first, first).de00 == 0
    assert there.de00 >= abs(first[0] - second[0]) / LARGEST_S_L - 1e-9


def test_lightness_window_is_an_exact_prefilter_of_the_array_form_too() -> None:
    first, second = random_labs(20_000, 5), random_labs(20_000, 6)
    assert (delta_e_2000(first, second) >= np.abs(first[:, 0] - second[:, 0]) / LARGEST_S_L).all()


def test_difference_refuses_what_is_no_color() -> None:
    with pytest.raises(ValueError, match="finite"):
        difference((50, math.nan, 0), (50, 0, 0))
    with pytest.raises(ValueError, match="finite"):
        lab_to_hex((math.inf, 0, 0))


def test_lab_and_xyz_agree_with_coloraide() -> None:
    """Same white in both: D65 as x 0.3127, y 0.3290, 2°."""
    labs = random_labs(2_000, 7)
    other = np.array([Color("lab-d65", list(lab)).convert("xyz-d65").coords() for lab in labs])
    assert np.abs(lab_to_xyz(labs) - other).max() < 1e-6
    assert np.abs(lab_to_xyz(labs[0]) - other[0]).max() < 1e-6
    possible = other[(other >= 0).all(axis=1)]
    back = np.array([Color("xyz-d65", list(xyz)).convert("lab-d65").coords() for xyz in possible])
    assert len(possible) > 500
    assert np.abs(xyz_to_lab(possible) - back).max() < 1e-6


def test_white_is_d65() -> None:
    """x 0.3127, y 0.3290 (CIE 015; IEC 61966-2-1): X = x/y, Z = (1 - x - y)/y."""
    assert lab_to_xyz((100, 0, 0)) == pytest.approx([0.3127 / 0.3290, 1, 0.3583 / 0.3290], abs=1e-9)


def test_srgb_agrees_with_coloraide() -> None:
    """Inside the gamut; 8-bit values may differ by one only where the exact value lies on a half."""
    rng = np.random.default_rng(8)
    for red, green, blue in rng.uniform(0.001, 0.999, (2_000, 3)):
        exact = Color("srgb", [red, green, blue])
        lab = exact.convert("lab-d65").coords()
        for own, other in zip(lab_to_srgb(lab), exact.coords(), strict=True):
            assert abs(own - 255 * other) <= 0.5 + 1e-6


def test_srgb_agrees_with_colour_science() -> None:
    """Against XYZ_to_sRGB with the exact matrix of the primaries (the library's default rounds it)."""
    import colour

    space = colour.RGB_COLOURSPACES["sRGB"]
    matrix = np.linalg.inv(colour.normalised_primary_matrix(space.primaries, space.whitepoint))
    labs = random_labs(3_000, 9)
    linear = lab_to_xyz(labs) @ matrix.T
    shown = (linear >= 0).all(axis=1) & (linear <= 1).all(axis=1)
    assert shown.sum() > 100
    encoded = 255 * np.asarray(colour.cctf_encoding(np.clip(linear, 0, 1), function="sRGB"))
    own = np.array([lab_to_srgb(lab) for lab in labs])
    assert np.abs(own - encoded).max() <= 0.5 + 1e-6


@given(BYTES, BYTES, BYTES)
def test_hex_round_trip(red, green, blue) -> None:
    text = f"#{red:02x}{green:02x}{blue:02x}"
    lab = hex_to_lab(text)
    assert lab_to_hex(lab) == text
    assert hex_to_lab(text.upper()) == lab


def test_hex_to_lab_agrees_with_coloraide() -> None:
    for red, green, blue in np.random.default_rng(10).integers(0, 256, (500, 3)):
        text = f"#{red:02x}{green:02x}{blue:02x}"
        assert hex_to_lab(text) == pytest.approx(Color(text).convert("lab-d65").coords(), abs=1e-6)


@pytest.mark.parametrize(
    ("lab", "text"), [((0, 0, 0), "#000000"), ((100, 0, 0), "#ffffff"), ((53.585, 0, 0), "#808080")]
)
def test_hex_landmarks(lab, text) -> None:
    """Black and white by definition; 128/255 in IEC 61966-2-1 is Y 0.21586, L* 53.585."""
    assert lab_to_hex(lab) == text


def test_out_of_gamut_is_clipped() -> None:
    assert all(0 <= part <= 255 for part in lab_to_srgb((60, 110, -80)))


@pytest.mark.parametrize(
    "text", ["", "#", "a9927a", "#a9927", "#a9927aa", "#g9927a", "#a9927a ", "#٣٣٣٣٣٣", "#\n"]
)
def test_hex_refuses(text) -> None:
    with pytest.raises(InputError) as failure:
        hex_to_lab(text)
    assert "#a9927a" in failure.value.line()


def test_screen_colors_names_and_words_need_neither_colour_nor_numpy() -> None:
    """A clean interpreter: what the first screens call must not pay for the libraries."""
    script = """
import sys
import finishlog.color.notation.space as space
import finishlog.color.notation.names as names
import finishlog.color.notation.words as words
heavy = {"colour", "numpy", "scipy"}
assert not heavy & set(sys.modules), sorted(heavy & set(sys.modules))
space.lab_to_hex((62, 4, 16)), names.read_color("#a9927a")
names.nearest_name((62, 4, 16)), words.compare((62, 4, 16), (60, 4, 16))
assert space.lab_to_munsell((62, 4, 16)) == "9.6YR 6.1/2.5"
assert not heavy & set(sys.modules), sorted(heavy & set(sys.modules))
space.munsell_to_lab("10YR 6/3")
assert heavy <= set(sys.modules)
print(sys.modules["colour"].get_domain_range_scale())
"""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout == "reference\n"
    assert done.stderr == ""


def test_to_the_screen_and_back_are_each_others_inverse() -> None:
    """And equal parts are white: IEC 61966-2-1."""
    there, back = np.array(RGB_TO_XYZ), np.array(XYZ_TO_RGB)
    assert there @ back == pytest.approx(np.eye(3), abs=1e-12)
    assert there.sum(axis=1) == pytest.approx(WHITE, abs=1e-4)
