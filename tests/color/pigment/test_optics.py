"""Kubelka-Munk and Saunderson against tabulated values, and the bands against the library."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finishlog.color.notation import bands
from finishlog.color.notation.space import lab_to_xyz
from finishlog.color.pigment import optics

# Kubelka & Munk 1931; Allen 1980 eqs. 19, 20; the values derived from them.
RATIOS = {0.1: 4.05, 0.2: 1.6, 0.25: 1.125, 0.3: 0.816667, 0.5: 0.25, 0.6: 0.133333, 0.8: 0.025}
# Saunderson 1942; Allen 1980 eqs. 24, 26 (formula from memory), k1 .04, k2 .6; the values derived.
SEEN = {0.1: 0.080851, 0.25: 0.152941, 0.5: 0.314286, 0.8: 0.630769}
INSIDE = st.floats(0.01, 0.99)
LABS = st.tuples(st.floats(8, 95), st.floats(-25, 30), st.floats(-25, 35))


@pytest.mark.parametrize(("reflectance", "ratio"), RATIOS.items())
def test_kubelka_munk_both_ways(reflectance: float, ratio: float) -> None:
    assert optics.absorption_to_scatter(reflectance) == pytest.approx(ratio, abs=1e-6)
    assert optics.reflectance(optics.absorption_to_scatter(reflectance)) == pytest.approx(reflectance)


def test_half_and_half_mixes_in_k_over_s_not_in_reflectance() -> None:
    # Single-constant form (from memory), derived: R .2 and .6 give K/S .8666667, R .2904546, never .4.
    ratio = optics.absorption_to_scatter([0.2, 0.6]).mean()
    assert ratio == pytest.approx(0.8666667)
    assert optics.reflectance(ratio) == pytest.approx(0.2904546)


@pytest.mark.parametrize(("inside", "seen"), SEEN.items())
def test_saunderson_both_ways(inside: float, seen: float) -> None:
    assert optics.with_surface(inside, 0.04, 0.6) == pytest.approx(seen, abs=1e-6)
    assert optics.without_surface(optics.with_surface(inside, 0.04, 0.6), 0.04, 0.6) == pytest.approx(inside)


@given(inside=INSIDE, k1=st.floats(0, 0.06), k2=st.floats(0, 0.7))
def test_slopes_are_the_differences(inside: float, k1: float, k2: float) -> None:
    ratio, step = float(optics.absorption_to_scatter(inside)) + 1e-3, 1e-6
    rise = (optics.reflectance(ratio + step) - optics.reflectance(ratio - step)) / (2 * step)
    assert optics.reflectance_slope(ratio) == pytest.approx(rise, rel=1e-3)
    rise = (optics.with_surface(inside + step, k1, k2) - optics.with_surface(inside - step, k1, k2)) / (
        2 * step
    )
    assert optics.surface_slope(inside, k1, k2) == pytest.approx(rise, rel=1e-4)


@settings(deadline=None)  # the library's first call takes its time
@given(lab=LABS)
def test_bands_go_both_ways_and_agree_with_the_library(lab: tuple[float, float, float]) -> None:
    from finishlog.color.notation.reference import RGB_TO_XYZ

    light = bands.bands_of(lab)
    assert bands.lab_of(light) == pytest.approx(lab, abs=1e-9)
    assert np.array(RGB_TO_XYZ) @ light == pytest.approx(lab_to_xyz(lab), abs=1e-6)


def test_the_slope_of_lab_by_bands_is_the_difference() -> None:
    light, step = np.random.default_rng(3).uniform(0.002, 1, (40, 3)), 1e-6
    for band in range(3):
        move = step * np.eye(3)[band]
        rise = (bands.lab_of(light + move) - bands.lab_of(light - move)) / (2 * step)
        assert bands.lab_slope(light)[..., band] == pytest.approx(rise, rel=1e-4, abs=1e-4)
