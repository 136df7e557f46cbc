"""Move an entry to the right job: find it, Enter moves."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType
from textual.screen import Screen

from finishlog.errors import InputError
from finishlog.tui import actions
from finishlog.tui.forms.why import WhyScreen
from finishlog.tui.jobs.finder import JobFinder
from finishlog.tui.paint import wording
from finishlog.tui.paint.ink import Line

if TYPE_CHECKING:
    from finishlog.desk.record.record import Recorded
    from finishlog.records.page import Doing


class MoveScreen(JobFinder, inherit_bindings=False):
    """Jobs, to choose one; `doing` is the entry as its own job shows it."""

    SCOPE = "move"
    PLANS = False
    BINDINGS: ClassVar[list[BindingType]] = [*Screen.BINDINGS, *actions.bindings("move")]

    def __init__(self, handle: str, doing: Doing) -> None:
        super().__init__()
        self._from, self._doing = handle, doing
        self._to_box = True

    def _paint_hint(self, width: int) -> list[Line]:
        doing = self._doing
        return [
            Line()
            .put(f"Move to which job: entry {doing.number}, {doing.what}, {doing.when}", "accent")
            .crop(width),
            *wording.cannot_show(self.house.depth, width),
        ]

    def action_open(self) -> None:
        if (line := self.rows.current) is None:
            return
        if line.handle == self._from:
            self.say("it is already on this job")
            return
        to = line.handle
        self._move(to, None)

    def _move(self, to: str, because: str | None) -> None:
        handle, number = self._from, self._doing.number
        self.put(
            lambda: self.desks.move_entry(handle, number, to, because), self._moved_there,
            lambda error: self._refused(error, to),
        )  # fmt: skip

    def _refused(self, error: Exception, to: str) -> None:
        if isinstance(error, InputError) and hasattr(error, "doubts"):
            self.app.push_screen(WhyScreen("Move it there", error, lambda because: self._move(to, because)))
        else:
            self.fail(error)

    def _moved_there(self, recorded: Recorded) -> None:
        self.app.pop_screen()
        moved = f"Moved to {recorded.job}, entry {recorded.entry.number}."
        self.house.done(" ".join((moved, *recorded.warnings, "u moves it back.")))
        self.house.changed()
