"""Color: a slab's curve, its forecast, and when it can be judged."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.color import paint
from finishlog.tui.paint import wording
from finishlog.tui.paint.ink import Line
from finishlog.tui.paint.layout import beside
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.bars import Footer
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from finishlog.tui.desks.color import ColorView, TrackView

SIDE = 30
AROUND = 7
"""Rows taken by all but plot and title: bars, axis, days, looks, legend."""


class ColorScreen(Frame):
    """The arrows look at a day; `title` is the job's name as its own screen shows it."""

    SCOPE = "color"
    FOLLOWS = True
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("color")

    def __init__(self, handle: str, title: str) -> None:
        super().__init__()
        self._handle, self._title = handle, title
        self._view: ColorView | None = None
        self._at = 0
        self._day: int | None = None

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Pane():
            yield Block(id="curve")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#curve", Block).show(self._paint_curve)
        self.query_one(Pane).focus()
        self.reread()

    def reread(self) -> None:
        self.ask("color", lambda: self.desks.color(self._handle), self._came)

    def _came(self, view: ColorView) -> None:
        self._view = view
        self._at = min(self._at, max(len(view.tracks) - 1, 0))
        self.query_one(Footer).hide(*([] if len(view.tracks) > 1 else ["color.area"]))
        self.repaint()

    @property
    def _track(self) -> TrackView | None:
        return self._view.tracks[self._at] if self._view is not None and self._view.tracks else None

    @property
    def sentence(self) -> str:
        if self._view is None:
            return ""
        return self._track.sentence if self._track else "No color yet. Nothing logged on this job."

    # painting

    def _paint_title(self, width: int) -> list[Line]:
        several = self._view is not None and len(self._view.tracks) > 1
        part = f" · {self._track.name}" if several and self._track else ""
        age = self._view.found.age_days if self._view is not None else None
        fact = paint.old(age)
        shown = self._track is not None and bool(self._track.days)
        notes = wording.cannot_show(self.house.depth, width) if shown else []
        return self.head(f"Color · {self._title}{part}", fact, width, *notes)

    def _paint_curve(self, width: int) -> list[Line]:
        if self._view is None or self._track is None:
            return []
        if not self._track.track.band:
            return paint.facts(self._view.found, self._track, width)
        side = SIDE if self.wide else 0
        curve = paint.curve(
            self._view.found, self._track, width - side, self._rows(width), self.house.depth, self.house.palette.dark,
            self._day,
        )  # fmt: skip
        if side:
            return beside(curve, paint.facts(self._view.found, self._track, side - 2), width - side + 2)
        return [*curve, Line(), *paint.facts(self._view.found, self._track, width)]

    def _rows(self, width: int) -> int:
        """Rows left for the plot."""
        return min(max(self.size.height - AROUND - len(self._paint_title(width)), 6), 24)

    # keys

    def action_day(self, by: int) -> None:
        if self._view is None or self._track is None or not self._track.days:
            return
        last = self._track.days[-1].age
        today = min(round(self._view.found.age_days or 0), last)
        self._day = min(max((today if self._day is None else self._day) + by, 0), last)
        self.repaint()

    def action_track(self, by: int) -> None:
        if self._view is not None and self._view.tracks:
            self._at = (self._at + by) % len(self._view.tracks)
            self.repaint()

    def action_log(self) -> None:
        from finishlog.tui.log.entry import LogScreen

        self.app.push_screen(LogScreen(self._handle, self._title, "reading"))

    def action_keep(self) -> None:
        self.put(lambda: self.desks.keep_forecast(self._handle), lambda _: self.house.done("Forecast saved."))

    def action_good(self) -> None:
        from finishlog.tui.color.how_good import HowGoodScreen

        self.app.push_screen(HowGoodScreen())

    def action_recipes(self) -> None:
        from finishlog.tui.color.recipes import RecipesScreen

        self.app.push_screen(RecipesScreen())

    def step_back(self) -> bool:
        """Drop the picked day first."""
        if self._day is None:
            return False
        self._day = None
        self.repaint()
        return True
