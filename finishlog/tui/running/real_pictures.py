"""Photos as real pictures (Sixel, or the Kitty graphics protocol), in the terminals that may draw them.

The library asks the terminal what it can draw, and for the size of a cell, as it is imported, and can do so only
before the screens read the keys. That costs time, and in a terminal that does not answer a key that is typed
meanwhile; so only a terminal is asked that says of itself, in its environment, that it is one of those.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from io import BytesIO
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.widget import Widget

_TERMS = ("xterm-kitty", "foot", "mlterm", "contour", "yaft", "xterm-ghostty")
_PROGRAMS = ("WezTerm", "iTerm.app", "mintty", "contour", "ghostty", "rio")
_NAMED = ("KITTY_WINDOW_ID", "KONSOLE_VERSION", "WT_SESSION", "GHOSTTY_RESOURCES_DIR")
_WITHIN = ("TMUX", "STY")
"""A terminal inside a terminal: what the outer one can draw does not come through."""


def likely(env: Mapping[str, str]) -> bool:
    """Whether this terminal may draw pictures, by what it says of itself."""
    if any(env.get(name) for name in _WITHIN):
        return False
    term = env.get("TERM", "").partition("-direct")[0]
    return (
        any(env.get(name) for name in _NAMED)
        or env.get("TERM_PROGRAM", "") in _PROGRAMS
        or term in _TERMS
        or term.startswith("foot-")
    )


_found: list[Callable[[BytesIO], Widget]] = []


def prepare(env: Mapping[str, str]) -> None:
    """Before the screens run: ask the terminal, where it is worth it. Without the library there are none."""
    if not likely(env):
        return
    try:
        from textual_image import renderable, widget
    except ImportError:
        return
    if renderable.Image in (renderable.SixelImage, renderable.TGPImage):
        _found[:] = [widget.Image]


def there() -> bool:
    """Whether `widget` can be called: `prepare` found a terminal that draws."""
    return bool(_found)


def widget(jpeg: bytes) -> Widget:
    """The photo as a widget that fills its room at its own shape. Only where `there`."""
    return _found[0](BytesIO(jpeg))
