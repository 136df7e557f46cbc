"""Examines a picture by its bytes, never its name: format, upright size, time taken, thumbnail.

Pillow reads only the formats named here. The size is checked in the header before decoding; decoding the
whole picture once for the thumbnail then reveals a truncated file.
"""

from __future__ import annotations

import re
import struct
import warnings
import zlib
from codecs import getincrementaldecoder
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING, Any

from finishlog.errors import InputError
from finishlog.inputs import unpacking
from finishlog.records.files import Photo, PhotoClock

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL.Image import Image

PIXELS_MOST = 120_000_000
"""Largest picture to decode; common phones go up to 108 million pixels."""
BYTES_MOST = 100 * 2**20
SIDE = 512
"""Pixels of the longer side of a small picture."""
OLDEST_YEAR, LATEST_YEAR = 1990, 2199
"""An unset camera clock starts at 1970 or 1980; the log's years end at 2199."""

_FORMATS = {"JPEG": "JPEG", "MPO": "JPEG", "PNG": "PNG", "TIFF": "TIFF", "WEBP": "WebP", "HEIF": "HEIC"}
"""Our format names by Pillow's; MPO is a JPEG followed by more pictures."""
_BROKEN = (OSError, ValueError, SyntaxError, struct.error, zlib.error, EOFError, IndexError, KeyError, TypeError,
           OverflowError, ZeroDivisionError, MemoryError, AttributeError)  # fmt: skip
"""What Pillow raises for a damaged or truncated picture."""
_HEIC = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1")
_ELSE = (
    (b"GIF8", "a GIF"), (b"BM", "a BMP"), (b"%PDF", "a PDF"), (b"PK\x03\x04", "a ZIP archive or an office document"),
    (b"\x00\x00\x01\x00", "an icon"), (b"<svg", "an SVG drawing"), (b"8BPS", "a Photoshop document"),
)  # fmt: skip
_KEPT = "We keep JPEG, PNG, TIFF, WebP and HEIC."
_TAKEN = re.compile(r"(\d{4})[:-](\d\d)[:-](\d\d)[ T](\d\d):(\d\d):(\d\d)(?:\.\d+)?", re.ASCII)
_OFFSET = re.compile(r"([+-])(\d\d):?(\d\d)", re.ASCII)
_EXIF_IFD, _ORIENTATION, _SIDEWAYS = 0x8769, 0x0112, (5, 6, 7, 8)
_TURNS: dict[int, Any] = {2: 0, 3: 3, 4: 1, 5: 5, 6: 4, 7: 6, 8: 2}
"""Pillow's turns (Image.Transpose) by the orientation that they undo (Exif 2.32)."""
_TIMES = ((0x9003, 0x9011), (0x9004, 0x9012))
"""DateTimeOriginal and its offset, DateTimeDigitized and its offset (Exif 2.32)."""


@dataclass(frozen=True, slots=True)
class Picture:
    """An examined picture. `taken` is the camera's wall time, aware if the offset is recorded.

    `clock_wrong` gives the clock's fault if `taken` is None; `notes` are remarks on the picture;
    `small` is a JPEG of at most `SIDE` pixels.
    """

    photo: Photo
    taken: datetime | None
    clock_wrong: str
    notes: tuple[str, ...]
    small: bytes


def look(data: bytes) -> Picture:
    """Examine a file's bytes. Raises InputError naming what they are, or their fault."""
    _not_too_long(data)
    with _opened(data, SIDE) as image:
        try:
            if image.format == "PNG":  # its Exif may stand behind its pixels
                image.load()
            return Picture(*_facts(image), tuple(_notes(image)), small(image, SIDE))
        except _BROKEN as error:
            raise _no(_cut_short(error)) from None


def make_small(data: bytes, side: int) -> bytes:
    """A JPEG of at most `side` pixels, upright. Raises InputError as `look` does."""
    _not_too_long(data)
    with _opened(data, side) as image:
        try:
            return small(image, side)
        except _BROKEN as error:
            raise _no(_cut_short(error)) from None


