"""A pigment mixing model fitted to samples; predicts the color of any dose.

Per band of light (linear sRGB, after inverse Saunderson) K/S = k0 + Σ kᵢ dᵢ sat(T)/T, with T = Σ dᵢ in
percent and sat(T) = T / (1 + (T/c)ᵖ)^(1/p): beyond about c more pigment changes little. A dozen samples cannot
decide the surface reflections (k1, k2), c and p, so each combination is fitted and all are averaged by
exp(-cost): one wrong choice costs 1.6 ΔE00 in simulation. Tried on mixtures of measured colors, never in the field.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.notation.bands import bands_of, lab_of, lab_slope
from finishlog.color.pigment import optics
from finishlog.color.priors import figures

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

SURFACES = tuple(zip(figures.SURFACES.value[::2], figures.SURFACES.value[1::2], strict=True))
"""Saunderson (k1, k2): from a bare matte surface to a glossy one."""
SATURATIONS = (0.64, 0.82, 1.0, 1.22, 1.45)
"""Values of c to try, as multiples of the shop's figure: 3.5 to 8 percent around 5.5."""
SHARPNESS = figures.SHARPNESS.value
"""How sharply color levels off around c: the power of `sat`, gradually or at once."""
SWEEPS = 25
LEAST = 1e-4
"""The least K/S of one percent in a band: a pigment that changes nothing there, on a log scale."""
MODEL_SD = figures.MIXING.sd
"""Error of the model, L*a*b*: the floor of every prediction's uncertainty."""
PRIOR_SD = figures.PIGMENT.one_sd
"""Prior sd of log K/S around its start; wide, so that it only affects bands without information."""


@dataclass(frozen=True, slots=True)
class Mixture:
    """Fitted members, one for each surface, saturation and sharpness, with their weights (sum 1).

    `log_k` is (members, 1 + pigments, 3 bands), the cement first; `spread` (members, …, …) the covariance of
    each member's log_k laid flat, None before it was asked for; `bias` (3,) is added to every answer in L*a*b*.
    """

    log_k: Floats
    k1: Floats
    k2: Floats
    c: Floats
    sharp: Floats
    weight: Floats
    spread: Floats
    bias: Floats

    @property
    def pigments(self) -> int:
        """Number of pigments."""
        return int(self.log_k.shape[1]) - 1

    @property
    def saturation(self) -> float:
        """c averaged over the members, percent."""
        return float(self.weight @ self.c)

    def shifted(self, bias: ArrayLike) -> Mixture:
        """The same with another local bias, L*a*b*."""
        return replace(self, bias=np.asarray(bias, float))


def effective(doses: ArrayLike, c: ArrayLike, sharp: ArrayLike = 4.0) -> Floats:
    """dᵢ sat(T)/T for doses (n, pigments) in percent, c and `sharp` (members,): (members, n, pigments)."""
    d = np.asarray(doses, float)
    total = d.sum(axis=-1)
    power = np.asarray(sharp, float).reshape(-1, 1)
    share = (1 + (total[None, :] / np.asarray(c, float)[:, None]) ** power) ** (-1 / power)
    return np.asarray(d[None] * share[..., None])


def fit(
    doses: ArrayLike, lab: ArrayLike, sd: ArrayLike, saturation: float = figures.SATURATION.one
) -> Mixture:
    """The mixture that these samples show.

    `doses` (n, pigments) in percent of cementitious, from 0; `lab` and its `sd` (n, 3), sd above 0; `saturation` is the
    shop's figure for c, percent. The samples must identify every pigment (`blend.unidentified`).
    """
    d, seen, sigma = (np.asarray(value, float) for value in (doses, lab, sd))
    k1, k2, c, sharp = _members(saturation)
    design = np.concatenate([np.ones((len(c), len(d), 1)), effective(d, c, sharp)], axis=2)
    start = _start(design, bands_of(seen), k1, k2)
    log_k, cost, spread = _solve(design, start, seen, sigma, k1, k2)
    weight = np.exp(cost.min() - cost)
    kept = weight > 1e-3 * weight.max()
    weight = weight[kept] / weight[kept].sum()
    return Mixture(log_k[kept], k1[kept], k2[kept], c[kept], sharp[kept], weight, spread[kept], np.zeros(3))


def predict(mixture: Mixture, doses: ArrayLike) -> Floats:
    """L*a*b* of doses (n, pigments) in percent: (n, 3)."""
    design = _design(mixture, doses)
    lab = lab_of(_bands(design, mixture.log_k, mixture.k1, mixture.k2)[0])
    return np.asarray(np.einsum("m,mni->ni", mixture.weight, lab) + mixture.bias)


def predict_with_slope(mixture: Mixture, doses: ArrayLike) -> tuple[Floats, Floats]:
    """L*a*b* of one set of doses (pigments,) and its slope per percent of each: (3,), (3, pigments)."""
    d = np.asarray(doses, float)
    step = 1e-4
    around = np.concatenate([d[None], d + step * np.eye(len(d)), np.maximum(d - step * np.eye(len(d)), 0)])
    lab = predict(mixture, around)
    up, down = np.split(np.arange(1, 2 * len(d) + 1), 2)
    width = around[up, np.arange(len(d))] - around[down, np.arange(len(d))]
    return lab[0], ((lab[up] - lab[down]) / width[:, None]).T


