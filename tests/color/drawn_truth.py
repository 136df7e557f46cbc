"""Photos of a settled slab as a drawing keeps them: stones and joints in few colors, grain alike in all bands, a JPEG.

The demo's own drawing with other colors, shares, grain and qualities: a running bond whose joints keep the release
first, then the hollows. Small pictures: what JPEG does to color in blocks of 8 (16 where color is kept at half size)
is as large as a joint. What is true is the mean of the mask on the field.
"""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO

import numpy as np
from PIL import Image

from finishlog.color.notation.bands import bands_of
from finishlog.color.photo.frame import Box
from finishlog.desk.demo import photos
from tests.color.surface_truth import Photo

FIELD, BASE, RELEASE = Box(100, 15, 370, 195), Box(230, 230, 60, 40), Box(350, 230, 60, 40)


@dataclass(frozen=True)
class Drawn:
    """`grain` is the scatter of a pixel's light, `quality` a JPEG's, 4:4:4 or `halved` to 4:2:0."""

    grain: float = 0.02
    quality: int = 90
    halved: bool = False


def photo(seed: int, drawn: Drawn, left: float) -> Photo:
    """One photo, 480 x 360 pixels; `left` is about the share of the picture that keeps its release."""
    rng = np.random.default_rng(seed)
    base = np.array([rng.uniform(50, 66), rng.uniform(1, 9), rng.uniform(6, 20)])
    turn = np.array([-1.0, rng.normal(0, 0.2), rng.normal(-0.3, 0.25)])
    release = base + rng.uniform(13, 24) * turn / np.linalg.norm(turn)
    low = photos._low_spots(rng, left).astype(float)
    share = float(_of(low, FIELD).mean())
    _of(low, BASE)[:] = 0.0
    _of(low, RELEASE)[:] = rng.random((RELEASE.height, RELEASE.width)) < rng.uniform(0.94, 1.0)
    slab = bands_of(base) + low[..., None] * (bands_of(release) - bands_of(base))
    slab = slab * (1 + drawn.grain * rng.standard_normal((*low.shape, 1)))
    lit = slab * photos.LIGHT * np.linspace(1.0, 0.9, photos.WIDTH)[:, None]
    coded = photos._encoded()[(lit.clip(0, 1) * (photos.STEPS - 1)).astype(np.uint16)]
    out = BytesIO()
    Image.fromarray(coded).save(out, "JPEG", quality=drawn.quality, subsampling=2 if drawn.halved else 0)
    return Photo(np.array(Image.open(out)), FIELD, BASE, RELEASE, tuple(base), tuple(release), share)


def _of(values: np.ndarray, box: Box) -> np.ndarray:
    return values[box.y : box.y + box.height, box.x : box.x + box.width]