def pixels(data: bytes) -> NDArray[np.uint8]:
    """The whole picture, upright, (height, width, 3) of 0 to 255. Raises InputError as `look` does.

    Black and white and printing inks are refused: their colors cannot be read.
    """
    _not_too_long(data)
    with _opened(data, None) as image:
        if image.mode != "P" and (notes := list(_notes(image))):
            raise InputError("This photo cannot be read.", notes[0], where="FILE")
        try:
            image.load()
            return unpacking.upright(image, _turned(image), lambda strip: _rgb(_simple(strip)))
        except _BROKEN as error:
            raise _no(_cut_short(error)) from None


def tags(data: bytes) -> dict[int, Any]:
    """What the picture says of itself by Exif tag; nothing where that is damaged. Raises InputError as `look` does."""
    _not_too_long(data)
    with _opened(data, SIDE) as image:
        return _exif(image)


def _not_too_long(data: bytes) -> None:
    if len(data) > BYTES_MOST:
        raise _no(f"It has {len(data) / 2**20:.0f} MB, {BYTES_MOST / 2**20:.0f} MB is the limit.")


def _no(cause: str) -> InputError:
    return InputError("This kind of photo cannot be kept.", cause, where="FILE")


@contextmanager
def _opened(data: bytes, side: int | None) -> Iterator[Image]:
    """The picture, in room enough to unpack it to about `side` pixels; None: whole."""
    from PIL import Image, UnidentifiedImageError

    kind = _kind(data)
    _quiet()
    try:
        image = Image.open(BytesIO(data), formats=_readable(kind))
    except Image.DecompressionBombError:
        raise _no(f"It has more than {PIXELS_MOST // 10**6} million pixels.") from None
    except UnidentifiedImageError:
        raise _no(_what_else(data)) from None
    except _BROKEN as error:
        raise _no(_cut_short(error)) from None
    with image:
        if image.width * image.height > PIXELS_MOST:
            has = f"{image.width:,} × {image.height:,} pixels"
            raise _no(
                f"It has {has}, {PIXELS_MOST // 10**6} million is the limit. Shoot at the camera's usual size."
            )
        if not image.width * image.height:
            raise _no("It has no pixels.")
        try:
            size = unpacking.takes(image, data, side)
        except _BROKEN as error:
            raise _no(_cut_short(error)) from None
        if size > unpacking.ROOM:
            raise _no(_too_much(image, size, side is None))
        with unpacking.room(size):
            yield image


def _too_much(image: Image, size: int, whole: bool) -> str:
    """Why it is not unpacked, and about how many pixels could be."""
    kind = "progressive JPEG" if image.info.get("progressive") else _FORMATS[image.format or ""]
    most = image.width * image.height * unpacking.ROOM / size / 1e6
    return (
        f"As {kind} its {image.width:,} × {image.height:,} pixels take {size / 1e6:,.0f} MB to "
        f"{'read' if whole else 'open'}, {unpacking.ROOM / 1e6:.0f} MB is the limit. "
        f"Save a copy{'' if kind == 'JPEG' else ' as plain JPEG, or'} of at most {most:.0f} million pixels."
    )


@cache
def _quiet() -> None:
    """Silences Pillow's warnings: size and broken Exif are reported here or harmless."""
    from PIL import Image

    warnings.filterwarnings("ignore", category=Image.DecompressionBombWarning)
    warnings.filterwarnings("ignore", module=r"PIL\.")


def _kind(data: bytes) -> str:
    return "HEIF" if data[4:8] == b"ftyp" and data[8:12] in _HEIC else ""


def begins_as_picture(head: bytes) -> bool:
    """Whether the first 16 bytes are a supported format; completeness is not checked."""
    webp = head[:4] == b"RIFF" and head[8:12] == b"WEBP"
    return webp or bool(_kind(head)) or head.startswith((b"\xff\xd8\xff", b"\x89PNG", b"II*\0", b"MM\0*"))


