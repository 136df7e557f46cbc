"""User text made safe for the terminal, and cut to cells."""

from __future__ import annotations

from rich.cells import cell_len, set_cell_size

from finishlog.plain import visible

_SPACES = str.maketrans({"\n": " ", "\r": " ", "\t": " ", "\u2028": " ", "\u2029": " "})


def plain(text: object) -> str:
    """The text on one line, control and bidi characters made visible, breaks and tabs as spaces."""
    return visible(str(text).translate(_SPACES))


def fit(text: str, width: int) -> str:
    """The text in at most `width` cells, ending in … if cut."""
    if cell_len(text) <= width:
        return text
    if width <= 0:
        return ""
    return set_cell_size(text, width - 1).rstrip() + "…"


def wrap(text: str, width: int) -> list[str]:
    """The text wrapped at spaces to `width` cells; a longer word is split."""
    width = max(width, 1)
    lines = [""]
    for word in text.split():
        while cell_len(word) > width:
            piece = _head(word, width)
            lines += [piece] if lines[-1] else []
            lines[-1] = piece
            lines.append("")
            word = word[len(piece) :]
        joined = f"{lines[-1]} {word}" if lines[-1] else word
        if cell_len(joined) <= width:
            lines[-1] = joined
        else:
            lines.append(word)
    return [line for line in lines if line] or [""]


def _head(word: str, width: int) -> str:
    """As many whole characters as fit, at least one."""
    taken = 0
    for index, character in enumerate(word):
        taken += cell_len(character)
        if taken > width:
            return word[: max(index, 1)]
    return word
