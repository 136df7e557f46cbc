"""Rinse day: three spots, typed or from a photo; how much release is left, and whether to rinse more."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType
from textual.containers import Horizontal

from finishlog.errors import FinishlogError, InputError
from finishlog.tui import actions
from finishlog.tui.forms.fields import Field, asks, said
from finishlog.tui.paint import wording
from finishlog.tui.paint.ink import Line, paragraph
from finishlog.tui.rinse import paint
from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.pane import Pane

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from finishlog.desk.photo.measured import Measured
    from finishlog.tui.desks.photo import RinseView


@dataclass(frozen=True, slots=True)
class _Held:
    """Input of the answer; a photo's spots until colors are typed over them."""

    texts: dict[str, str]
    measured: Measured | None = None


def _color(text: str) -> str:
    """Echo a spot's colors. The first call may take a second to load the color library."""
    from finishlog.inputs import colors

    return "; ".join(colors.write(colors.read(part)) for part in text.split(";") if part.strip())


def _share(text: str) -> str:
    from finishlog.inputs.rinse import read_share

    return f"{read_share(text) * 100:.0f} % of the surface"


def _spots() -> tuple[Field, ...]:
    return (
        asks("field", "The field", _color, hint="49.5,4.8,12.2; several with ; between"),
        asks("rinsed", "Rinsed spot", _color, hint="on the kept sample or a hidden edge"),
        asks("unrinsed", "Unrinsed spot", _color, hint="same, in the same picture"),
        asks("dried", "All three dried", hint="yes: towel, cool blower, hours",
             choices=("yes", "no"), strict=True),
        asks("target", "Release wanted", _share, hint="%; blank: as the job it matches"),
    )  # fmt: skip


TONES = {"clear": "ok", "rough": "warn", "cannot tell": "bad"}
"""The color of each verdict."""


class RinseScreen(Frame):
    """`title` is the job's, as its own screen shows it."""

    SCOPE = "rinse"
    FOLLOWS = True
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("rinse")

    def __init__(self, handle: str, title: str) -> None:
        super().__init__()
        self._handle, self._title = handle, title
        self._held = _Held({})
        self._view: RinseView | None = None
        self._wrong = ""
        self._kept = False

    def compose_body(self) -> ComposeResult:
        yield Block(id="title")
        with Pane(id="spots", can_focus=False):
            yield from _spots()
        with Horizontal(), Pane(id="rinse"):
            yield Block(id="answer")

    def on_mount(self) -> None:
        self.query_one("#title", Block).show(self._paint_title)
        self.query_one("#answer", Block).show(self._paint_answer)
        self.query_one("#spots").display = False
        self.query_one("#rinse", Pane).focus()
        self.reread()

    @property
    def fields(self) -> list[Field]:
        """The spots, then dried and target; also while folded away."""
        return list(self.query_one("#spots").query(Field))

    @property
    def resting(self) -> bool:
        return all(field.resting for field in self.fields)

    @property
    def sentence(self) -> str:
        return self._view.answer.advice if self._view else ""

    def reread(self) -> None:
        handle, held = self._handle, self._held
        self.ask("rinse", lambda: self.desks.rinse(handle, held.texts, held.measured), self._came, self._no)

    def _came(self, view: RinseView) -> None:
        self._view, self._wrong, self._kept = view, "", False
        self.repaint()

    def _no(self, error: Exception) -> None:
        if not isinstance(error, FinishlogError):
            self.fail(error)
            return
        by_key = {field.asked.key: field for field in self.fields}
        if isinstance(error, InputError) and error.where in by_key and self.query_one("#spots").display:
            by_key[error.where].blame(error)
        self._wrong = said(error)
        self.repaint()

    # painting

    def _paint_title(self, width: int) -> list[Line]:
        notes = (
            wording.cannot_show(self.house.depth, width) if self._view and self._view.look.base_now else []
        )
        verdict = self._view.answer.left.verdict if self._view else ""
        return self.head(f"Rinse · {self._title}", self._fact, width, *notes, tone=TONES.get(verdict, "text"))

    @property
    def _fact(self) -> str:
        if self._held.measured is not None:
            return "spots off a photo"
        return "no photo yet" if not self._held.texts.get("field") else "spots by numbers"

    def _paint_answer(self, width: int) -> list[Line]:
        if self._wrong:
            return paragraph(self._wrong, width, "bad")
        if self._view is None:
            return []
        look = (self.house.depth, self.house.palette.dark)
        return paint.answer(self._view, width, *look, typed=self._held.measured is None)

    # keys

    def action_edit(self) -> None:
        """Show the fields and focus the first."""
        self.query_one("#spots").display = True
        self.fields[0].entry.focus()

    def step_back(self) -> bool:
        spots = self.query_one("#spots")
        if not spots.display:
            return False
        if any(field.close() for field in self.fields):
            return True
        self._fold()
        return True

    def _fold(self) -> None:
        """Fold the fields away for the answer."""
        for field in self.fields:
            field.settle()
        self._changed()
        self.query_one("#spots").display = False
        self.query_one("#rinse", Pane).focus()

    @on(Field.Next)
    def action_next_field(self) -> None:
        """Enter in the last field folds them, unless one is wrong."""
        wrong = next((field for field in self.fields if field.judge() is not None), None)
        if self.focused is not self.fields[-1].entry:
            self.focus_next()
        elif wrong is not None:
            wrong.entry.focus()
        else:
            self._fold()

    @on(Field.Changed)
    def _changed(self) -> None:
        texts = {field.asked.key: field.value.strip() for field in self.fields}
        if texts == self._held.texts:
            return
        spots = any(texts[key] for key in ("field", "rinsed", "unrinsed"))
        self._held = _Held(texts) if spots else replace(self._held, texts=texts)
        self.reread()

    def action_photo(self) -> None:
        from finishlog.tui.photo.photos import PhotosScreen

        self.app.push_screen(PhotosScreen(self._handle, self._title, self._measured))

    def _measured(self, measured: Measured) -> None:
        """Use a photo's boxes as the spots from now on."""
        for field in self.fields[:3]:
            field.fill("")
        texts = {field.asked.key: field.value.strip() for field in self.fields}
        self._held = _Held(texts, measured)
        self.reread()

    def action_log(self) -> None:
        from finishlog.tui.log.entry import LogScreen

        self.app.push_screen(LogScreen(self._handle, self._title, "rinse"))

    def action_save(self) -> None:
        """Save the advice as given, once."""
        view = self._view
        if view is None or view.spots is None or self._kept:
            self.say("already saved" if self._kept else "no spots yet")
            return
        self._kept = True
        self.put(lambda: self.desks.keep_rinse(view), lambda _: self.house.done("Advice saved with the job."))
