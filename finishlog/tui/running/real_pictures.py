"""Photos as real pictures (Sixel or the Kitty graphics protocol), in terminals that can draw them.

On import the library asks the terminal what it can draw and how large a cell is, which works only before the
screens read keys. That takes time, and a terminal that does not answer may lose a key typed meanwhile; so only
terminals that name themselves in the environment are asked.
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
"""Terminal multiplexers: the outer terminal's pictures do not come through."""


def likely(env: Mapping[str, str]) -> bool:
    """Whether the environment names a terminal that may draw pictures."""
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
    """Ask a likely terminal, before the screens run. Without the library there are no pictures."""
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
    """The photo as a widget that keeps its shape. Call it only if `there`."""
    return _found[0](BytesIO(jpeg))
