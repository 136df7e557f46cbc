"""An input that keeps control characters out: they can only be pasted, and belong in no field."""

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
    """The text without control, bidi and other invisible formatting characters; breaks become a space."""
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
    """What Enter does here, for the footer; empty where the screen says it."""
    choices = False
    """Whether Down opens some."""

    class Down(Message):
        """Down leaves the box for what is under it."""

    class Up(Message):
        """Up leaves it for what is above."""

    def __init__(self, value: str = "", **named: Any) -> None:
        super().__init__(typeable(value), max_length=self.LONGEST, select_on_focus=False, **named)

    @property
    def content_width(self) -> int:
        """The box's own while the text fits: one that grew with every key would lay the screen out every time."""
        return max(super().content_width, self.scrollable_content_region.width)

    def render_line(self, y: int) -> Strip:
        """The underline runs to its end, under the cursor's empty cells too."""
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
