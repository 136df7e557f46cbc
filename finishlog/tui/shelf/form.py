"""Shelf moves: bought, opened, counted, reclaimed, spoiled, thrown; and a bucket's label."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.forms import specs
from finishlog.tui.forms.fields import Field, asks
from finishlog.tui.forms.form import FormScreen
from finishlog.tui.forms.paper import PaperScreen
from finishlog.tui.shelf import paint

if TYPE_CHECKING:
    from finishlog.records.shelf import Moved, ShelfLine
    from finishlog.tui.desks.office import MoveForm

TITLES = {
    "buy": "bought", "open": "opened", "count": "counted", "reclaim": "reclaimed clean",
    "spoil": "spoiled", "throw": "thrown away",
}  # fmt: skip
VERB = "verb"


def start_of(line: ShelfLine | None) -> dict[str, str]:
    """The texts that name a lot."""
    if line is None:
        return {}
    product = line.held.product
    texts = {"product": product.name, "kind": product.kind, "maker": product.maker, "lot": line.held.lot}
    return {key: text for key, text in texts.items() if text}


class MoveScreen(FormScreen):
    """`verb` is a key of TITLES; choosing another reopens the form with the typed text."""

    SCOPE = "small"
    PLACE = "shelf"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("small")
    VERB = "Save it"
    NOTE = "Esc changes nothing"

    def __init__(
        self, verb: str, start: Mapping[str, str], kind: str | None, written: Callable[[int], object]
    ) -> None:
        super().__init__()
        self._verb, self._start, self._kind = verb, start, kind
        self._written = written

    @property
    def name_of_it(self) -> str:
        return f"Shelf · {TITLES[self._verb]}"

    @property
    def sentence(self) -> str:
        return {
            "buy": "What came in, of which lot, for how much?",
            "open": "Which lot was opened?",
            "count": "How much is there? That becomes what's left.",
            "reclaim": "How much clean powder went into the bucket? It is counted apart from fresh.",
            "spoil": "How much was spoiled, and how?",
            "throw": "How much was thrown away, and why?",
        }[self._verb]

    def begin(self) -> None:
        verb, kind = self._verb, self._kind
        self.ask("form", lambda: self.desks.move_form(verb, kind), self._came, self.not_begun)

    async def _came(self, form: MoveForm) -> None:
        titles = tuple(TITLES.values())
        what = asks(VERB, "What was done", start=TITLES[self._verb], choices=titles, strict=True,
                    required=f"Say what was done, like {titles[0]}.")  # fmt: skip
        fields = specs.of_fields(form.fields, self._start, form.choices)
        await self.build([what, *fields], None)
        blank = next((field for field in self.fields[1:] if not field.value and field.asked.required), None)
        if blank is not None and self._start:
            blank.entry.focus()

    @on(Field.Changed)
    def _turned(self) -> None:
        """Reopen with the chosen verb's fields and the typed text."""
        texts = self.values
        told = texts.pop(VERB, "").strip()
        verb = next((verb for verb, title in TITLES.items() if title == told), self._verb)
        if verb != self._verb and not self.writing:
            self.app.switch_screen(MoveScreen(verb, texts, self._kind, self._written))

    def send(self, texts: dict[str, str], because: str | None) -> None:
        verb, units = self._verb, self.house.units
        told = {key: text for key, text in texts.items() if key != VERB and text.strip()}
        self.keep(lambda: self.desks.move(verb, told, because, units), self._kept_it)

    def _kept_it(self, moved: Moved) -> None:
        self._written(moved.number)
        self.leave()
        self.house.done(" ".join((moved.sentence, *moved.warnings, "u undoes it.")))
        self.house.changed()


class LabelPaper(PaperScreen):
    """The label of a bucket of reclaimed powder."""

    PLACE = "shelf"

    def __init__(self, line: ShelfLine) -> None:
        lot = line.held.lot or "bucket"
        start = "".join(c if c.isalnum() else "-" for c in f"{line.held.product.name} {lot}".lower())
        super().__init__(paint.title_of(line.held), start, ("label",))
        self._line = line

    @property
    def sentence(self) -> str:
        return "A label for a bucket of it. To which file?"

    def _read(self, text: str) -> str:
        return "what it is, where from, what to watch"

    def write(self, sheet: str, file: str) -> str:
        return self.desks.write_label(self._line, file, self.house.units)