def _readable(kind: str) -> list[str]:
    """Pillow's names of the readable formats. Raises InputError for HEIC if its reader is not installed."""
    if kind != "HEIF":
        from PIL import JpegImagePlugin, PngImagePlugin, TiffImagePlugin, WebPImagePlugin

        known = (JpegImagePlugin.JpegImageFile, PngImagePlugin.PngImageFile, TiffImagePlugin.TiffImageFile,
                 WebPImagePlugin.WebPImageFile)  # fmt: skip
        return [each.format for each in known]
    try:
        from pillow_heif import register_heif_opener
    except ImportError:
        cause = "It is HEIC, a phone format, and its reader is not installed."
        raise _no(f"{cause} Install finishlog[heic], or save the photo as JPEG.") from None
    register_heif_opener(thumbnails=False)
    return ["HEIF"]


def _what_else(data: bytes) -> str:
    """Names the format of unsupported bytes."""
    head = data[:16]
    if _kind(data):
        return "It starts as a HEIC picture, but the rest is missing or damaged."
    if data[4:8] == b"ftyp":
        what = "an AVIF picture" if data[8:12] in (b"avif", b"avis") else "a video"
    else:
        what = next((name for begin, name in _ELSE if head.startswith(begin)), "")
    if not what:
        known = (b"\xff\xd8\xff", b"\x89PNG", b"II*\0", b"MM\0*", b"RIFF")
        if head.startswith(known):
            return "It starts as a picture, but the rest is missing or damaged."
        what = "text" if _is_text(data[:4096]) else "no picture"
    return f"It is {what}, whatever the name says. {_KEPT}"


def _is_text(data: bytes) -> bool:
    try:
        text = getincrementaldecoder("utf-8")().decode(data)  # the last character may be cut in two
    except UnicodeDecodeError:
        return False
    return bool(text) and all(mark >= " " or mark in "\t\n\r\f" for mark in text)


def _cut_short(error: BaseException) -> str:
    said = str(error).lower()
    if "too large" in said or "memory" in said:
        return "Text or a profile in it unpacks to far too much."
    if isinstance(error, MemoryError):
        return "It is too large for this machine's memory."
    return "It is damaged or cut short: part of the picture is missing."


# what it says of itself


def _facts(image: Image) -> tuple[Photo, datetime | None, str]:
    exif = _exif(image)
    turned = image.format != "HEIF" and exif.get(_ORIENTATION) in _SIDEWAYS  # HEIC comes upright already
    width, height = (image.height, image.width) if turned else (image.width, image.height)
    taken, wrong = _taken(exif)
    offset = taken.utcoffset() if taken is not None else None
    clock: PhotoClock = (
        "unknown" if taken is None else "site wall time" if offset is None else "camera offset"
    )
    said = None if taken is None else taken.replace(tzinfo=None).isoformat()
    photo = Photo(
        _FORMATS[image.format or ""], width, height, said, None if offset is None else _said(offset), clock
    )
    return photo, taken, wrong


def _exif(image: Image) -> dict[int, Any]:
    """Tags of the picture and of its Exif part together; none where they are damaged."""
    try:
        exif = image.getexif()
        return dict(exif) | dict(exif.get_ifd(_EXIF_IFD))
    except _BROKEN:
        return {}


def _taken(exif: dict[int, Any]) -> tuple[datetime | None, str]:
    """Time taken by the camera's clock, or the clock's fault."""
    wrong = "It does not say when it was taken."
    for time_tag, offset_tag in _TIMES:
        text = _text(exif.get(time_tag))
        if not text.strip():
            continue
        taken = _moment(text)
        if taken is None:
            wrong = "Its time is wrong: the camera's clock was never set."
            continue
        offset = _text(exif.get(offset_tag)).strip()
        if not offset:
            return taken, ""
        zone = _zone(offset)
        if zone is None:
            wrong = "Its UTC offset is invalid: do not trust the camera's clock."
            continue
        return taken.replace(tzinfo=zone), ""
    return None, wrong


