"""The light on a settled field and the release left in it, found together from its spots.

Relief darkens a spot as release does, but light acts on all three bands alike, and release does not: it turns the hue
as well. So each spot's logarithms are split into brightness (their mean) and tint (what is left, two numbers, which no
light changes). A spot with the part m of release has the tint of base and release mixed, and the brightness of that
mix, the field's own light over the base patch's, a plane across the frame, darker low spots, and the relief's scatter:

    brightness = mix(m) + bright + lean (m - f) + plane · (place - place of the patches) + N(0, rough²)
    tint       = tint of mix(m) + N(0, what the patches scatter)

The parts m follow any law on 0 to 1, found with the rest by EM: sharp edges give two peaks, soft ones a hill. Where
base and release color are of one tint the law and the brightness cannot be told apart, and what is believed beforehand
of the brightness decides; the sd says so. Mixture with a free law: Laird (1978), J. Am. Stat. Assoc. 73, 805.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.priors import figures

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

LEAST = 1e-4
TINT = np.array([[1.0, 1.0], [-1.0, 1.0], [0.0, -2.0]]) / np.sqrt([2.0, 6.0])
"""(3, 2): across the logarithms of the bands, at right angles to what light changes."""
PARTS = np.linspace(0, 1, 31)
GRAIN = 0.5
"""Each part stands for this many steps to both sides, as an sd: a law on few parts would stick to one of them."""
NEAR = np.array([0.25, 0.5, 0.25])
"""How the law is smoothed in each round, over one step to both sides (EMS: Silverman et al., 1990, J. R. Stat. Soc. B
52, 271): EM alone brings no part back that it gave up, and a field of one color would stick to one."""
ROUNDS, STILL = 60, 5e-4
SPREAD_FLOOR, ROUGH_FLOOR = 0.002, 0.01
"""Least scatter of the tint and of the brightness of a spot: half a step of 8 bits."""
SAME_LIGHT = figures.SAME_LIGHT.one_sd
"""sd of the field's light over that of a patch of its own relief, as logarithms: judgment."""
DARKER, DARKER_SD = figures.ROUGH_DARKER.one, figures.ROUGH_DARKER.one_sd
"""A rough field is darker than a smooth patch by this part of its scatter of light: judgment; a surface of slopes s
loses s²/2 to tilt, and its low spots see less sky."""
LOW_DARKER, LOW_DARKER_SD = figures.LOW_DARKER.one, figures.LOW_DARKER.one_sd
"""Spots full of release are darker than those without by this part of the field's scatter of light: judgment."""
FALL_SD = figures.FALL.one_sd
TURN_SD = 0.0002
"""How far the tint of field and patches may differ, as logarithms, where nothing shows it does: rounding to 8 bits."""
WITHIN, FLOOR_SD = 0.2, 0.002
"""What light and release do together within one spot, as a part of the scatter of light and of what spots differ by: a
field smeared so that they differ little differs little within. And what the grid of parts leaves. Both simulation."""
SMEARED = 0.2
"""What makes the tint of spots stray leans to one side by this part of its scatter, as a part of the tint between base
and release: a JPEG takes color over from what lies beside it. Judgment."""
BLIND = 0.5
"""What brightness alone is off by, as a part of one spot's scatter: no relief's light is quite normal. Simulation."""
LUMP, FEWEST = 5, 8
"""Spots across and down of a lump; spots near each other are alike, and count as fewer. Fewest

spots that tell a scatter."""


@dataclass(frozen=True, slots=True)
class Spots:
    """Spots of a box in rows and columns: log bands (rows, columns, 3) and places (rows, columns, 2), in field's sides;

    `rounding` is what whole numbers do to their mean, as a logarithm.
    """

    logs: Floats
    at: Floats
    rounding: float = 0.0

    @property
    def bright(self) -> Floats:
        """Mean of the logarithms, (spots,)."""
        mean: Floats = self.logs.reshape(-1, 3).mean(axis=1)
        return mean

    @property
    def tint(self) -> Floats:
        """What no light changes, (spots, 2)."""
        tint: Floats = self.logs.reshape(-1, 3) @ TINT
        return tint

    @property
    def places(self) -> Floats:
        """(spots, 2)."""
        return self.at.reshape(-1, 2)


