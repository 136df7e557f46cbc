"""What a photo tells, as frozen values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from finishlog.desk.photo.photos import PhotoLine
from finishlog.records.log import Entry

if TYPE_CHECKING:
    from finishlog.color.photo.card import Card
    from finishlog.color.photo.frame import Box
    from finishlog.color.release.surface import SurfaceLeft

Lab = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class SpotRead:
    """A box of the photo as a color. `own_sd` is the part of `lab_sd` that stays in a difference within the photo.

    `shows` is what was said of it, `spot` what it is a reading of; `clipped` the part cut off by the camera, 0 to 1.
    """

    shows: str
    spot: str
    box: Box
    lab: Lab
    lab_sd: Lab
    own_sd: Lab
    munsell: str | None
    name: str
    hex: str
    clipped: float


@dataclass(frozen=True, slots=True)
class Apart:
    """From one box of the photo to another, L*a*b*: within one frame far surer than each alone."""

    old: str
    new: str
    lab: Lab
    lab_sd: Lab
    de00: float


@dataclass(frozen=True, slots=True)
class Measured:
    """What a photo tells. `method` is how its light was known; `card` None: by a gray card.

    `left` is release left on a settled, dry surface, where the boxes show the field and both patches. `camera_photos`
    of the same `camera` helped to read this one.
    """

    width: int
    height: int
    source: str
    method: str
    card: Card | None
    spots: tuple[SpotRead, ...]
    apart: tuple[Apart, ...]
    left: SurfaceLeft | None
    notes: tuple[str, ...]
    camera: str | None = None
    camera_photos: int = 0


@dataclass(frozen=True, slots=True)
class Read:
    """A photo of a job that was read: its entry, and one entry for each box."""

    job: str
    photo: PhotoLine
    measured: Measured
    entries: tuple[Entry, ...]
    warnings: tuple[str, ...] = ()
