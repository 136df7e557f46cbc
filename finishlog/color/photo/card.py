"""A 24-patch card in a picture, accepted or rejected by how well its colors fit.

A candidate is accepted only if each patch's color is predicted by the others; the prediction error is the
photo's own uncertainty (`finishlog.color.photo.frame`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from finishlog.color.notation.space import Lab, card_labs, delta_e_2000
from finishlog.color.photo import patches, tone
from finishlog.color.photo.frame import CHIP_SD, Chip, Frame
from finishlog.errors import InputError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Mask = NDArray[np.bool_]
    Picture = NDArray[np.uint8]

LIMIT_DE00 = 8.0
"""Leave-one-out median at which a card is rejected, unless the shop sets another."""
BRIGHTEST = 250
"""A channel at or above it may be clipped, 0 to 255."""
MOST_CLIPPED = 4
DARKEST_WHITE = 40
"""If no patch is brighter, dark colors cannot be told apart, 0 to 255."""
DARK = 8
"""A patch with no channel above it is black to the camera, 0 to 255."""
STRANGE_DE00 = 22.0
"""A patch this far from the others' prediction is covered or shining, and ignored."""
MOST_STRANGE = 4
MOST_WHITED = 20
"""This many clipped patches mean overexposure, not a white object on the card."""
MUCH_CLIPPED = 0.25
"""Share of a picture at which its exposure is blamed if no card was found."""
NO_CARD_DE = 30.0
"""Median ΔE*ab after a 3×3 matrix beyond which the colors are not a card's."""
WEAK_CHROMA = 30.0
"""Patches of weaker color say more of concrete: range of chroma C*ab, as a standard deviation."""
CLEARLY = 0.95
"""Root terms are taken if they leave less than this part of the plain correction's leave-one-out error."""
CHIP_OFF_SD = 3.0
"""A chip that the card reads this many sd from what was told of it, on any axis, is left out."""
MISFIT = "These are not the colors of a 24-patch card: it is covered, shaded, or not there."
ADVICE = "Get the whole card in the picture, uncovered, in the same light as the slab."


@dataclass(frozen=True, slots=True)
class Card:
    """A card that was believed. `corners` (4, 2) in pixels, the dark brown patch's first, on clockwise.

    `loo_de00` is by patch, nan for the `clipped` ones. Those and the `strange` ones (covered, shining) are left out of
    the correction; `dark` ones stay in. `values` (24) of the patches, each 0 to 255; `roots`: with root terms.
    `chips_off`: chips left out, L*a*b* as the card reads them and as told.
    """

    corners: tuple[tuple[float, float], ...]
    frame: Frame
    loo_de00: tuple[float, ...]
    values: tuple[tuple[int, int, int], ...] = ()
    clipped: tuple[str, ...] = ()
    dark: tuple[str, ...] = ()
    strange: tuple[str, ...] = ()
    roots: bool = False
    chips_off: tuple[tuple[Lab, Lab], ...] = ()

    @property
    def loo_median_de00(self) -> float:
        """Median ΔE00 of each patch against the others' prediction."""
        return float(np.nanmedian(self.loo_de00))

    @property
    def loo_p90_de00(self) -> float:
        """Its ninth decile."""
        return float(np.nanquantile(self.loo_de00, 0.9))


@dataclass(frozen=True, slots=True)
class Given:
    """What is known before the card is judged: its camera, and `chips` of known color beside the card."""

    prior: tone.Prior | None = None
    chips: tuple[Chip, ...] = ()


@dataclass(frozen=True, slots=True)
class Fitted:
    """A correction of known colors, and by how much the others miss each of them, L*a*b* (n, 3)."""

    known: tone.Known
    correction: tone.Correction
    missed: Floats
    roots: bool

    @property
    def loo_de00(self) -> Floats:
        """ΔE00 of each, (n,)."""
        return delta_e_2000(self.known.lab + self.missed, self.known.lab)


@dataclass(frozen=True, slots=True)
class _Lie:
    """One possible orientation: corners in order, the patches' values (24, 3) 0 to 255, misfit."""

    corners: Floats
    values: Floats
    off: float


NOTHING = Given()


def between(picture: Picture, corners: object, limit: float = LIMIT_DE00, given: Given = NOTHING) -> Card:
    """The card between four hand-picked corners, in any order. Raises InputError with the reason if none.

    The corners may be the black frame's, the outer patches' or those patches' centers: the best fit wins.
    """
    height, width = picture.shape[:2]
    around = patches.ordered(corners, width, height)  # type: ignore[arg-type]
    lie = min(_lies(picture, around, patches.INSETS), key=lambda lie: lie.off)
    return _judged(lie, limit, given)


def anywhere(
    picture: Picture, found: Iterable[Floats], limit: float = LIMIT_DE00, given: Given = NOTHING
) -> Card:
    """The first fitting card among those `found`. Raises InputError with the reason if none."""
    best: InputError | None = None
    nearest = np.inf
    for corners in found:
        lie = min(_lies(picture, corners, (0.0,)), key=lambda lie: lie.off)
        try:
            return _judged(lie, limit, given)
        except InputError as wrong:
            if lie.off < nearest:
                best, nearest = wrong, lie.off
    raise best or _not_found(picture)


def _lies(picture: Picture, corners: Floats, insets: Iterable[float]) -> list[_Lie]:
    return [_lie(picture, turned, inset) for inset in insets for turned in patches.rotations(corners)]


def _lie(picture: Picture, corners: Floats, inset: float) -> _Lie:
    values = np.median(patches.sampled(picture, corners, inset), axis=1)
    light, known = tone.decoded(values / 255), _known()
    off = np.linalg.norm(tone.linear(light, known).lab(values / 255) - known, axis=1)
    return _Lie(corners, values, float(np.minimum(off, 60).mean()))