@dataclass(frozen=True, slots=True)
class End:
    """Base or release color: linear bands (3,), its place (2,), scatter of tint (2, 2) and of light from spot to spot,

    and how surely the means of its light and of its tint are known, as logarithms.
    """

    bands: Floats
    at: Floats
    scatter: Floats
    rough: float
    light_sd: float
    tint_sd: float


@dataclass(frozen=True, slots=True)
class Beforehand:
    """What is believed of `bright, across, down`: means and sd, (3,); `lean` is taken as believed, with its sd.

    Where tint tells little, a lean found with the rest would take all of the release for shadow.
    """

    mean: Floats
    sd: Floats
    lean: float
    lean_sd: float


@dataclass(frozen=True, slots=True)
class Found:
    """Release left, 0 to 1, its sd, the field's light over the patch's, the plane (2,), both as logarithms."""

    left: float
    sd: float
    bright: float
    plane: Floats


@dataclass(frozen=True, slots=True)
class _Ask:
    """What is asked: `share` is how much of a spot counts, since neighbors are alike."""

    field: Spots
    base: End
    release: End
    believed: Beforehand
    share: float = 1 / LUMP


@dataclass(frozen=True, slots=True)
class _State:
    """`bright, across, down` (3,), the law of the parts before and after it was smoothed, the scatter of light.

    `stray` is what a spot's tint strays beyond what the patches scatter: a JPEG smears color over its blocks.
    """

    theta: Floats
    law: Floats
    smoothed: Floats
    rough: float
    stray: Floats = field(default_factory=lambda: np.zeros((2, 2)))

    @property
    def left(self) -> float:
        return float(self.law @ PARTS)


@dataclass(frozen=True, slots=True)
class _Seen:
    """Each spot's chances over `PARTS`, how far it is off at each, and the part of its light that is release's."""

    chances: Floats
    bright_off: Floats
    tint_off: Floats
    weight: Floats


