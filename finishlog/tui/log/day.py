"""A pour's day card on one screen, in the card's order. Blank parts are not logged."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.errors import InputError
from finishlog.tui import actions
from finishlog.tui.forms import specs
from finishlog.tui.forms.fields import asks
from finishlog.tui.forms.form import FormScreen, Part

if TYPE_CHECKING:
    from finishlog.desk.forms.daycard import Card
    from finishlog.desk.record.record import Recorded

LOADS = 2
MOST = 12
LATER = ("sweep.", "rinse.", "seal.")
"""Parts of the card that happen on another day."""


class DayScreen(FormScreen):
    """`loads` groups of fields; more can be added while typing."""

    SCOPE = "day"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("day")
    VERB = "Log it"

    def __init__(
        self, handle: str, title: str, loads: int = 0, typed: Mapping[str, str] | None = None
    ) -> None:
        super().__init__()
        self._handle, self._title, self._loads, self._typed = handle, title, loads or LOADS, typed
        self._asked_loads = loads
        self._card: Card | None = None

    @property
    def name_of_it(self) -> str:
        return f"Day card · {self._title}"

    @property
    def fact(self) -> str:
        return f"{self._loads} loads"

    @property
    def sentence(self) -> str:
        if self.resumed:
            return self.unfinished
        return "Same order as the card. A blank is unknown; a part left blank is not logged."

    def begin(self) -> None:
        handle, loads = self._handle, self._loads
        self.ask("card", lambda: self.desks.day_card(handle, loads, ""), self._came, self.not_begun)

    async def _came(self, card: Card) -> None:
        kept = self._typed if self._typed is not None else card.draft
        needed = max(_loads_of(kept or {}), 0 if self._asked_loads else card.planned_loads)
        if needed > self._loads:
            self._loads = needed
            self.begin()
            return
        self._card = card
        self.draft_key = card.draft_key
        await self.build(_parts(card), kept)
        if self._typed is not None:  # by the same hand, a moment ago: nothing to be checked first
            self.resumed, self._checked = False, True

    def understood(self) -> Mapping[str, str]:
        """Show times without a day as the card's day, as they will be saved."""
        from finishlog.inputs import moments

        found: dict[str, str] = {}
        texts, context = self.values, self._card.context if self._card else None
        times = [
            k for k, text in texts.items() if k.endswith(".at") and text.strip() and not k.startswith(LATER)
        ]
        if context is None or not times:
            return found
        with suppress(InputError):
            said = moments.read_moment(texts["day"] or "now", context.now, context.zone)
            day = said.instant.astimezone(context.zone).date()
            for key in times:
                with suppress(InputError):
                    found[key] = moments.read_moment(
                        texts[key], context.now, context.zone, day=day, home=context.home
                    ).echo
        return found

    def send(self, texts: dict[str, str], because: str | None) -> None:
        """Send only filled fields, and offered ones that were cleared."""
        told = {f.asked.key: f.value for f in self.fields if f.value.strip() or f.start}
        self.keep(lambda: self.desks.pour_day(self._handle, told, because), self._recorded)

    def _recorded(self, done: tuple[Recorded, ...]) -> None:
        self.leave()
        many = "1 entry" if len(done) == 1 else f"{len(done)} entries"
        warnings = dict.fromkeys(one for recorded in done for one in recorded.warnings)
        self.house.done(" ".join((f"Day logged: {many}.", *warnings, "u undoes the last one.")))
        self.house.changed()

    def action_load(self) -> None:
        """Reopen with one more load; typed text stays."""
        if self._card is None or self.writing:
            return
        if self._loads >= MOST:
            self.say(f"{MOST} loads at most; log this day, then go on")
            return
        self.app.switch_screen(DayScreen(self._handle, self._title, self._loads + 1, self.values))


def _loads_of(texts: Mapping[str, str]) -> int:
    numbers = [key.split(".")[1] for key in texts if key.startswith("load.")]
    return max((int(number) for number in numbers if number.isdecimal()), default=0)


def _parts(card: Card) -> list[Part]:
    from finishlog import units

    head: list[Part] = [
        asks("day", "Day", lambda text: units.write_weekday(units.read_date(text)), start=card.day),
        asks("crew", "Who", start=card.crew, hint="who wrote the card"),
    ]
    for section in card.sections:
        fields = [replace(field, help="") if field.key == "at" else field for field in section.fields]
        head += [
            section.title,
            *specs.of_fields(fields, section.values, prefix=f"{section.key}.", planned=section.planned),
        ]
    return head
