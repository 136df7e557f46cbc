"""What the office does about a reseal: its state, its day, a note; and what leaves the shop about all of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.errors import InputError
from finishlog.tui import actions
from finishlog.tui.forms import Spec
from finishlog.tui.screens import care_paint
from finishlog.tui.screens.form import FormScreen
from finishlog.tui.screens.paper import PaperScreen

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from finishlog.desk.record import Recorded
    from finishlog.records.care import Book, CareState, Reseal

WORDS = tuple(word for _, word, _ in care_paint.STATES.values())


class ResealScreen(FormScreen):
    """`state` and `on` stand there first; `written` is told the job that was written to."""

    SCOPE = "small"
    PLACE = "care"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("small")
    VERB = "Keep it"
    NOTE = "Esc leaves it; nothing is changed then"

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
        return f"{first}Window {care_paint.window(self._line)}. {self._line.why}"

    def beside(self) -> Sequence[tuple[str, Sequence[str]]]:
        return (("Film", (care_paint.film(self._line, self.house.units),)),)

    def begin(self) -> None:
        self.call_after_refresh(self._show)

    async def _show(self) -> None:
        from finishlog.desk import care
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
                Spec("state", "State", state, start=care_paint.STATES[self._state][1], choices=WORDS, strict=True,
                     required="Say what came of it, like contacted."),
                Spec("on", "Day", day, start=start, hint="2026-08-14, Fri, in 6 months"),
                Spec("note", "Note", _nothing, hint="like wants a Friday", gap=True),
                Spec("by", "Who", _nothing, hint="who did it"),
            ],
            None,
        )  # fmt: skip

    def _read_day(self, text: str, state: str) -> date:
        """What is meant by a day's text in a state, or in one still being typed. Raises InputError."""
        from finishlog.desk import care

        try:
            known = care.read_state(state)
        except InputError:
            known = self._state
        services = self.house.services
        return care.read_on(text, known, services.clock(), services.zone)

    def send(self, texts: dict[str, str], because: str | None) -> None:
        line, desks = self._line, self.desks

        def write() -> Recorded:
            from finishlog.desk import care

            on = self._read_day(texts["on"], texts["state"]) if texts["on"].strip() else None
            state = care.read_state(texts["state"])
            return desks.set_care(line, state, on, texts["note"].strip(), texts["by"].strip(), because)

        self.keep(write, self._kept_it)

    def _kept_it(self, recorded: Recorded) -> None:
        self._written(recorded.job)
        self.leave()
        self.house.done(" ".join((recorded.sentence, *recorded.warnings, "u takes it back.")))
        self.house.changed()


def _nothing(_text: str) -> str:
    return ""


OUT = {
    "calendar": ("ics", ".ics", "a second updates the first"),
    "table": ("csv", ".csv", "for mail merge"),
    "letters": ("letters", ".pdf", "to those not called yet"),
    "mail": ("mail", "", "drafts for those not called"),
}
"""The desk's name of each, the end of its file, what it is."""


class ResealPaper(PaperScreen):
    """Calendar, table, letters or drafts of the reseals."""

    PLACE = "care"
    NOTE = "into the present folder"

    def __init__(self, book: Book) -> None:
        super().__init__("reseals", "reseals", tuple(OUT))
        self._book = book

    @property
    def name_of_it(self) -> str:
        return "Reseals · what goes out"

    @property
    def sentence(self) -> str:
        return "What is to go out, and into which file?"

    def _free(self, sheet: str) -> str:
        end = OUT[sheet][1]
        names = (f"{self._start}-{sheet}{n}{end}" for n in ("", *(f"-{n}" for n in range(2, 100))))
        return next((name for name in names if not Path(name).exists()), "")

    def _read(self, text: str) -> str:
        if text.strip().casefold() not in OUT:
            raise InputError(f"There is no sheet “{text[:30]}”.", f"It can be {', '.join(OUT)}.")
        return OUT[text.strip().casefold()][2]

    def write(self, sheet: str, file: str) -> str:
        return self.desks.write_reseals(self._book, OUT[sheet][0], file)

    def _written(self, path: str) -> None:
        """The desk says itself what went where."""
        self.leave()
        self.house.done(path)
