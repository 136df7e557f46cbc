"""Memory a picture takes to unpack, told from its header; and pictures unpacked without a second copy.

What would take too much is refused before a pixel is decoded; pictures unpacked at once share one room.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Condition
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL.Image import Image

ROOM = 190 * 10**6
"""Bytes for all pictures unpacked at once, files included: the command itself takes 70 to 100 MB, 300 is the aim."""
STRIP_PIXELS = 1 << 20
_BYTES = {"1": 1, "L": 1, "P": 1, "I;16": 2, "I;16B": 2, "I;16L": 2, "I;16N": 2}
"""Bytes per pixel as Pillow holds them, by mode; 4 in all others."""
_WEBP, _HEIF = 15.3, 7.5
"""Bytes per pixel that the decoders of WebP and HEIC take together with the picture: measured, libwebp 1.6 and
libheif 1.20."""
_ROWS_PER_STRIP, _TILE_WIDTH, _TILE_HEIGHT, _BITS = 278, 322, 323, 258
"""TIFF 6.0, sections 8 and 15."""
_ALONE, _SCAN = (0x01, *range(0xD0, 0xD9)), 0xDA
"""JPEG markers without a length, and the start of a scan (ITU-T T.81, table B.1)."""


def takes(image: Image, data: bytes, side: int | None) -> int:
    """Bytes to unpack an opened picture to about `side` pixels, its file included; None: whole, as an array too."""
    pixels = image.width * image.height
    if image.format == "WEBP":
        needed = _WEBP * pixels
    elif image.format == "HEIF":
        needed = _HEIF * pixels
    elif image.format in ("JPEG", "MPO"):
        needed = _coefficients(image, data) + 4 * pixels // _scale(image, side) ** 2
    else:
        needed = _BYTES.get(image.mode, 4) * pixels + (_strip(image) if image.format == "TIFF" else 0)
    return int(needed + len(data) + (3 * pixels if side is None else 0))


def _scale(image: Image, side: int | None) -> int:
    """The fraction at which a JPEG is unpacked, one of so many, to be at least twice as long as `side`."""
    wanted = 1 if side is None else min(image.size) // (2 * side)
    return next((scale for scale in (8, 4, 2) if wanted >= scale), 1)


def _coefficients(image: Any, data: bytes) -> int:
    """What libjpeg holds of a picture that comes in several scans: two bytes for each value of each layer."""
    if not _several_scans(data, len(image.layer)):
        return 0
    across, down = max(each[1] for each in image.layer), max(each[2] for each in image.layer)
    return sum(2 * image.width * image.height * each[1] * each[2] // (across * down) for each in image.layer)


def _several_scans(data: bytes, layers: int) -> bool:
    """Whether the first scan is progressive, or leaves layers to a later one; True where it cannot be told."""
    at, progressive = 2, False
    while at + 5 <= len(data):
        marker = data[at + 1]
        if data[at] != 0xFF or marker == 0xFF or marker in _ALONE:
            at += 1 if data[at] != 0xFF or marker == 0xFF else 2
            continue
        progressive = progressive or marker in (0xC2, 0xCA)
        if marker == _SCAN:
            return progressive or data[at + 4] < layers
        at += 2 + int(struct.unpack_from(">H", data, at + 2)[0])
    return True


def _strip(image: Any) -> int:
    """The largest strip or tile that the TIFF reader holds beside the picture."""
    tags = image.tag_v2
    bits = tags.get(_BITS, (8,))
    each = max(sum(bits) if isinstance(bits, tuple) else int(bits), 32) // 8  # some are turned to RGBA first
    if _TILE_WIDTH in tags:
        return int(tags[_TILE_WIDTH]) * int(tags.get(_TILE_HEIGHT, tags[_TILE_WIDTH])) * each
    rows = min(int(tags.get(_ROWS_PER_STRIP, image.height)), int(image.height))
    return int(image.width) * rows * each


class _Room:
    """Lets in as many pictures as fit, each at its turn; one larger than the whole room comes in alone."""

    def __init__(self) -> None:
        self._changed = Condition()
        self._taken = 0

    @contextmanager
    def of(self, size: int) -> Iterator[None]:
        with self._changed:
            self._changed.wait_for(lambda: not self._taken or self._taken + size <= ROOM)
            self._taken += size
        try:
            yield
        finally:
            with self._changed:
                self._taken -= size
                self._changed.notify_all()


_room = _Room()


def room(size: int) -> Any:
    """A context with so many bytes to unpack in; waits while others have them."""
    return _room.of(size)


def strips(image: Image, each: int = 1) -> Iterator[tuple[int, Image]]:
    """The picture's rows from top to bottom, a multiple of `each` at a time, with the first row's number."""
    rows = max(STRIP_PIXELS // max(image.width, 1) // each, 1) * each
    for top in range(0, image.height, rows):
        yield top, image.crop((0, top, image.width, min(top + rows, image.height)))


def upright(image: Image, orientation: int, plain: Any) -> NDArray[np.uint8]:
    """The pixels (height, width, 3) turned as Exif says; `plain` makes a strip RGB."""
    import numpy as np

    height, width = image.height, image.width
    shape = (width, height, 3) if orientation in (5, 6, 7, 8) else (height, width, 3)
    made = np.empty(shape, np.uint8)
    as_shot = made[:: -1 if orientation in (3, 4, 7, 8) else 1, :: -1 if orientation in (2, 3, 6, 7) else 1]
    if orientation in (5, 6, 7, 8):
        as_shot = as_shot.transpose(1, 0, 2)
    for top, strip in strips(image):
        as_shot[top : top + strip.height] = np.asarray(plain(strip))
    return made