def _text(value: object) -> str:
    if isinstance(value, bytes):
        value = value.decode("ascii", "replace")
    return value.strip("\0 ") if isinstance(value, str) else ""


def _moment(text: str) -> datetime | None:
    found = _TAKEN.fullmatch(text)
    if found is None:
        return None
    try:
        taken = datetime(*(int(part) for part in found.groups()))  # type: ignore[arg-type]  # noqa: DTZ001
    except ValueError:
        return None
    return taken if OLDEST_YEAR <= taken.year <= LATEST_YEAR else None


def _zone(text: str) -> timezone | None:
    """A real-world UTC offset: -12:00 to +14:00."""
    if text == "Z":
        return timezone.utc  # noqa: UP017
    found = _OFFSET.fullmatch(text)
    if found is None or int(found[3]) >= 60:
        return None
    minutes = (int(found[2]) * 60 + int(found[3])) * (-1 if found[1] == "-" else 1)
    return timezone(timedelta(minutes=minutes)) if -12 * 60 <= minutes <= 14 * 60 else None


def _said(offset: timedelta) -> str:
    minutes = round(offset / timedelta(minutes=1))
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


_MODES = {
    "CMYK": "It is in printing inks (CMYK): its colors cannot be read.",
    "L": "It is black and white: it has no color to read.",
    "LA": "It is black and white: it has no color to read.",
    "1": "It is black and white: it has no color to read.",
    "P": "It has at most 256 colors: expect a rough reading.",
}


def _notes(image: Image) -> Iterator[str]:
    mode = "L" if image.mode.startswith(("I", "F")) else image.mode
    if mode in _MODES:
        yield _MODES[mode]


# the small one


def small(image: Image, side: int) -> bytes:
    """The picture at most `side` pixels long, upright, as a JPEG; its loading raises for a damaged one."""
    image.draft(None, (2 * side, 2 * side))  # a JPEG is unpacked at a fraction of its size
    plain = _halved(image, max(image.size) // (2 * side))
    turned = _TURNS.get(_turned(image))
    plain.thumbnail((side, side))
    out = BytesIO()
    _rgb(plain if turned is None else plain.transpose(turned)).save(out, "JPEG", quality=85)
    return out.getvalue()


def _turned(image: Image) -> int:
    """The orientation left in a loaded picture: HEIC comes upright already."""
    found = 1 if image.format == "HEIF" else _exif(image).get(_ORIENTATION)
    return found if isinstance(found, int) else 1


def _halved(image: Image, factor: int) -> Image:
    """The picture made smaller by a whole factor, strip by strip: no second copy of it in full size."""
    from PIL import Image

    image.load()
    if factor < 2:
        return _simple(image)
    made = None
    for top, strip in unpacking.strips(image, factor):
        part = _simple(strip).reduce(factor)
        made = made or Image.new(part.mode, (part.width, -(-image.height // factor)))
        made.paste(part, (0, top // factor))
    assert made is not None
    made.info = image.info
    return made


def _simple(image: Image) -> Image:
    """A picture that can be made smaller by averaging: 16-bit gray to 8 bits, palettes to their colors."""
    if image.mode.startswith("I"):
        gray = image.point(lambda value: value * (1 / 256)).convert("L")
        gray.info = image.info
        return gray
    if image.mode in ("P", "PA", "1", "F"):
        return image.convert({"1": "L", "F": "L"}.get(image.mode, "RGBA"))
    return image


def _rgb(image: Image) -> Image:
    """As RGB; transparency goes on a middle gray."""
    from PIL import Image

    if image.mode in ("RGBA", "LA", "La", "RGBa"):
        whole = image.convert("RGBA")
        ground = Image.new("RGBA", whole.size, (128, 128, 128, 255))
        return Image.alpha_composite(ground, whole).convert("RGB")
    return image if image.mode == "RGB" else image.convert("RGB")