def end_of(spots: Spots, bands: Floats) -> End:
    """A patch of one color, as its spots show it; `bands` the mean of its light."""
    design = np.column_stack([np.ones(len(spots.places)), spots.places])
    flat = spots.bright - design @ np.linalg.lstsq(design, spots.bright, rcond=None)[0]
    scatter = np.cov(spots.tint.T) if len(flat) > FEWEST else np.zeros((2, 2))
    shape = spots.logs.shape[:2]
    lumpy = max(lumpiness(values.reshape(shape)) for values in (flat, *spots.tint.T))
    freedom = max((shape[0] // LUMP) * (shape[1] // LUMP) - 1, 3)
    few = np.sqrt(freedom / (freedom - 2))  # Student's t: a scatter from few lumps is itself unsure
    alone = np.sqrt(min(1.0, lumpy / len(flat)))
    own = float(flat.std())
    tint_sd = float(np.hypot(np.sqrt(np.trace(scatter) / 2) * alone * few, spots.rounding))
    at = spots.places.mean(axis=0)
    return End(bands, at, scatter + SPREAD_FLOOR**2 * np.eye(2), own, float(own * alone), tint_sd)


def lumpiness(values: Floats) -> float:
    """Of (rows, columns): how many neighbors say what one would, from the variance of means over lumps."""
    rows, columns = (size // LUMP for size in values.shape)
    if min(rows, columns) < 2 or not values.std() > 0:
        return float(LUMP)
    lumps = values[: rows * LUMP, : columns * LUMP].reshape(rows, LUMP, columns, LUMP).mean(axis=(1, 3))
    return float(np.clip(lumps.var() * LUMP**2 / values.var(), 1, LUMP**2))


def found(field: Spots, base: End, release: End, plane: Floats) -> Found:
    """Release left on the field; `release` covered whole. `plane` (2,) is where the search for the plane begins."""
    patch = max(base.rough, release.rough, ROUGH_FLOOR)
    ask = _Ask(field, base, release, _believed(patch, base, plane))
    law = np.full(len(PARTS), 1 / len(PARTS))
    state = _fitted(ask, _State(ask.believed.mean, law, law, 1.5 * patch))
    ask = replace(ask, believed=_believed(state.rough, base, plane), share=1 / _lumpy(ask, state))
    state = _fitted(ask, state)
    return Found(state.left, _unsure(ask, state), float(state.theta[0]), state.theta[1:])


def _lumpy(ask: _Ask, state: _State) -> float:
    seen = _expected(ask, state)
    return lumpiness((seen.chances * seen.bright_off).sum(axis=1).reshape(ask.field.logs.shape[:2]))


def _believed(rough: float, base: End, plane: Floats) -> Beforehand:
    """A field of that scatter of light beside smooth patches: darker, and its low spots more so."""
    more = float(np.sqrt(rough**2 - min(base.rough, rough) ** 2))
    bright_sd = float(np.linalg.norm(np.array([SAME_LIGHT, DARKER_SD * more, base.light_sd])))
    return Beforehand(
        np.array([-DARKER * more, *plane]),
        np.array([bright_sd, FALL_SD, FALL_SD]),
        -LOW_DARKER * rough,
        LOW_DARKER_SD * rough,
    )


def _astray(ask: _Ask, state: _State) -> float:
    """How far the field's tint lies beside the line of mixes: what light of another color would do, seen at right

    angles to the line, so along it as well; and how surely the patches' own tint is known.
    """
    seen, left = _expected(ask, state), state.left
    side = (seen.chances * (seen.tint_off @ _across(seen))).sum(axis=1)
    alone = np.sqrt(lumpiness(side.reshape(ask.field.logs.shape[:2])) / len(side))
    ends = (1 - left) * ask.base.tint_sd, left * ask.release.tint_sd
    own = np.array([TURN_SD, side.mean(), side.std() * alone, ask.field.rounding, *ends])
    return float(np.linalg.norm(own))


def _unsure(ask: _Ask, state: _State) -> float:
    """sd of release left: what it would be with each belief one sd off and with the tint of the light astray; how

    light and release go together within a spot; and what brightness alone is worth.
    """
    sure = ask.believed
    brighter = replace(sure, mean=sure.mean + np.array([sure.sd[0], 0, 0]))
    leaning = replace(sure, lean=sure.lean + sure.lean_sd)
    turned = ask.field.logs + _astray(ask, state) * _along(ask.base, ask.release)
    moved = (
        replace(ask, believed=brighter),
        replace(ask, believed=leaning),
        replace(ask, field=replace(ask.field, logs=turned)),
    )
    mixed = state.left * (1 - state.left)
    between = float(state.law @ np.square(PARTS - state.left))
    within = WITHIN * state.rough * np.sqrt(mixed * between)
    light = float(np.hypot(ask.base.light_sd, ask.release.light_sd))
    off = [_fitted(other, state).left - state.left for other in moved]
    smeared = SMEARED * np.sqrt(np.trace(state.stray)) / max(_tint_apart(ask), 1e-6)
    return float(np.linalg.norm([*off, mixed * light, within, smeared, _blind(ask, state), FLOOR_SD]))


def _tint_apart(ask: _Ask) -> float:
    """By how much the tint of base and release differ, as logarithms."""
    apart = np.log(np.maximum(ask.release.bands, LEAST) / np.maximum(ask.base.bands, LEAST))
    return float(np.hypot(*(apart @ TINT)))


def _blind(ask: _Ask, state: _State) -> float:
    """sd of release left where brightness has to tell it, as far as one spot's brightness tells more than its tint."""
    apart = np.log(np.maximum(ask.release.bands, LEAST) / np.maximum(ask.base.bands, LEAST))
    by_tint = np.sqrt(np.trace(ask.base.scatter) / 2) / max(_tint_apart(ask), 1e-6)
    by_light = state.rough / max(abs(float(apart.mean())), 1e-6)
    return float(BLIND * min(by_light, 1.0) * (by_tint**2 / (by_tint**2 + by_light**2)) ** 2)


def _along(base: End, release: End) -> Floats:
    """A change of the logarithms of the bands, (3,), of length one along the tint from base to release."""
    line = np.log(np.maximum(release.bands, LEAST) / np.maximum(base.bands, LEAST)) @ TINT
    step: Floats = TINT @ line / max(float(np.hypot(*line)), 1e-9)
    return step


def _fitted(ask: _Ask, start: _State) -> _State:
    """EM from `start`, the law smoothed in each round."""
    state = start
    least = max(ROUGH_FLOOR, min(ask.base.rough, ask.release.rough))
    for _ in range(ROUNDS):
        seen = _expected(ask, state)
        law = seen.chances.mean(axis=0) + 1e-9
        law /= law.sum()
        smoothed = np.convolve(np.pad(law, 1, mode="edge"), NEAR, mode="valid")
        rough = float(np.sqrt((seen.chances * seen.bright_off**2).sum(axis=1).mean()))
        after = _State(_moved(ask, state, seen), law, smoothed, max(rough, least), _stray(ask, seen))
        step = float(np.abs(after.theta - state.theta).max()) + abs(after.left - state.left)
        state = after
        if step < STILL:
            break
    return state


def _stray(ask: _Ask, seen: _Seen) -> Floats:
    """(2, 2): how the tint of spots scatters about their mix beyond what the patches do; a turn of all is none."""
    mean = np.einsum("sm,smi->i", seen.chances, seen.tint_off) / len(seen.chances)
    off = np.einsum("sm,smi,smj->ij", seen.chances, seen.tint_off, seen.tint_off) / len(seen.chances)
    off = off - np.outer(mean, mean)
    dark = float((seen.chances @ PARTS).mean())
    values, turned = np.linalg.eigh(off - ask.base.scatter * (1 - dark) - ask.release.scatter * dark)
    more: Floats = turned * np.maximum(values, 0.0) @ turned.T
    return more


def _across(seen: _Seen) -> Floats:
    """Of length one, (2,): at right angles to the tints from base to release."""
    line = seen.tint_off[0, -1] - seen.tint_off[0, 0]
    return np.array([-line[1], line[0]]) / max(float(np.hypot(*line)), 1e-9)


def _expected(ask: _Ask, state: _State) -> _Seen:
    """Chances of each spot over the parts m, and how far it is off at each."""
    bright, plane = state.theta[0], state.theta[1:]
    b, a = (end.bands * np.exp(-end.at @ plane) for end in (ask.base, ask.release))
    mixes = np.maximum(b + PARTS[:, None] * (a - b), LEAST)
    logs = np.log(mixes)
    low = ask.believed.lean * (PARTS - state.left)
    lit = ask.field.bright - ask.field.places @ plane - bright
    bright_off = lit[:, None] - (logs.mean(axis=1) + low)[None]
    tint_off = ask.field.tint[:, None] - (logs @ TINT)[None]
    wide = np.square(state.rough) + np.square(GRAIN * np.gradient(logs.mean(axis=1)))
    scatter = ask.base.scatter + PARTS[:, None, None] * (ask.release.scatter - ask.base.scatter)
    scatter = scatter + state.stray
    step = GRAIN * np.gradient(logs @ TINT, axis=0)
    chi = (
        _tint_chi(tint_off, scatter + step[:, :, None] * step[:, None]) + bright_off**2 / wide + np.log(wide)
    )
    log = -0.5 * chi + np.log(state.smoothed)
    chances = np.exp(log - log.max(axis=1, keepdims=True))
    chances /= chances.sum(axis=1, keepdims=True)
    return _Seen(chances, bright_off, tint_off, PARTS * a.mean() / mixes.mean(axis=1))


def _tint_chi(off: Floats, scatter: Floats) -> Floats:
    """-2 log likelihood of tints (spots, parts, 2), scatter (parts, 2, 2)."""
    turned = np.linalg.inv(scatter)
    chi: Floats = (
        turned[:, 0, 0] * off[..., 0] ** 2
        + 2 * turned[:, 0, 1] * off[..., 0] * off[..., 1]
        + turned[:, 1, 1] * off[..., 1] ** 2
    )
    whole: Floats = chi + np.log(np.linalg.det(scatter))
    return whole


def _moved(ask: _Ask, state: _State, seen: _Seen) -> Floats:
    """bright, plane by least squares of the spots' brightness, each with what is believed of it."""
    dark = (seen.chances @ seen.weight)[:, None]
    away = ask.field.places - (1 - dark) * ask.base.at - dark * ask.release.at
    design = np.column_stack([np.ones(len(away)), away])
    off = (seen.chances * seen.bright_off).sum(axis=1) + design @ state.theta
    trust, prior = ask.share / state.rough**2, 1 / np.square(ask.believed.sd)
    normal = design.T @ design * trust + np.diag(prior)
    lit: Floats = np.linalg.solve(normal, design.T @ off * trust + prior * ask.believed.mean)
    return lit
