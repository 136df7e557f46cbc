"""Pieces of styled text, and plain glyphs for the Linux console (code page 437)."""

from __future__ import annotations

import re
from typing import NamedTuple


class Piece(NamedTuple):
    """Text in one style. `tone` and `back` are tokens or hex colors; `act` runs on a click."""

    text: str
    tone: str = "text"
    bold: bool = False
    under: bool = False
    back: str = ""
    act: str = ""


_PLAIN = str.maketrans({
    "●": "*", "○": "o", "□": "#", "◊": "+", "×": "x", "³": "3", "–": "-", "—": "-", "−": "-", "“": '"', "”": '"',
    "’": "'",
    "╭": "┌", "╮": "┐", "╰": "└", "╯": "┘", "┄": "─", "┆": "│", "→": ">", "Δ": "d", "▂": "_", "►": ">",
})  # fmt: skip


def plainly(pieces: list[Piece]) -> list[Piece]:
    """The row without glyphs a bare console lacks, at the same width: `…` takes a blank beside it."""
    text = "".join(piece.text for piece in pieces)
    if text.isascii():
        return pieces
    found = list(text.translate(_PLAIN))
    for match in reversed(list(re.finditer("…", text))):
        _dots(found, match.start())
    shown, at = [], 0
    for piece in pieces:
        end = at + len(piece.text)
        shown.append(piece._replace(text="".join(found[at:end])))
        at = end
    return shown


def _dots(cells: list[str], at: int) -> None:
    """Two dots for the `…` at `at`. The second takes a blank after it, else a letter before it."""
    cells[at] = "."
    if at + 1 < len(cells) and cells[at + 1] == " ":
        cells[at + 1] = "."
        return
    gap = next((i for i in range(at - 1, 0, -1) if cells[i - 1] == cells[i] == " "), None)
    if gap is not None and at + 1 == len(cells):
        del cells[gap]
        cells.insert(at - 1, ".")
    elif at:
        cells[at - 1] = "."