def predicted_sd(mixture: Mixture, doses: ArrayLike) -> Floats:
    """Sd of `predict`, (n, 3): the samples' uncertainty, disagreement of members and model error."""
    design = _design(mixture, doses)
    bands, slope = _bands(design, mixture.log_k, mixture.k1, mixture.k2)
    turn = np.einsum("mnib,mnpb->mnipb", lab_slope(bands), slope)
    flat = turn.reshape(*turn.shape[:3], -1)
    within = np.einsum("mnip,mpq,mniq->mni", flat, mixture.spread, flat)
    lab = lab_of(bands)
    mean = np.einsum("m,mni->ni", mixture.weight, lab)
    variance = np.einsum("m,mni->ni", mixture.weight, within + (lab - mean) ** 2)
    return np.asarray(np.sqrt(variance + np.square(MODEL_SD)))


def _members(saturation: float) -> tuple[Floats, Floats, Floats, Floats]:
    tried = product(SURFACES, SATURATIONS, SHARPNESS)
    k1, k2, c, sharp = np.array([(*surface, saturation * share, power) for surface, share, power in tried]).T
    return k1, k2, c, sharp


def _design(mixture: Mixture, doses: ArrayLike) -> Floats:
    d = np.atleast_2d(np.asarray(doses, float))
    return np.concatenate(
        [np.ones((len(mixture.c), len(d), 1)), effective(d, mixture.c, mixture.sharp)], axis=2
    )


def _bands(design: Floats, log_k: Floats, k1: Floats, k2: Floats) -> tuple[Floats, Floats]:
    """Measured bands (members, n, 3) and their slope by log k (members, n, 1 + pigments, 3)."""
    k = np.exp(log_k)
    ratio = np.einsum("mnp,mpb->mnb", design, k)
    inside = optics.reflectance(ratio)
    outer, inner = k1[:, None, None], k2[:, None, None]
    bands = optics.with_surface(inside, outer, inner)
    steep = optics.surface_slope(inside, outer, inner) * optics.reflectance_slope(ratio)
    return bands, steep[:, :, None, :] * design[..., None] * k[:, None]


def _start(design: Floats, bands: Floats, k1: Floats, k2: Floats) -> Floats:
    """log k by non-negative least squares on K/S, relative to its size."""
    from scipy.optimize import nnls

    inside = optics.without_surface(
        np.maximum(bands, k1[:, None, None] + 0.004), k1[:, None, None], k2[:, None, None]
    )
    ratio = optics.absorption_to_scatter(np.clip(inside, 0.004, 0.99))
    found = np.empty((len(k1), design.shape[2], 3))
    for member, rows in enumerate(design):
        for band in range(3):
            seen = ratio[member, :, band]
            found[member, :, band] = nnls(rows / seen[:, None], np.ones(len(seen)))[0]
    return np.log(np.maximum(found, 10 * LEAST))


def _solve(
    design: Floats, start: Floats, seen: Floats, sigma: Floats, k1: Floats, k2: Floats
) -> tuple[Floats, Floats, Floats]:
    """log k, cost and covariance of every member: Levenberg-Marquardt with soft_l1, all members at once."""
    members, size = len(k1), start.shape[1] * 3
    at, damp = start.reshape(members, size), np.full(members, 1e-2)
    prior = at.copy()

    def look(log_k: Floats) -> tuple[Floats, Floats, Floats]:
        bands, slope = _bands(design, log_k.reshape(start.shape), k1, k2)
        off = (lab_of(bands) - seen) / sigma
        turn = np.einsum("mnib,mnpb->mnipb", lab_slope(bands) / sigma[:, :, None], slope)
        soft = np.sqrt(1 + off**2)
        cost = 2 * (soft - 1).sum(axis=(1, 2)) / 2 + (((log_k - prior) / PRIOR_SD) ** 2).sum(axis=1) / 2
        flat = turn.reshape(members, -1, size)
        weighted = flat / soft.reshape(members, -1, 1)
        normal = np.einsum("mri,mrj->mij", weighted, flat) + np.eye(size) / PRIOR_SD**2
        pull = np.einsum("mri,mr->mi", weighted, off.reshape(members, -1)) + (log_k - prior) / PRIOR_SD**2
        return cost, normal, pull

    cost, normal, pull = look(at)
    for _ in range(SWEEPS):
        lifted = normal + damp[:, None, None] * np.eye(size) * np.diagonal(normal, axis1=1, axis2=2)[:, None]
        step = -np.linalg.solve(lifted, pull[..., None])[..., 0]
        there = np.clip(at + np.clip(step, -1.5, 1.5), np.log(LEAST), 4.0)
        new = look(there)
        better = new[0] < cost
        gained = np.max(np.where(better, cost - new[0], 0.0))
        at = np.where(better[:, None], there, at)
        cost = np.where(better, new[0], cost)
        normal = np.where(better[:, None, None], new[1], normal)
        pull = np.where(better[:, None], new[2], pull)
        damp = np.where(better, damp * 0.3, damp * 5)
        if gained < 1e-4 and better.any():
            break
    return at.reshape(start.shape), np.asarray(cost), np.asarray(np.linalg.inv(normal))
