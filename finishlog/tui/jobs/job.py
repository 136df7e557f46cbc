"""One job: color strip on top, then what went in, what was done, looks, care."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual.binding import BindingType
from textual.containers import Vertical

from finishlog.tui import actions
from finishlog.tui.desks.color import LAST_DAY, Ahead
from finishlog.tui.jobs import done, paint
from finishlog.tui.jobs.planned import PlannedJob
from finishlog.tui.jobs.strip import strip
from finishlog.tui.paint import layout, wording
from finishlog.tui.paint.ink import Line, rule
from finishlog.tui.screens.frame import HIGH, WIDE
from finishlog.tui.screens.takes_back import TakesBack
from finishlog.tui.widgets.bars import Footer
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from finishlog.records.log import JobLine
    from finishlog.tui.desks.views import JobView


LOW_ROWS, ROWS = 2, 4
"""Most rows for the marked entry."""


class Parts(Pane):
    """Up and down move the mark in Was done before they scroll."""

    def action_scroll_up(self) -> None:
        if not cast(JobScreen, self.screen).moved(-1):
            super().action_scroll_up()

    def action_scroll_down(self) -> None:
        if not cast(JobScreen, self.screen).moved(1):
            super().action_scroll_down()


class JobScreen(TakesBack, PlannedJob):
    """Shows the list's `line` at once; the rest follows when read."""

    SCOPE = "job"
    FOLLOWS = True
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("job")

    def __init__(self, line: JobLine) -> None:
        super().__init__(line)
        self._part = 0
        self._mark: int | None = None
        self._newest: int | None = None
        self._ahead: Ahead | None = None

    def compose_body(self) -> ComposeResult:
        with Vertical(id="head"):
            yield Block(id="title")
            yield Block(id="strip")
            yield Block(id="tabs")
        with Parts():
            yield Block(id="part")
        yield Block(id="entry")

    def on_mount(self) -> None:
        for name, painter in (
            ("title", self._paint_title), ("strip", self._paint_strip), ("tabs", self._paint_tabs),
            ("part", self._paint_part), ("entry", self._paint_entry),
        ):  # fmt: skip
            self.query_one(f"#{name}", Block).show(painter)
        self.query_one(Pane).focus()
        self.reread()

    def reread(self) -> None:
        self.ask("job", lambda: self.desks.job(self._line.handle), self._came)

    def _came(self, view: JobView) -> None:
        others, self.by_others = self.by_others and self._view is not None, False
        row = self._marked_row
        self._view = view
        self._line = view.page.line
        found = done.standing(view)
        newest, known = max(found, default=None), self._newest
        if self._mark not in found or (newest != known and not others):
            self._mark = newest
        self._newest = newest
        self._look_ahead()
        self.ask_since()
        self.repaint()
        if others:
            self.call_after_refresh(self._stay, row)
        elif self._marking and known is not None:  # open at the top
            self.call_after_refresh(self._show_mark)

    def _look_ahead(self) -> None:
        """Ask a young slab's forecast after the page: the first is slow, it learns from all jobs."""
        old = self._view.page.age_days if self._view is not None else None
        if old is not None and 0 <= old <= LAST_DAY:
            self.ask("ahead", lambda: self.desks.ahead(self._line.handle), self._comes, self._untold)

    def _comes(self, ahead: Ahead) -> None:
        self._ahead = ahead
        self.repaint()
        if self._marking and not self.wide:  # the forecast shrinks the list under it
            self.call_after_refresh(self._show_mark)

    def _untold(self, error: Exception) -> None:
        self._comes(Ahead(note=f"No forecast: {error}"))

    @property
    def own_job(self) -> str:
        return self._line.handle

    @property
    def site_zone(self) -> str:
        return self._view.page.job.site.zone if self._view else ""

    @property
    def sentence(self) -> str:
        if self._view is None:
            return ""
        told = (self._ahead and self._ahead.sentence) or self._view.page.sentence
        half = f"Unfinished: {self._half}. Press l." if self._view.half else ""
        return " ".join(
            filter(None, (half, told) if self.low else (told, half))
        )  # low: what is left out is last

    @property
    def _half(self) -> str:
        kinds = self._view.half if self._view else ()
        return ", ".join(kind.replace("_", " ") for kind in kinds)

    def resized(self, width: int) -> None:
        self.query_one(Footer).hide(*(["job.next"] if width >= WIDE else []))
        super().resized(width)

    # painting

    def _paint_title(self, width: int) -> list[Line]:
        fact = wording.poured(self._view) if self._view else wording.when(self._line)
        shown = self._view is not None and bool(self._view.looks)
        notes = wording.cannot_show(self.house.depth, width) if shown else []
        return self.head(wording.name(self._line), fact, width, *notes)

    def _paint_strip(self, width: int) -> list[Line]:
        if self._view is None or (self.is_planned and not self._view.looks):
            return []
        rows = 4 if self.size.height >= HIGH else 2
        return strip(
            self._view, self._ahead, width, rows, self.house.depth, self.house.palette.dark, figures=self.wide
        )

    def _paint_tabs(self, width: int) -> list[Line]:
        gap = [] if self.low else [Line()]
        return gap if self.wide else [*gap, layout.tabs(self._parts, self._part, "part_to({})"), rule(width)]

    def _paint_part(self, width: int) -> list[Line]:
        if self._view is None:
            return []
        shades = (self.house.depth, self.house.palette.dark)
        if self.wide:
            return paint.wide(self._view, width, self._mark, self.house.units, self.since, shades)
        return paint.part(self._view, self._part, width, self._mark, self.house.units, self.since, shades)

    def _paint_entry(self, width: int) -> list[Line]:
        """The marked entry in full, under the list."""
        if self._view is None or not self._marking:
            return []
        return done.entry(self._view, self._mark, width, LOW_ROWS if self.low else ROWS)

    @property
    def _parts(self) -> tuple[str, ...]:
        return paint.parts(self._view)

    @property
    def _marking(self) -> bool:
        """Whether Was done is shown."""
        return self._view is not None and (self.wide or self._parts[self._part] == "Was done")

    def moved(self, by: int) -> bool:
        """Move the mark by one entry; False without a mark or at the end."""
        found = done.standing(self._view) if self._view and self._marking else []
        if self._mark not in found or not 0 <= found.index(self._mark) + by < len(found):
            return False
        self._mark = found[found.index(self._mark) + by]
        self.repaint()
        self._show_mark()
        return True

    @property
    def _marked_row(self) -> int:
        block = self.query_one("#part", Block)
        rows = [line.text for line in block.paint(block.size.width)]
        return next((at for at, text in enumerate(rows) if done.MARK in text), 0)

    def _stay(self, row: int) -> None:
        """The mark stays when others write."""
        pane = self.query_one(Parts)
        pane.scroll_to(y=max(pane.scroll_offset.y + self._marked_row - row, 0), animate=False)

    def _show_mark(self) -> None:
        pane, row = self.query_one(Parts), self._marked_row
        top, height = round(pane.scroll_offset.y), pane.size.height
        if not top <= row < top + height - 3:
            pane.scroll_to(y=max(row - height // 3, 0), animate=False)

    # keys

    def action_part(self, by: int) -> None:
        self.action_part_to((self._part + by) % len(self._parts))

    def action_part_to(self, index: int) -> None:
        self._part = index
        self.query_one(Parts).scroll_home(animate=False)
        self.repaint()
        if self._marking:
            self.call_after_refresh(self._show_mark)

    def action_log(self) -> None:
        from finishlog.tui.log.kinds import KindScreen

        half = self._view.half if self._view else ()
        self.app.push_screen(KindScreen(self._line.handle, wording.name(self._line), half))

    def action_color(self) -> None:
        from finishlog.tui.color.screen import ColorScreen

        self.app.push_screen(ColorScreen(self._line.handle, wording.name(self._line)))

    def action_day(self) -> None:
        from finishlog.tui.log.day import DayScreen

        self.app.push_screen(DayScreen(self._line.handle, wording.name(self._line)))

    def action_paper(self) -> None:
        from finishlog.tui.forms.paper import JobPaper

        if self._view is not None:
            self.app.push_screen(JobPaper(self._view))

    def action_rinse(self) -> None:
        from finishlog.tui.rinse.screen import RinseScreen

        self.app.push_screen(RinseScreen(self._line.handle, wording.name(self._line)))

    def action_photo(self) -> None:
        from finishlog.tui.photo.photos import PhotosScreen

        self.app.push_screen(PhotosScreen(self._line.handle, wording.name(self._line)))

    def action_small(self, what: str) -> None:
        """Open a small form: change order, copied recipe, owner…"""
        from finishlog.tui.log.small import SmallScreen

        self.app.push_screen(SmallScreen(self._line.handle, wording.name(self._line), what))

    def action_archive(self) -> None:
        self.put(lambda: self.desks.archive(self._line.handle, back=False), self._archived)

    def action_unarchive(self) -> None:
        self.put(lambda: self.desks.archive(self._line.handle, back=True), self._archived)

    def _archived(self, sentence: str) -> None:
        self.house.done(sentence.replace("unarchive brings", "Ctrl+P, “bring back”, brings"))
        self.house.changed()

    def action_edit(self) -> None:
        """Correct the marked entry; show the list first if it is not."""
        from finishlog.tui.log.entry import LogScreen

        if self._view is None or self._mark is None:
            self.say("not poured yet; l logs its first entry" if self.is_planned else "nothing logged yet")
        elif not self._marking:
            self.action_part_to(self._parts.index("Was done"))
        else:
            form = LogScreen(self._line.handle, wording.name(self._line), replaces=self._mark)
            self.app.push_screen(form)

    def action_move(self) -> None:
        """Move the marked entry to another job; show the list first if it is not."""
        from finishlog.tui.jobs.move import MoveScreen

        if self._view is None or self._mark is None:
            self.say("nothing logged yet")
        elif not self._marking:
            self.action_part_to(self._parts.index("Was done"))
        else:
            marked = next(doing for doing in self._view.page.doings if doing.number == self._mark)
            self.app.push_screen(MoveScreen(self._line.handle, marked))
