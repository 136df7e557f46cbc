"""A part of a screen that scrolls where it is too long; left and right stay free for the screen."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll


class Pane(VerticalScroll, can_focus=True, inherit_bindings=False):
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "scroll_up", show=False),
        Binding("down", "scroll_down", show=False),
        Binding("pageup", "page_up", show=False),
        Binding("pagedown", "page_down", show=False),
        Binding("home", "scroll_home", show=False),
        Binding("end", "scroll_end", show=False),
    ]
    DEFAULT_CSS = """
    Pane { scrollbar-size-vertical: 1; scrollbar-gutter: stable; height: 1fr; }
    """
