"""The demo's photos: a stamped slab with a 24-patch card in one corner, drawn from a few colors. No real photo.

The same colors, size and moment give the same picture.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.floating]

WIDTH, HEIGHT = 480, 360
CARD = (20, 226, 174, 120)
"""Left, top, width and height of the card's black frame, pixels: corners for who reads it by hand."""
STONE = (96, 60)
JOINT = 4
LIGHT = (0.84, 0.80, 0.74)
"""The light of the scene on red, green and blue; falling off by a tenth to the far side."""
GRAIN = 0.02
STEPS = 4096
_DATE_TIME_ORIGINAL, _OFFSET_ORIGINAL, _EXIF = 0x9003, 0x9011, 0x8769


def jpeg(
    base: Sequence[int], release: Sequence[int], left: float, card: Sequence[Sequence[int]], taken: datetime
) -> bytes:
    """A JPEG of a slab. `base`, `release` and the `card`'s 24 patches are sRGB, 0 to 255; `left` is the share of
    the surface where the release stays, 0 to 1; `taken` is the camera's time with its offset."""
    from PIL import Image

    random = np.random.default_rng(sum(base) * 1009 + sum(release))
    slab = np.where(_low_spots(random, left)[..., None], _linear(release), _linear(base)).astype(np.float32)
    slab *= 1 + GRAIN * random.standard_normal((HEIGHT, WIDTH, 1), np.float32)
    _lay(slab, card)
    lit = slab * np.array(LIGHT, np.float32) * np.linspace(1.0, 0.9, WIDTH, dtype=np.float32)[:, None]
    out = BytesIO()
    image = Image.fromarray(_encoded()[(lit * (STEPS - 1)).astype(np.uint16)])
    image.save(out, "JPEG", quality=90, subsampling=0, exif=_exif(taken))
    return out.getvalue()


def _low_spots(random: np.random.Generator, left: float) -> NDArray[np.bool_]:
    """Where the release stays, (HEIGHT, WIDTH): the joints of a running bond, deepest first, then hollows.

    From the middle of a joint outwards: what lies deepest is rinsed last, so a thin box on a joint is all release.
    """
    y, x = np.mgrid[:HEIGHT, :WIDTH]
    row = y // STONE[1]
    across = (x + row * 40) % STONE[0]
    edge = np.minimum(
        np.minimum(across, STONE[0] - across), np.minimum(y % STONE[1], STONE[1] - y % STONE[1])
    )
    low = _hollows(random) + np.where(edge < JOINT, 6.0 * (1 - edge / JOINT) + 3.0, 0.0)
    return np.asarray(low > np.quantile(low, 1 - min(left, 0.97)))


def _hollows(random: np.random.Generator) -> Floats:
    """A soft relief, (HEIGHT, WIDTH)."""
    from PIL import Image

    coarse = Image.fromarray(random.standard_normal((HEIGHT // 24, WIDTH // 24)).astype(np.float32))
    return np.asarray(coarse.resize((WIDTH, HEIGHT), Image.Resampling.BICUBIC), float)


def _lay(slab: Floats, card: Sequence[Sequence[int]]) -> None:
    """Put the card into the picture: patches 2.5 units wide, a quarter unit apart, on black."""
    left, top, width, height = CARD
    slab[top : top + height, left : left + width] = 0.01
    unit_x, unit_y = width / 16.75, height / 11.25
    for at, patch in enumerate(card):
        y, x = top + (at // 6 * 2.75 + 0.25) * unit_y, left + (at % 6 * 2.75 + 0.25) * unit_x
        slab[round(y) : round(y + 2.5 * unit_y), round(x) : round(x + 2.5 * unit_x)] = _linear(patch)


def _linear(color: Sequence[int]) -> Floats:
    """sRGB 0 to 255 in linear light (IEC 61966-2-1)."""
    share = np.asarray(color, float) / 255
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


@cache
def _encoded() -> NDArray[np.uint8]:
    """sRGB 0 to 255 by linear light in so many steps from 0 to 1."""
    light = np.linspace(0, 1, STEPS)
    share = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
    return (share * 255 + 0.5).astype(np.uint8)


def _exif(taken: datetime) -> bytes:
    from PIL import Image

    made = Image.Exif()
    own = made.get_ifd(_EXIF)
    own[_DATE_TIME_ORIGINAL] = f"{taken:%Y:%m:%d %H:%M:%S}"
    offset = f"{taken:%z}"
    own[_OFFSET_ORIGINAL] = f"{offset[:3]}:{offset[3:]}"
    return made.tobytes()
