"""A reminder's result: bounced, or refused by the customer."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.errors import InputError
from finishlog.tui import actions
from finishlog.tui.forms.fields import asks
from finishlog.tui.forms.form import FormScreen

if TYPE_CHECKING:
    from finishlog.desk.record.record import Recorded
    from finishlog.records.care import Reseal

MEANS = {"bounced": "the address is wrong", "refused": "does not want a reseal now"}


class CameBackScreen(FormScreen):
    """`written` is called with the job's handle."""

    SCOPE = "small"
    PLACE = "care"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("small")
    VERB = "Save it"
    NOTE = "Esc changes nothing"

    def __init__(self, line: Reseal, written: Callable[[str], object]) -> None:
        super().__init__()
        self._line, self._written = line, written

    @property
    def name_of_it(self) -> str:
        return f"Came back · {self._line.title}"

    @property
    def sentence(self) -> str:
        from finishlog.desk.said import written_words

        words = written_words(self._line.last_written) if self._line.last_written else ""
        return f"{words[:1].upper()}{words[1:]}." if words else ""

    def begin(self) -> None:
        self.call_after_refresh(self._show)

    async def _show(self) -> None:
        what = asks("what", "What", _meaning, start="bounced", choices=tuple(MEANS), strict=True,
                    required="Say whether it bounced or was refused.")  # fmt: skip
        note = asks("note", "Note", hint="like moved away")
        await self.build([what, note, asks("by", "Who", hint="who noted it")], None)

    def send(self, texts: dict[str, str], because: str | None) -> None:
        line, desks = self._line, self.desks

        def write() -> Recorded:
            from finishlog.desk.due.reminders import read_came_back

            what = read_came_back(texts["what"])
            assert what is not None  # `_meaning` rejects anything else
            return desks.came_back(line, what, texts["note"].strip(), texts["by"].strip())

        self.keep(write, self._kept_it)

    def _kept_it(self, recorded: Recorded) -> None:
        self._written(recorded.job)
        self.leave()
        self.house.done(f"{recorded.sentence} u undoes it.")
        self.house.changed()


def _meaning(text: str) -> str:
    found = MEANS.get(text.strip().casefold())
    if found is None:
        raise InputError(f"“{text[:30]}” is not a choice.", f"It can be {', '.join(MEANS)}.")
    return found
