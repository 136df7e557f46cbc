"""A PDF read back with a library that did not write it."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator

from pypdf import PdfReader
from pypdf.generic import ContentStream


def reader(data: bytes) -> PdfReader:
    """The file, read strictly: anything out of order in it is an error."""
    return PdfReader(io.BytesIO(data), strict=True)


def pages(data: bytes) -> list[str]:
    """The text of each page, its white space made single."""
    return [re.sub(r"\s+", " ", page.extract_text()) for page in reader(data).pages]


def text(data: bytes) -> str:
    return " ".join(pages(data))


def fills(data: bytes) -> list[tuple[int, int, int]]:
    """The colors of all filled rectangles in order, 0 to 255; grays too."""
    read = reader(data)
    return [color for page in read.pages for color in _fills(ContentStream(page.get_contents(), read))]


def _fills(stream: ContentStream) -> Iterator[tuple[int, int, int]]:
    color, shape = (0, 0, 0), False
    for values, operator in stream.operations:
        if operator == b"rg":
            color = tuple(round(float(value) * 255) for value in values)
        elif operator == b"g":
            color = (round(float(values[0]) * 255),) * 3
        elif operator == b"re":
            shape = True
        elif operator == b"f" and shape:
            yield color
        elif operator in (b"S", b"n"):
            shape = False


def marks_inside(data: bytes, margin: float = 20.0) -> bool:
    """Whether every piece of text begins on the paper, so far from its edges."""
    for page in reader(data).pages:
        width, height = float(page.mediabox.width), float(page.mediabox.height)
        spots: list[tuple[float, float]] = []
        page.extract_text(
            visitor_text=lambda piece, _cm, tm, _font, _size, spots=spots: (
                spots.append((tm[4], tm[5])) if piece.strip() else None
            )
        )
        assert spots
        if not all(margin <= x <= width - margin and margin <= y <= height - margin for x, y in spots):
            return False
    return True
