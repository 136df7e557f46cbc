"""A text box without control characters, which only a paste could bring."""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widgets import Input

if TYPE_CHECKING:
    from textual import events
    from textual.strip import Strip


def typeable(text: str) -> str:
    """The text without control, bidi or other invisible characters; breaks and tabs become a space."""
    spaced = " ".join(text.splitlines())
    return "".join(
        c for c in spaced.replace("\t", " ") if unicodedata.category(c) not in ("Cc", "Cf", "Cs", "Zl", "Zp")
    )


class Entry(Input):
    """One line of at most LONGEST characters, none invisible."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "down", show=False),
        Binding("up", "up", show=False),
    ]
    LONGEST = 400
    verb = ""
    """What Enter does here, for the footer; empty if the screen tells it."""
    choices = False
    """Whether Down opens choices."""

    class Down(Message):
        """Down, to what is under the box."""

    class Up(Message):
        """Up, to what is above the box."""

    def __init__(self, value: str = "", **named: Any) -> None:
        super().__init__(typeable(value), max_length=self.LONGEST, select_on_focus=False, **named)

    @property
    def content_width(self) -> int:
        """At least the box's width: if it grew with every key, each would lay out the screen."""
        return max(super().content_width, self.scrollable_content_region.width)

    def render_line(self, y: int) -> Strip:
        """Extend the underline to the box's full width."""
        return (
            super().render_line(y).extend_cell_length(self.scrollable_content_region.width, self.rich_style)
        )

    def insert_text_at_cursor(self, text: str) -> None:
        """Invisible characters are dropped."""
        super().insert_text_at_cursor(typeable(text))

    def replace(self, text: str, start: int, end: int) -> None:
        """Invisible characters are dropped; what exceeds LONGEST is cut."""
        room = self.LONGEST - len(self.value) + end - start
        super().replace(typeable(text)[:room], start, end)

    def _on_paste(self, event: events.Paste) -> None:
        self.replace(event.text[: self.LONGEST * 4], *sorted(self.selection))
        event.stop()
        event.prevent_default()

    def action_down(self) -> None:
        self.post_message(self.Down())

    def action_up(self) -> None:
        self.post_message(self.Up())