def _judged(lie: _Lie, limit: float, given: Given) -> Card:
    """The card, if its colors are a card's. Raises InputError with the reason."""
    names = [name for name, _ in card_labs()]
    clipped: Mask = np.any(lie.values >= BRIGHTEST, axis=1)
    if lie.off > NO_CARD_DE and clipped.sum() < MOST_WHITED:
        raise _refused(MISFIT, ADVICE)
    _refuse_light(lie.values, clipped, names)
    known = tone.of_patches(lie.values[~clipped] / 255, _known()[~clipped])
    fitted = best(known, given.prior)
    loo = np.full(len(names), np.nan)
    loo[~clipped] = fitted.loo_de00
    strange: Mask = loo > STRANGE_DE00
    _refuse_misfit(float(np.nanmedian(loo)), _named(names, strange), limit)
    chips, chips_off = _chips_apart(fitted, ~strange[~clipped], given.chips)
    if strange.any() or chips:
        fitted = _again(fitted, ~strange[~clipped], Given(given.prior, chips))
    return Card(
        corners=tuple((float(x), float(y)) for x, y in lie.corners),
        frame=Frame("card in the photo", fitted.correction, fitted.known.lab, fitted.missed, chips),
        loo_de00=tuple(float(value) for value in loo),
        values=tuple((round(r), round(g), round(b)) for r, g, b in lie.values),
        clipped=_named(names, clipped),
        dark=_named(names, np.all(lie.values <= DARK, axis=1)),
        strange=_named(names, strange),
        roots=fitted.roots,
        chips_off=chips_off,
    )


def best(known: tone.Known, prior: tone.Prior | None = None) -> Fitted:
    """The plain correction, or the one with root terms where leave-one-out finds it clearly better."""
    plain, rooted = (_fitted(known, prior, roots) for roots in (False, True))
    weight = np.exp(-0.5 * (np.hypot(*known.lab.T[1:]) / WEAK_CHROMA) ** 2)
    errors = [float(weight @ np.minimum(each.loo_de00, STRANGE_DE00)) for each in (plain, rooted)]
    return rooted if errors[1] < CLEARLY * errors[0] else plain


def _fitted(known: tone.Known, prior: tone.Prior | None, roots: bool) -> Fitted:
    whole = tone.fit(known, prior=prior, roots=roots)
    return Fitted(known, whole, tone.leave_one_out(known, whole, prior, roots=roots), roots)


def _chips_apart(
    fitted: Fitted, fits: Mask, chips: Sequence[Chip]
) -> tuple[tuple[Chip, ...], tuple[tuple[Lab, Lab], ...]]:
    """The chips that the card bears out, and of the others what the card reads and what was told, L*a*b*.

    A chip told wrong, or a box beside it, would make the reading wrong and look surer.
    """
    plain = Frame("card in the photo", fitted.correction, fitted.known.lab[fits], fitted.missed[fits])
    kept, off = [], []
    for chip in chips:
        read = fitted.correction.lab(np.asarray(chip.value))
        sd = np.sqrt(plain.sd_at(chip.lab) ** 2 + np.square(chip.sd) + CHIP_SD**2)
        if (np.abs(read - np.asarray(chip.lab)) > CHIP_OFF_SD * sd).any():
            L, a, b = map(float, read)
            off.append(((L, a, b), chip.lab))
        else:
            kept.append(chip)
    return tuple(kept), tuple(off)


def _again(first: Fitted, fits: Mask, given: Given) -> Fitted:
    """The same terms without what did not fit, with the chips; what the others missed each patch by stays."""
    patches = first.known[fits]
    chips = given.chips
    known = tone.Known(
        np.vstack([patches.values, *(chip.value for chip in chips)]),
        np.vstack([patches.lab, *(chip.lab for chip in chips)]),
        np.vstack([patches.sd, *(np.hypot(chip.sd, CHIP_SD) for chip in chips)]),
    )
    whole = tone.fit(known, first.correction, given.prior, roots=first.roots)
    return Fitted(patches, whole, first.missed[fits], first.roots)


def _refuse_light(values: Floats, clipped: Mask, names: list[str]) -> None:
    if clipped.sum() > MOST_CLIPPED:
        said = ", ".join(_named(names, clipped))
        raise _refused(
            "The picture is overexposed.", f"{clipped.sum()} patches of the card are clipped: {said}."
        )
    if values.max() < DARKEST_WHITE:
        raise _refused("The picture is too dark.", "Even the card's white patch is nearly black: more light.")


def _refuse_misfit(median: float, strange: tuple[str, ...], limit: float) -> None:
    if median > limit:
        cause = f"Its patches are {median:.1f} ΔE00 off (median); {limit:g} is the limit."
        raise _refused(MISFIT, f"{cause} {ADVICE}")
    if len(strange) > MOST_STRANGE:
        cause = f"{len(strange)} patches are far off: {', '.join(strange)}."
        raise _refused("The card is partly covered, shaded or shining.", f"{cause} {ADVICE}")


def _not_found(picture: Picture) -> InputError:
    clipped = float((picture[::4, ::4] >= BRIGHTEST).any(axis=-1).mean())
    light = f"{clipped:.0%} of it is overexposed. " if clipped > MUCH_CLIPPED else ""
    return InputError("No 24-patch card found in the picture.", light + ADVICE, where="--corners",
                      example=f"--corners {patches.EXAMPLE}")  # fmt: skip


def _known() -> Floats:
    return np.array([lab for _, lab in card_labs()])


def _named(names: list[str], which: Mask) -> tuple[str, ...]:
    return tuple(name for name, yes in zip(names, which, strict=True) if yes)


def _refused(title: str, cause: str) -> InputError:
    return InputError(title, cause, where="card")
