"""A scrolling part of a screen; left and right are left to the screen.

The focused widget stays in view on any key, message or resize.
"""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widget import Widget


class Pane(VerticalScroll, can_focus=True, inherit_bindings=False):
    """Focusable; scrolls with the vertical keys alone."""

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

    def on_descendant_focus(self) -> None:
        self.call_after_refresh(self.follow)

    def on_resize(self) -> None:
        self.call_after_refresh(self.follow)

    def watch_virtual_size(self) -> None:
        if self.is_mounted:
            self.call_after_refresh(self.follow)

    def follow(self) -> None:
        """Scroll the focused part into view, with its label and error."""
        focused = self.screen.focused if self.is_attached else None
        if focused is None or focused is self:
            return
        part = next((one for one in focused.ancestors_with_self if one.parent is self), None)
        if isinstance(part, Widget):
            self.scroll_to_widget(part, animate=False)
