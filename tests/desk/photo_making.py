"""Pictures made for the tests: invented scenes, every format and fault."""

from __future__ import annotations

import struct
import zlib
from functools import cache
from io import BytesIO
from typing import Any

from PIL import Image

EXIF, ORIENTATION, TAKEN, OFFSET = 0x8769, 0x0112, 0x9003, 0x9011


def scene(width: int = 64, height: int = 48, mode: str = "RGB", *, seed: int = 1) -> Image.Image:
    """A slope of color, another for each seed."""
    across = Image.linear_gradient("L").resize((width, height))
    along = across.transpose(Image.Transpose.FLIP_LEFT_RIGHT)
    made = Image.merge("RGB", (across, along, Image.new("L", (width, height), seed * 37 % 256)))
    if mode in ("I;16", "RGBA", "LA"):
        gray = made.convert("L")
        if mode == "I;16":
            return gray.convert("I").point(lambda value: value * 256).convert("I;16")
        made = made if mode == "RGBA" else gray.copy()
        made.putalpha(gray)
        return made
    return made.convert(mode)


def exif(taken: str | None = None, offset: str | None = None, orientation: int = 1) -> Image.Exif:
    """An Exif block as a camera writes it."""
    made = Image.Exif()
    made[ORIENTATION] = orientation
    own = made.get_ifd(EXIF)
    if taken is not None:
        own[TAKEN] = taken
    if offset is not None:
        own[OFFSET] = offset
    return made


def picture(form: str = "JPEG", image: Image.Image | None = None, **options: Any) -> bytes:
    """The bytes of a picture of that format."""
    out = BytesIO()
    (scene() if image is None else image).save(out, form, **options)
    return out.getvalue()


def jpeg(taken: str | None = "2026:06:16 09:42:10", offset: str | None = None, *, seed: int = 1) -> bytes:
    """A camera's JPEG."""
    return picture(image=scene(seed=seed), exif=exif(taken, offset))


def png(*chunks: tuple[bytes, bytes], width: int = 4, height: int = 4, after: bool = False) -> bytes:
    """A gray PNG that says this size, with further chunks before its pixels, or after them."""
    header = (b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0))
    pixels = (b"IDAT", zlib.compress(bytes((min(width, 64) + 1) * min(height, 64))))
    middle = (pixels, *chunks) if after else (*chunks, pixels)
    body = b"".join(_chunk(*each) for each in (header, *middle, (b"IEND", b"")))
    return b"\x89PNG\r\n\x1a\n" + body


def _chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


@cache
def text_bomb(megabytes: int = 80) -> bytes:
    """A zTXt chunk that unpacks to that much."""
    return b"Comment\0\0" + zlib.compress(bytes(megabytes * 2**20), 9)


def plain_png(width: int, height: int, kind: int = 6, depth: int = 8, rows: int | None = None) -> bytes:
    """A PNG of one color and any size, in a few kilobytes: `kind` is 0 gray, 2 RGB, 3 palette, 6 RGBA.

    Fewer `rows` than it says: it is cut short.
    """
    values = {0: 1, 2: 3, 3: 1, 6: 4}[kind]
    row = b"\0" + b"\x80" * ((width * values * depth + 7) // 8)
    packer = zlib.compressobj(1)
    pixels = b"".join([*(packer.compress(row) for _ in range(rows or height)), packer.flush()])
    header = struct.pack(">IIBBBBB", width, height, depth, kind, 0, 0, 0)
    colors = ((b"PLTE", bytes(range(256)) * 3),) if kind == 3 else ()
    body = ((b"IHDR", header), *colors, (b"IDAT", pixels), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(*each) for each in body)


def plain(form: str, width: int, height: int, mode: str = "RGB", **options: Any) -> bytes:
    """A picture of one color and any size."""
    made = Image.new(mode, (width, height), {"RGB": (120, 90, 60)}.get(mode, 0))
    return picture(form, made, **options)
