"""Exports of reseals: calendar, table, letters, drafts. Asks for the sender before the first letter."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.errors import InputError
from finishlog.inputs import asking
from finishlog.tui import actions
from finishlog.tui.forms.fields import Field, asks
from finishlog.tui.forms.meeting import Meeting
from finishlog.tui.forms.paper import PaperScreen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from finishlog.desk.due.care_list import Wish
    from finishlog.records.care import Book

OUT = {
    "calendar": ("ics", ".ics", "a second updates the first"),
    "table": ("csv", ".csv", "for mail merge"),
    "letters": ("letters", ".pdf", "reminders and confirmations"),
    "mail": ("mail", "", "the same as drafts"),
}
"""By choice: the desk's name, file extension, description."""
WISHES: Mapping[str, tuple[Wish, str]] = {
    "not written to": ("new", "no one twice in a season"),
    "all again": ("again", "also those written to"),
    "thank done": ("thanks", "those done this month"),
}


class ResealPaper(PaperScreen):
    """Writes a calendar, table, letters or drafts."""

    PLACE = "care"
    NOTE = "into this folder"

    def __init__(self, book: Book) -> None:
        super().__init__("reseals", "reseals", tuple(OUT))
        self._book = book

    @property
    def name_of_it(self) -> str:
        return "Reseals · what goes out"

    @property
    def sentence(self) -> str:
        return "Write what, to whom, and to which file?"

    def more(self) -> Sequence[Field]:
        return (asks("to", "To", _to, start=next(iter(WISHES)), choices=tuple(WISHES), strict=True,
                     required="Say to whom."),)  # fmt: skip

    def _free(self, sheet: str) -> str:
        end = OUT[sheet][1]
        names = (f"{self._start}-{sheet}{n}{end}" for n in ("", *(f"-{n}" for n in range(2, 100))))
        return next((name for name in names if not Path(name).exists()), "")

    def _read(self, text: str) -> str:
        if text.strip().casefold() not in OUT:
            raise InputError(f"There is no sheet “{text[:30]}”.", f"It can be {', '.join(OUT)}.")
        return OUT[text.strip().casefold()][2]

    def write(self, sheet: str, file: str) -> str:
        """Answers what was written. Raises InputError at `file` or `to`, NoSender for letters."""
        wish = WISHES[self.values["to"].strip().casefold()][0]
        return self.desks.write_reseals(self._book, OUT[sheet][0], file, wish)

    def refused(self, error: Exception) -> None:
        if missing := getattr(error, "missing", ()):
            self._sent = False
            self.house.ahead.drop()  # typed for the screen that was to follow
            self.app.push_screen(SenderScreen(missing, self.action_keep))
            self.repaint()
        else:
            super().refused(error)

    def _written(self, path: str) -> None:
        """The desk's sentence already says what went where."""
        self.leave()
        self.house.done(path)
        self.house.changed()


def _to(text: str) -> str:
    found = WISHES.get(text.strip().casefold())
    if found is None:
        raise InputError(f"“{text[:30]}” is not a choice.", f"It can be {', '.join(WISHES)}.")
    return found[1]


class SenderScreen(Meeting):
    """Asks for the sender; `missing` keys are required, `then` runs once they are saved."""

    SCOPE = "small"
    PLACE = "care"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("small")
    VERB = "Save it"
    NOTE = "on letters and sheets"

    def __init__(self, missing: Sequence[str], then: Callable[[], object]) -> None:
        super().__init__()
        self._missing, self._then = missing, then

    @property
    def name_of_it(self) -> str:
        return "Who are letters from?"

    @property
    def sentence(self) -> str:
        return "No letter goes out without a sender."

    def begin(self) -> None:
        self.ask("sender", self.desks.sender, self._came, self.not_begun)

    async def _came(self, known: Mapping[str, str]) -> None:
        from finishlog.records.shop_texts import TEXTS

        texts = {text.key: text for text in TEXTS}

        def field(key: str) -> Field:
            needed = f"A letter needs the shop's {texts[key].title.lower()}." if key in self._missing else ""
            title = "Name" if key == "shop_name" else texts[key].title
            asked = replace(asking.setting(texts[key]), title=title, required=bool(needed), ask=needed)
            return Field(asked, start=known[key],
                         hint=asked.help if key != "shop_name" else "Teakettle Slabs")  # fmt: skip

        await self.build([field(key) for key in known], None)

    def now(self) -> tuple[None, Mapping[str, str]]:
        return None, self.desks.sender()

    def renew(self, source: None) -> None:
        """The fields hold all of it."""

    def send(self, texts: dict[str, str], because: str | None) -> None:
        self.keep(lambda: self.desks.keep_sender(texts), lambda _: self._kept_it())

    def _kept_it(self) -> None:
        self.leave()
        self.house.changed()
        self.call_later(self._then)
