"""What is known of a photo before its card is judged: other cards of its camera, known concrete in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from finishlog.desk.blend import samples
from finishlog.errors import InputError
from finishlog.inputs import boxes as places
from finishlog.inputs import colors
from finishlog.inputs import photos as pictures
from finishlog.records.color import PHOTO_SD, Lab

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from finishlog.color.photo.card import Given
    from finishlog.color.photo.profile import Patches
    from finishlog.desk.services import Services


CAMERA_MOST = 80
"""Characters of a camera's name."""
_MAKE, _MODEL = 0x010F, 0x0110
"""Exif 2.32."""


@dataclass(frozen=True, slots=True)
class Told:
    """What was said of a photo: its camera, where the photo does not name it, and chips of known color in it."""

    camera: str = ""
    chips: tuple[places.Chip, ...] = ()


@dataclass(frozen=True, slots=True)
class Beside:
    """`cards` of the same camera's other photos, newest first, as kept; chips: place, L*a*b*, their sd."""

    camera: str | None = None
    cards: tuple[str, ...] = ()
    chips: tuple[tuple[places.Place, Lab, Lab], ...] = ()

    @property
    def patches(self) -> list[Patches]:
        """The cards as numbers."""
        from finishlog.color.photo import profile

        return [found for found in map(profile.read, self.cards) if found is not None]

    def given(self, picture: NDArray[np.uint8]) -> Given:
        """For judging the card in this picture."""
        from finishlog.color.photo import profile
        from finishlog.color.photo.card import Given
        from finishlog.color.photo.frame import chip_of

        height, width = picture.shape[:2]
        known = profile.pooled(self.patches)
        try:
            chips = tuple(
                chip_of(picture, place.within(width, height), lab, sd) for place, lab, sd in self.chips
            )
        except InputError as wrong:
            raise InputError(wrong.title, wrong.cause, where="--chip", example=places.CHIP_EXAMPLE) from None
        return Given(known.prior if known else None, chips)


NOTHING = Beside()


def known(services: Services, data: bytes, told: Told, but: str = "") -> Beside:
    """Looked up in the log, where there is one; `but` is the SHA-256 of the photo itself. Raises InputError."""
    from finishlog.color.photo.profile import MOST_PHOTOS

    camera = told.camera.strip()[:CAMERA_MOST] or camera_of(pictures.tags(data))
    cards: Sequence[str] = ()
    if camera and services.has_log():
        with services.log().reading() as log:
            cards = log.cards(camera, but, MOST_PHOTOS)
    return Beside(camera, tuple(cards), tuple(_chip(services, chip) for chip in told.chips))


def _chip(services: Services, chip: places.Chip) -> tuple[places.Place, Lab, Lab]:
    if chip.sample is not None:
        return (chip.place, *_of_sample(services, chip.sample))
    try:
        told = colors.read(chip.color)
    except InputError as wrong:
        raise InputError(wrong.title, wrong.cause, where="--chip", example=places.CHIP_EXAMPLE) from None
    return chip.place, told.lab, colors.UNCERTAINTY.get(told.instrument, PHOTO_SD)


def _of_sample(services: Services, number: int) -> tuple[Lab, Lab]:
    """What was last read of a sample, dry and bare, and its sd. Raises InputError."""
    found = samples.last_read(services, number)
    if found is None:
        title = f"No dry, bare reading of sample {number} in the log."
        raise InputError(
            title, "Read it first, or give its color.", where="--chip", example=places.CHIP_EXAMPLE
        )
    return found


def camera_of(tags: Mapping[int, object]) -> str | None:
    """Make and model on one line, of Exif tags; None where they do not say. The make once, if the model names it."""
    make, model = (_word(tags.get(tag)) for tag in (_MAKE, _MODEL))
    told = model if model.casefold().startswith(make.casefold()) else f"{make} {model}"
    return told.strip()[:CAMERA_MOST] or None


def _word(said: object) -> str:
    text = said.decode("utf-8", "replace") if isinstance(said, bytes) else said
    shown = (mark if mark.isprintable() else " " for mark in text) if isinstance(text, str) else ()
    return " ".join("".join(shown).split())
