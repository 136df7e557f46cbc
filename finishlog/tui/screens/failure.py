"""The error dialog: what happened, why, what to do; details can be copied."""

from __future__ import annotations

import traceback
from typing import TYPE_CHECKING, ClassVar, cast

from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen

from finishlog import __version__
from finishlog.errors import FinishlogError, InputError, ServerAway
from finishlog.plain import visible_lines
from finishlog.tui import actions
from finishlog.tui.paint import wording
from finishlog.tui.paint.ink import Line, paragraph
from finishlog.tui.widgets.canvas import Block

if TYPE_CHECKING:
    from textual.app import ComposeResult


NOT_WRITTEN = "Not written: the server is away."
UNSURE = (
    "The server went away in the middle of writing.",
    "Whether it was written is looked up as soon as the server is back, and said.",
    "What you typed stays.",
)
TRY_AGAIN = "What you typed stays. Try again once the top bar no longer says that it is away."


class Failure(ModalScreen[None]):
    """`error` may be any exception; one of ours is told without a trace. `unwritten`: it kept something from being
    written."""

    BINDINGS: ClassVar[list[BindingType]] = [*actions.bindings("failure"), ("escape", "close")]

    def __init__(self, error: Exception, *, unwritten: bool = False) -> None:
        super().__init__()
        self.error, self._unwritten = error, unwritten
        self.copied = False

    def compose(self) -> ComposeResult:
        with Vertical(id="dialog"):
            yield Block()

    def on_mount(self) -> None:
        self.query_one(Block).show(self._paint)

    def _paint(self, width: int) -> list[Line]:
        title, cause, remedy = said(self.error)
        if self._unwritten and isinstance(self.error, ServerAway):
            title, cause, remedy = UNSURE if self.error.unsure else (NOT_WRITTEN, title, TRY_AGAIN)
        lines = paragraph(title, width, bold=True)
        for text in (cause, remedy):
            lines += [Line(), *paragraph(text, width)] if text else []
        keys = Line().bold("Enter", "accent").put(" close", act="close").gap(3)
        keys.put("y", "accent", bold=True, act="copy").put(" copy details", act="copy")
        if self.copied:
            keys = keys.facing(Line().put("copied", "ok"), width)
        return [*lines, Line(), keys]

    def action_close(self) -> None:
        self.dismiss()

    def action_copy(self) -> None:
        self.app.copy_to_clipboard(details(self.error))
        self.copied = True
        self.query_one(Block).repaint()


def said(error: Exception) -> tuple[str, str, str]:
    """What happened, why, what to do. An exception that is not ours is a bug, and says so."""
    if isinstance(error, InputError):
        named = error.where and not error.where.startswith("--")
        told = (f"{error.where}: {error.title}" if named else error.title, error.cause, error.remedy)
        return cast(tuple[str, str, str], tuple(map(wording.without_options, told)))
    if isinstance(error, FinishlogError):
        return error.title, error.cause, error.remedy
    return (
        "This is a bug in finishlog, not your mistake.",
        f"{type(error).__name__}: {error}",
        "Nothing half-written went into the log. Copy the details for the person who maintains finishlog.",
    )


def details(error: Exception) -> str:
    """The failure with its trace, to send to the maintainer."""
    trace = "" if isinstance(error, FinishlogError) else "".join(traceback.format_exception(error))
    parts = [f"finishlog {__version__}", *said(error), trace]
    return visible_lines("\n".join(part for part in parts if part))


def crash_text(error: Exception) -> str:
    """What the terminal shows after a crash."""
    return "\n".join(visible_lines(part) for part in (*said(error)[:1], *traceback.format_exception(error)))
