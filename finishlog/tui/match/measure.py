"""Measures of an addition: the step from the old job to the plan."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType
from textual.containers import Horizontal

from finishlog.errors import InputError
from finishlog.tui import actions
from finishlog.tui.forms import measures
from finishlog.tui.forms.fields import Button, Field
from finishlog.tui.paint.ink import Line
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.entry import Entry
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from finishlog.desk.match.plan import Measures
    from finishlog.tui.desks.views import PlanView


class MeasureScreen(Frame):
    """The texts are kept per job on the app, so leaving loses none."""

    SCOPE = "measure"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("measure")

    def __init__(self, handle: str, area: str = "") -> None:
        super().__init__()
        self._handle = handle
        self._area = area
        self._measures: Measures | None = None
        self._fields: list[Field] = []
        self._word = ""
        self._back = False
        self._planning = False

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        yield Pane(id="fields", can_focus=False)
        with Horizontal(id="verb"):
            yield Button("Plan it")
            yield Block(id="total")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#total", Block).show(self._paint_total)
        handle, area = self._handle, self._area or self.house.typed.get(self._handle, {}).get("area", "")
        self._area = area
        self.ask("measures", lambda: self.desks.prepare(handle, area or None), self._prepared, self.not_begun)

    async def _prepared(self, offered: Measures) -> None:
        demo = self.house.demo
        suggested = demo is not None and demo.handle == self._handle
        start = {"rect": demo.rect, "depth": demo.depth} if demo is not None and suggested else {}
        kept = self.house.typed.get(self._handle, {})
        self._back = bool(kept)
        pane = self.query_one("#fields", Pane)
        today = self.house.services.today()
        found = measures.specs(offered, self.house.units, today, self._area)
        with self.app.batch_update():  # laid out once, when all of it is there
            await pane.mount_all(found)
        self._fields = list(found)
        for field in self.fields:
            field.entry.select_on_focus = True
            if text := (start | kept).get(field.asked.key):
                field.fill(text)
        self._measures = offered
        self.repaint()
        first = self.fields[1 if self._area and len(offered.areas) > 1 else 0]
        (self.query_one(Button) if suggested else first.entry).focus()

    @property
    def fields(self) -> list[Field]:
        """In order of Tab; empty until the reference was read."""
        return self._fields

    @property
    def values(self) -> dict[str, str]:
        """Texts as typed, by field key."""
        return {field.asked.key: field.value for field in self.fields}

    @property
    def stands(self) -> bool:
        """Not while it plans: typed keys wait for the plan's screen."""
        there = self._measures is not None and bool(self.fields) and not self._planning
        return there and super().stands

    @property
    def resting(self) -> bool:
        return all(field.resting for field in self.fields)

    @property
    def site_zone(self) -> str:
        return self._measures.zone if self._measures else ""

    @property
    def sentence(self) -> str:
        back = "What you typed is back. " if self._back else ""
        return f"{back}Measure the addition. Leave unknowns blank; the plan says what to ask."

    # painting

    def _paint_title(self, width: int) -> list[Line]:
        name = f"Measures · {self._measures.title}" if self._measures else "Measures"
        return self.head(name, "to match it", width)

    def _paint_total(self, width: int) -> list[Line]:
        if self._word:
            return [Line().put(self._word, "bad").crop(width)]
        found = measures.total(self.values, self.house.units) if self.fields else ""
        line = Line().muted("→ ").put(found) if found else Line()
        return [line.crop(width)]

    # keys

    @on(Field.Changed)
    def _changed(self) -> None:
        self._word = ""
        self.house.typed[self._handle] = self.values
        self.query_one("#total", Block).repaint()
        self._another_area()

    def _another_area(self) -> None:
        """Renew the hints for the area chosen: each has its own depth, mix and lots. The cursor stays."""
        wanted = self.values.get("area", "").strip()
        areas = self._measures.areas if self._measures else ()
        now = self._area or (areas[0] if areas else "")
        if wanted in areas and wanted != now:
            self._area = wanted
            self.ask("measures", lambda: self.desks.prepare(self._handle, wanted), self._turned)

    def _turned(self, offered: Measures) -> None:
        self._measures = offered
        today = self.house.services.today()
        anew = {one.asked.key: one for one in measures.specs(offered, self.house.units, today, self._area)}
        for field in self.fields:
            if field.asked.key == "area":
                anew["area"].start = field.value
            field.renew(anew[field.asked.key])
        self.house.typed[self._handle] = self.values
        self.repaint()

    @on(Field.Next)
    def action_next_field(self) -> None:
        self.focus_next()

    def step_back(self) -> bool:
        """Leave the field first; typed text stays."""
        if self.fields:
            self.house.typed[self._handle] = self.values
        if isinstance(self.focused, Entry):
            self.query_one(Button).focus()
            return True
        return False

    @on(Button.Pressed)
    def action_plan(self) -> None:
        wrong = [field for field in self.fields if field.judge() is not None]
        if not self.fields:
            return
        if wrong:
            many = "1 field" if len(wrong) == 1 else f"{len(wrong)} fields"
            self._to_mend(wrong[0], f"{many} to fix")
            return
        self.house.typed[self._handle] = self.values
        try:
            wanted = measures.request(self._handle, self.values)
        except InputError as error:
            self._refused(error)
            return
        self._planning = True
        self.ask("plan", partial(self.desks.make, wanted), self._planned, self._refused)

    def _planned(self, view: PlanView) -> None:
        from finishlog.tui.match.screen import MatchScreen

        self._planning = False
        self.app.push_screen(MatchScreen(view))

    def _refused(self, error: Exception) -> None:
        """A wrong measure shows under its field, a limit in a dialog."""
        self._planning = False
        self.house.ahead.drop()  # typed for the plan that does not come
        key = measures.FIELD_OF.get(error.where, error.where) if type(error) is InputError else ""
        field = next((field for field in self.fields if field.asked.key == key), None)
        if (
            field is None
            and type(error) is InputError
            and not any(self.values[s.key] for s in measures.SHAPES)
        ):
            field = next(one for one in self.fields if one.asked.key == "rect")
        if field is not None and isinstance(error, InputError):
            field.blame(error)
            self._to_mend(field, "1 field to fix")
        else:
            self.fail(error)

    def _to_mend(self, field: Field, word: str) -> None:
        self._word = word
        self.query_one("#total", Block).repaint()
        field.entry.focus()
