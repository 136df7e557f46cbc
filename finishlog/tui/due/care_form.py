"""The form of a reseal: state, day, note."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.errors import InputError
from finishlog.tui import actions
from finishlog.tui.due import care_paint
from finishlog.tui.forms.fields import Button, asks
from finishlog.tui.forms.form import FormScreen

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from finishlog.desk.record.record import Recorded
    from finishlog.records.care import CareState, Reseal

WORDS = tuple(word for _, word, _ in care_paint.STATES.values())


class ResealScreen(FormScreen):
    """Starts with `state` and `on`; `written` is called with the job's handle."""

    SCOPE = "small"
    PLACE = "care"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("small")
    VERB = "Save it"
    NOTE = "Esc changes nothing"

    def __init__(
        self, line: Reseal, state: CareState, on: date | None, written: Callable[[str], object]
    ) -> None:
        super().__init__()
        self._line, self._state, self._on = line, state, on
        self._written = written

    @property
    def name_of_it(self) -> str:
        return f"Reseal · {self._line.title}"

    @property
    def sentence(self) -> str:
        first = f"! {self._line.prepare_why} " if self._line.prepare_why else ""
        said = "; ".join(part for part in (self._line.note, self._line.said) if part)
        told = f"Said: {said}. " if said else ""
        return f"{first}Window {care_paint.window(self._line)}. {told}{self._line.why}"

    def beside(self) -> Sequence[tuple[str, Sequence[str]]]:
        return (("Film", (care_paint.film(self._line, self.house.units),)),)

    def begin(self) -> None:
        self.call_after_refresh(self._show)

    async def _show(self) -> None:
        from finishlog.desk.due import care
        from finishlog.units import write_weekday

        def state(text: str) -> str:
            care.read_state(text)
            return ""

        def day(text: str) -> str:
            stands = self.values.get("state", "")
            found = self._read_day(text, stands)
            inside = stands == "ask again" or self._line.due_from <= found <= self._line.due_to
            return f"{write_weekday(found)} {found.year}{'' if inside else ', outside'}"

        start = self._on.isoformat() if self._on else ""
        await self.build(
            [
                asks("state", "State", state, start=care_paint.STATES[self._state][1], choices=WORDS, strict=True,
                     required="Say how it went, like contacted."),
                asks("on", "Day", day, start=start, hint="2026-08-14, Fri, in 6 months"),
                asks("note", "Note", hint="e.g. wants a Friday", gap=True),
                asks("by", "Who", hint="who did it"),
            ],
            None,
        )  # fmt: skip
        if self._state == "booked" and self._on is not None:
            self.query_one(Button).focus()  # everything to be saved is in sight

    def _read_day(self, text: str, state: str) -> date:
        """Echo of a day's text for a state, even one half typed. Raises InputError."""
        from finishlog.desk.due import care

        try:
            known = care.read_state(state)
        except InputError:
            known = self._state
        services = self.house.services
        return care.read_on(text, known, services.clock(), services.zone)

    def send(self, texts: dict[str, str], because: str | None) -> None:
        line, desks = self._line, self.desks

        def write() -> Recorded:
            from finishlog.desk.due import care

            on = self._read_day(texts["on"], texts["state"]) if texts["on"].strip() else None
            state = care.read_state(texts["state"])
            return desks.set_care(line, state, on, texts["note"].strip(), texts["by"].strip(), because)

        self.keep(write, self._kept_it)

    def _kept_it(self, recorded: Recorded) -> None:
        self._written(recorded.job)
        self.leave()
        self.house.done(" ".join((recorded.sentence, *recorded.warnings, "u undoes it.")))
        self.house.changed()
