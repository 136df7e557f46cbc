"""Bench: quantities without a job. One tab per sum; the answer is under or beside the form."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType
from textual.containers import Vertical

from finishlog.errors import FinishlogError, InputError
from finishlog.tui import actions
from finishlog.tui.bench import sums
from finishlog.tui.bench.blend import Colored
from finishlog.tui.forms.fields import Field, said
from finishlog.tui.paint import layout, wording
from finishlog.tui.paint.ink import Line, paragraph, rule
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block, nothing
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from finishlog.tui.bench.sums import Painter, Sum


class Parts(Block, can_focus=True):
    """The tab row; left and right change the sum while it has the focus."""


class BenchScreen(Frame):
    """One form per sum, mounted when first shown: each keeps what was typed and its answer."""

    SCOPE = "bench"
    PLACE = "bench"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("bench")

    def __init__(self) -> None:
        super().__init__()
        self._at = 0
        self._forms: list[tuple[Field, ...]] = [() for _ in sums.SUMS]
        self._answers: list[Painter] = [nothing for _ in sums.SUMS]
        self._sentences = ["" for _ in sums.SUMS]

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        yield Parts(id="tabs")
        with Vertical(id="bench"):
            for index in range(len(sums.SUMS)):
                yield Pane(id=f"sum-{index}", classes="sum", can_focus=False)
            with Pane(id="answer-pane"):
                yield Block(id="answer")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#tabs", Block).show(self._paint_tabs)
        self.query_one("#answer", Block).show(self._paint_answer)
        self._turn(0)
        self.query_one(Parts).focus()

    @property
    def sum(self) -> Sum:
        """The sum whose form is shown."""
        return sums.SUMS[self._at]

    @property
    def fields(self) -> tuple[Field, ...]:
        """Those of the sum shown."""
        return self._forms[self._at]

    @property
    def stands(self) -> bool:
        """Whether the form shown is there to take keys."""
        return super().stands and bool(self.fields) and all(field.is_mounted for field in self.fields)

    @property
    def resting(self) -> bool:
        return all(field.resting for field in self.fields)

    @property
    def sentence(self) -> str:
        return self._sentences[self._at] or self.sum.question

    # painting

    def _paint_title(self, width: int) -> list[Line]:
        colored = isinstance(self._answers[self._at], Colored)
        notes = wording.cannot_show(self.house.depth, width) if colored else []
        return self.head(f"Bench · {self.sum.title}", "no job", width, *notes)

    def _paint_tabs(self, width: int) -> list[Line]:
        focused = self.query_one(Parts).has_focus
        mark = Line().put("▌" if focused else " ", "accent")
        names = [one.title for one in sums.SUMS]
        return [mark.join(layout.tabs(names, self._at, "part_to({})")), rule(width)]

    def _paint_answer(self, width: int) -> list[Line]:
        painter = self._answers[self._at]
        if isinstance(painter, Colored):
            return painter(width, self.house.depth, self.house.palette.dark)
        return painter(width)

    # keys

    def action_part(self, by: int) -> None:
        self.action_part_to((self._at + by) % len(sums.SUMS))

    def action_part_to(self, index: int) -> None:
        self._turn(index)
        self.query_one(Parts).focus()

    def _turn(self, index: int) -> None:
        self._at = index
        for other in range(len(sums.SUMS)):
            self.query_one(f"#sum-{other}").display = other == index
        if not self.fields:
            self._forms[index] = self.sum.specs(self.house.units)
            self.query_one(f"#sum-{index}").mount_all(self.fields)
        self.repaint()

    def step_back(self) -> bool:
        if self.focused is not None and self.focused is not self.query_one(Parts):
            self.query_one(Parts).focus()
            return True
        return False

    @on(Field.Next)
    def action_next_field(self) -> None:
        self.focus_next()

    def on_descendant_focus(self) -> None:
        self.query_one(Parts).repaint()

    def on_descendant_blur(self) -> None:
        self.query_one(Parts).repaint()

    # answering

    @on(Field.Changed)
    def _changed(self) -> None:
        """Recalculate once every needed field is filled."""
        values = {field.asked.key: field.value.strip() for field in self.fields}
        at, one = self._at, self.sum
        if not all(values[key] for key in one.needed):
            self._answered(at, ("", nothing))
            return
        self.ask(
            "answer",
            partial(one.answer, self.desks, values, self.house.units),
            partial(self._answered, at),
            self._wrong,
        )

    def _answered(self, at: int, answer: tuple[str, Painter]) -> None:
        self._sentences[at], self._answers[at] = answer
        self.query_one(f"#sum-{at}").set_class(isinstance(answer[1], Colored), "-answered")
        self.repaint()

    def _wrong(self, error: Exception) -> None:
        if not isinstance(error, FinishlogError):
            self.fail(error)
            return
        where = error.where if isinstance(error, InputError) else ""
        fields = {field.asked.key: field for field in self.fields}
        if where in fields and isinstance(error, InputError) and not fields[where].entry.has_focus:
            fields[where].blame(error)
        self._answers[self._at] = lambda width: paragraph(said(error), width, "bad")
        self._sentences[self._at] = ""
        self.repaint()
