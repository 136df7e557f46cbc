"""Truth for the blend from measured colors: new gray concretes, red concrete, brown concrete tile, red clay.

`data/measured_colors.csv` holds the colors with their sources. The smoothest spectrum of each (Burns, Color Research
and Application 45:8, 2020, the hyperbolic tangent form) is mixed by Kubelka and Munk with two constants: pigments
scatter of their own. Neither the spectra nor that form nor the way in which more pigment tells less is the
estimator's. How much of a pigment makes such a color was not measured: drawn, wide.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from tests.color.pigment_truth import Floats, _eye, lab_of_spectrum

FILE = Path(__file__).parent / "data" / "measured_colors.csv"
FULL = ("red concrete", "brown tile", "red clay")
"""What a large dose in cement looks like: red concrete, brown concrete tile, and clay that iron oxides color."""
LARGE = (4.0, 8.0)
"""Percent at which a pigment looks like that: assumed, a manufacturer's large dose."""
SCATTER = (0.0, 0.06)
"""Scatter of one percent of a pigment beside the cement's: assumed, iron oxide in a thin wash covers."""


@cache
def colors(role: str) -> Floats:
    """The measured L*a*b* (n, 3) of that role."""
    with FILE.open() as file:
        rows = [row for row in csv.DictReader(file) if row["role"] == role]
    return np.array([[float(row[axis]) for axis in ("L", "a", "b")] for row in rows])


def smoothest(lab: Floats) -> Floats:
    """The reflectance (31,) between 0 and 1 of that color with the least slope of its artanh: Newton's steps."""
    seen, white = _eye()
    f = np.array(
        [(lab[0] + 16) / 116 + lab[1] / 500, (lab[0] + 16) / 116, (lab[0] + 16) / 116 - lab[2] / 200]
    )
    wanted = np.where(f > 6 / 29, f**3, (116 * f - 16) * 27 / 24389) * white
    bands = len(seen)
    bend = 2 * (np.diff(np.eye(bands), axis=0).T @ np.diff(np.eye(bands), axis=0))
    z, pull = np.zeros(bands), np.zeros(3)
    for _ in range(60):
        slope = (1 - np.tanh(z) ** 2) / 2
        off = seen.T @ ((np.tanh(z) + 1) / 2) - wanted
        steep = seen * slope[:, None]
        force = bend @ z + steep @ pull
        curve = bend + np.diag(-2 * np.tanh(z) * slope * (seen @ pull))
        whole = np.block([[curve, steep], [steep.T, np.zeros((3, 3))]])
        step = np.linalg.solve(whole, -np.concatenate([force, off]))
        z, pull = z + step[:bands], pull + step[bands:]
        if np.abs(step).max() < 1e-9:
            break
    return (np.tanh(z) + 1) / 2


@cache
def spectra(role: str) -> Floats:
    """The spectra (n, 31) of that role."""
    return np.array([smoothest(lab) for lab in colors(role)])


@dataclass(frozen=True)
class MeasuredTruth:
    """One cement with its pigments: K and S of each band, the cement's S being 1."""

    cement: Floats  # K/S, (31,)
    absorbing: Floats  # K per percent, (pigments, 31)
    scattering: Floats  # S per percent, (pigments,)
    told: Callable[[Floats], Floats]

    def lab(self, doses: Floats) -> Floats:
        """L*a*b* (n, 3) of doses (n, pigments) in percent."""
        doses = np.atleast_2d(doses)
        total = doses.sum(axis=1, keepdims=True)
        own = doses * self.told(total) / np.maximum(total, 1e-9)
        ratio = (self.cement + own @ self.absorbing) / (1 + own @ self.scattering)[:, None]
        return lab_of_spectrum(1 + ratio - np.sqrt(ratio**2 + 2 * ratio))


def draw(rng: np.random.Generator) -> MeasuredTruth:
    """A measured gray, and pigments of which a large dose makes of it a measured color; more tells less and less."""
    cement, *colored = (_ratio(rng, role) for role in ("cement", *FULL))
    large, scatter = rng.uniform(*LARGE, len(FULL)), rng.uniform(*SCATTER, len(FULL))
    most = rng.uniform(5.0, 9.0)

    def told(total: Floats) -> Floats:
        found: Floats = most * -np.expm1(-total / most)
        return found

    own = told(large)
    full = np.array(colored) * (1 + own * scatter)[:, None]
    absorbing = np.maximum(full - cement, 0.02 * full) / own[:, None]
    return MeasuredTruth(cement, absorbing, scatter, told)


def _ratio(rng: np.random.Generator, role: str) -> Floats:
    """K/S (31,) of a measured color of that role."""
    held = spectra(role)
    one = held[rng.integers(len(held))]
    return np.asarray((1 - one) ** 2 / (2 * one))
