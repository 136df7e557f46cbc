"""Sheets over Today's lower rows: log the marked line, or put it off. The list stays visible."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen

from finishlog.tui import actions
from finishlog.tui.due.today_paint import whose
from finishlog.tui.forms import specs
from finishlog.tui.forms.fields import Button, Field, asks
from finishlog.tui.forms.form import FormScreen
from finishlog.tui.log.entry import LogScreen
from finishlog.tui.paint.ink import Line, hanging, rule
from finishlog.tui.widgets.bars import Footer
from finishlog.tui.widgets.canvas import Block

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.widget import Widget

    from finishlog.desk.forms.offers import Offer
    from finishlog.desk.record.record import Recorded
    from finishlog.records.due import TodayLine
    from finishlog.tui.forms.form import Part
    from finishlog.tui.widgets.pane import Pane

QUESTION = "swept"
"""The question asked first, if any: Enter jumps from it to the button."""
FIRST = (QUESTION, "at", "by")
UNDO = "u undoes it"
BACK = ("app.back", "app.help")
FIELDS, LOW_FIELDS = 10, 8
"""Most rows of fields, so the list stays visible."""


class Sheet(FormScreen, ModalScreen[None]):
    """Enter on the button logs; typed before the fields are there, it logs once they are."""

    SCOPE = "sheet"
    PLACE = "today"
    BINDINGS: ClassVar[list[BindingType]] = [
        *actions.bindings("sheet"),
        *(each for each in actions.bindings("app") if getattr(each, "id", "") in BACK),
    ]
    NOTE = "Tab changes a field"

    def __init__(self, line: TodayLine, logged: Callable[[str], object]) -> None:
        super().__init__()
        self.line = line
        self._logged = logged
        self._at_once = False

    def compose(self) -> ComposeResult:
        with Vertical(id="sheet"):
            yield from self.compose_body()
        yield Block(id="small")
        yield Footer(self.SCOPE)

    @property
    def note(self) -> str:
        return "writing…" if self.writing else self.NOTE

    def _paint_title(self, width: int) -> list[Line]:
        head = Line().bold(self.name_of_it).gap(2).put(whose(self.line)).crop(width)
        back = [Line().put(self.unfinished, "warn").crop(width)] if self.unfinished else []
        if head.width + len(UNDO) + 2 <= width:
            head.facing(Line().muted(UNDO), width)
        most = 1 if self.low else 2
        mind = [row for one in self._mind[:most] for row in hanging(Line().put("! ", "warn"), one, width)]
        return [rule(width), head, *back, *mind, *([] if self.low else [Line()])]

    @property
    def _mind(self) -> tuple[str, ...]:
        """Work due first, then cautions."""
        return (*([self.line.first] if self.line.first else []), *self.line.cautions)

    def _paint_cautions(self, width: int) -> list[Line]:
        """None here: they are above the fields, where none scrolls away."""
        return []

    def beside(self) -> Sequence[tuple[str, Sequence[str]]]:
        return ()

    def ready(self) -> None:
        """Focus the button, or the first required blank.

        A restored form starts at its first field, to be checked.
        """
        if self.resumed:
            return
        blank = [field for field in self.fields if field.asked.required and not field.value]
        (blank[0].entry if blank else self.query_one(Button)).focus()
        if self._at_once and not blank:
            self.action_keep()

    def action_at_once(self) -> None:
        if self.fields:
            self.action_keep()
        else:
            self._at_once = True

    async def end_with(self, pane: Pane, ends: Sequence[Widget]) -> None:
        """Outside the scrolling fields, so that what is saved and the button stay visible."""
        await self.query_one("#sheet").mount_all(ends)
        self._leave_room()

    def resized(self, width: int) -> None:
        super().resized(width)
        self._leave_room()

    def _echo_all(self) -> None:
        super()._echo_all()
        self._leave_room()

    def _ask_why(self, doubts: Sequence[str]) -> None:
        super()._ask_why(doubts)
        self._leave_room()

    def _leave_room(self) -> None:
        self.call_after_refresh(self._fit)

    def _fit(self) -> None:
        """Give the fields the rows the rest of the sheet leaves."""
        others = [*self.query("#sheet > Block"), *self.query("#sheet > #verb, #sheet > #field-because")]
        taken = sum(one.outer_size.height for one in others if one.display)
        most = LOW_FIELDS if self.low else FIELDS
        rows = max(min(most, self.size.height - 2 - taken), 1)
        self.query_one("#form").styles.max_height = rows

    def keep(self, call: Callable[[], Any], done: Callable[[Any], object]) -> None:
        super().keep(call, done)
        self.query_one("#note", Block).refresh()

    def _recorded(self, recorded: Recorded) -> None:
        self._logged(recorded.job)
        self.leave()
        self.house.done(" ".join((recorded.sentence, *recorded.warnings, "u undoes it.")))
        self.house.changed()


class DueSheet(Sheet, LogScreen):
    """Logs a line as usual: now, by the last person."""

    def __init__(self, line: TodayLine, logged: Callable[[str], object]) -> None:
        LogScreen.__init__(self, line.job, line.who, line.kind)
        self.line, self._logged, self._at_once = line, logged, False

    @property
    def name_of_it(self) -> str:
        return f"Log it: {self.line.title.lower()}"

    def begin(self) -> None:
        line = self.line
        self.ask("offer", lambda: self.desks.due_offer(line), self._came, self.not_begun)

    async def _came(self, offer: Offer) -> None:
        await self._offered((offer, ((), ())))
        self.ready()

    def _parts(self, offer: Offer) -> list[Part]:
        """Only fields that are usual, required, worth asking or already begun; when and who first."""
        wanted = {*offer.values, *offer.planned, *(offer.draft or {}), *offer.asks}
        if not self.line.where:
            wanted -= {"area"}
        fields = [replace(one, group="") for one in offer.fields if one.required or one.key in wanted]
        fields.sort(key=lambda field: FIRST.index(field.key) if field.key in FIRST else len(FIRST))
        return [*specs.of_fields(fields, offer.values, offer.choices, planned=offer.planned)]

    @on(Field.Next)
    def _answered(self, event: Field.Next) -> None:
        """The question answered, go to the button."""
        field = self.fields[0] if self.fields else None
        if field is not None and field.asked.key == QUESTION and self.focused is field.entry and field.value:
            event.prevent_default()
            self._checked = True  # checked: all that is saved shows above the button
            self.query_one(Button).focus()


class PutOffSheet(Sheet):
    """Hides a line until a day or an hour."""

    VERB = "Put it off"
    NOTE = "it comes back that day"

    @property
    def name_of_it(self) -> str:
        return f"Put off: {self.line.title.lower()}"

    def begin(self) -> None:
        self.call_after_refresh(self._begun_now)

    async def _begun_now(self) -> None:
        until = asks(
            "until", "Until", self._echo, start="tomorrow 7a", required="Until when? Like tomorrow 7a."
        )
        await self.build([until], None)
        self.query_one(Button).focus()

    def _echo(self, text: str) -> str:
        from finishlog.desk.time_left import usual
        from finishlog.inputs.until import read_until

        zone = self.line.opens_at.tzinfo
        assert zone is not None
        until = read_until(text, self.house.services.clock(), zone).astimezone(zone)
        return usual(until, until)

    def send(self, texts: dict[str, str], because: str | None) -> None:
        line = self.line
        self.keep(lambda: self.desks.put_off(line, texts["until"]), self._recorded)
