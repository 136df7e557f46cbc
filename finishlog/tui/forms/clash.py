"""What another changed meanwhile, said under its field."""

from __future__ import annotations

from finishlog.tui.forms import paint
from finishlog.tui.forms.fields import Field
from finishlog.tui.paint.ink import Line
from finishlog.tui.paint.text import plain
from finishlog.tui.widgets.canvas import Block

KEYS = "Ctrl+T takes it, Ctrl+Y keeps yours"


def show_theirs(field: Field, theirs: str) -> None:
    """Both changed it: theirs stands under what is typed."""
    _say(field, f"Also changed: {_quoted(theirs)}. {KEYS}.", "bad")


def show_taken(field: Field, was: str) -> None:
    """Only the other changed it, and theirs stands in the field."""
    _say(field, f"Changed just now by someone else. It was {_quoted(was)}.", "warn")


def show_nothing(field: Field) -> None:
    """Take away what was said."""
    for block in field.query(".met"):
        block.remove()


def _say(field: Field, text: str, tone: str) -> None:
    def painted(width: int) -> list[Line]:
        return paint.said("! ", text, width, tone)

    said = next(iter(field.query(".met").results(Block)), None)
    if said is None:
        said = Block(classes="met")
        field.mount(said)
    said.show(painted)
    said.repaint()


def _quoted(text: str) -> str:
    return f"“{plain(text.strip())}”" if text.strip() else "blank"
