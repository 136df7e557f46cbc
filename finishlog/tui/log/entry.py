"""Log or correct one entry; its kind declares the fields."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from textual import on

from finishlog.inputs.entry import hints
from finishlog.tui.forms import specs
from finishlog.tui.forms.fields import Field
from finishlog.tui.forms.form import Part
from finishlog.tui.forms.meeting import Meeting

if TYPE_CHECKING:
    from finishlog.desk.forms.last_time import LastTime
    from finishlog.desk.forms.offers import Offer
    from finishlog.desk.record.record import Recorded

PLANNED = "Planned figures are gray; Down, Enter takes one."


class LogScreen(Meeting):
    """`title` is the job's, as its own screen shows it; `replaces` is the entry to correct."""

    def __init__(self, handle: str, title: str, kind: str = "", replaces: int | None = None) -> None:
        super().__init__()
        self._handle, self._title, self._kind, self._replaces = handle, title, kind, replaces
        self._offer: Offer | None = None
        self._told: LastTime = ((), ())
        self._lots_of: dict[str, str] = {}

    @property
    def name_of_it(self) -> str:
        verb = "Log" if self._replaces is None else "Correct"
        what = self._offer.title.lower() if self._offer else ""
        return f"{verb}: {what} · {self._title}" if what else f"{verb} · {self._title}"

    @property
    def fact(self) -> str:
        if self._replaces is not None:
            number = self._offer.replaces if self._offer else self._replaces
            return f"entry {number}" if number is not None else "a new entry"
        if self._offer is not None and self._offer.kind == "load":
            return f"load {len(self._offer.context.loads) + 1}"
        return ""

    @property
    def sentence(self) -> str:
        if self._offer is None:
            return ""
        if self.resumed:
            return self.unfinished
        said = " ".join(filter(None, (self._offer.copied, PLANNED if self._offer.planned else "")))
        return said or "Blank means unknown; a blank time means now."

    def begin(self) -> None:
        handle, kind, number = self._handle, self._kind, self._replaces
        call: Callable[[], Offer] = (
            (lambda: self.desks.offer(handle, kind))
            if number is None
            else (lambda: self.desks.correction(handle, number))
        )

        def offered() -> tuple[Offer, LastTime]:
            offer = call()
            return offer, self.desks.last_time(handle, offer.kind, number)

        self.ask("offer", offered, self._offered, self.not_begun)

    async def _offered(self, came: tuple[Offer, LastTime]) -> None:
        offer, self._told = came
        self._offer = offer
        self._lots_of = {
            field.key: offer.values.get(field.suggest.partition(":")[2], "")
            for field in offer.fields
            if field.suggest.startswith("lots:")
        }
        self.draft_key = offer.draft_key
        self.cautions = offer.cautions
        await self.build(self._parts(offer), offer.draft)
        if offer.typed_over is not None:
            self.typed_over(offer.typed_over, offer.values)

    @property
    def meets(self) -> bool:
        """A new entry is over no row: that the same was logged meanwhile is asked when it is kept."""
        return self._replaces is not None

    def now(self) -> tuple[Offer, Mapping[str, str]]:
        assert self._replaces is not None
        offer = self.desks.corrected(self._handle, self._replaces)
        return offer, offer.values

    def renew(self, source: Offer) -> None:
        self._offer = source
        self.repaint()

    def _parts(self, offer: Offer) -> list[Part]:
        """A correction shows logged fields first: one of them was mistyped."""
        if self._replaces is None:
            first, later = hints.further(
                offer.fields, {**dict.fromkeys(offer.planned, "planned"), **(offer.draft or offer.values)}
            )
            shown: list[Part] = [*specs.of_fields(first, offer.values, offer.choices, planned=offer.planned)]
            if later:
                shown += ["A second material", *specs.of_fields(later, offer.values, offer.choices)]
            return shown
        told = [field for field in offer.fields if offer.values.get(field.key)]
        blank = [field for field in offer.fields if not offer.values.get(field.key)]
        return [
            *specs.of_fields(told, offer.values, offer.choices),
            "Not logged",
            *specs.of_fields(blank, offer.values, offer.choices),
        ]

    def kept(self) -> Sequence[tuple[str, str]]:
        """A blank time is listed as now, except in a correction."""
        told = [(field.asked.title, field.told) for field in self.fields if field.told]
        at = next((field for field in self.fields if field.asked.key == "at"), None)
        return (
            told if at is None or at.told or self._replaces is not None else [(at.asked.title, "now"), *told]
        )

    def beside(self) -> Sequence[tuple[str, Sequence[str]]]:
        """What was logged last time, what is usual, and cautions."""
        if self._offer is None:
            return ()
        last, usual = self._told
        return (("Last time", last), ("Usual here", usual), ("Mind", self.cautions))

    @on(Field.Changed)
    def _of_another(self, event: Field.Changed) -> None:
        """Offer the lots of the product typed."""
        if self._offer is None:
            return
        for field in self._offer.fields:
            what, _, of = field.suggest.partition(":")
            product = self.values.get(of, "").strip() if what == "lots" else ""
            if what == "lots" and self._lots_of.get(field.key) != product:
                self._lots_of[field.key] = product
                self._ask_lots(field.key, product)

    def _ask_lots(self, key: str, product: str) -> None:
        own = next((field for field in self.fields if field.asked.key == key), None)
        if own is None:
            return  # a sheet asks only for the product
        if product:
            self.ask(f"lots {key}", lambda: self.desks.lots(product), own.offer)
        else:
            own.offer(())

    def understood(self) -> Mapping[str, str]:
        from finishlog.inputs.entry import entries

        return entries.echoes(self._offer.kind, self.values, self._offer.context) if self._offer else {}

    def send(self, texts: dict[str, str], because: str | None) -> None:
        offer = self._offer
        assert offer is not None
        self.keep(lambda: self.desks.record(offer, texts, because), self._recorded)

    def _recorded(self, recorded: Recorded) -> None:
        offer, key = self._offer, self.draft_key
        if offer is not None and (offer.typed_over is not None or offer.draft_key != key):
            # typed over an earlier version of the entry, it has a draft of its own
            self.put(lambda: self.desks.keep_draft(key, {}), lambda _: None)
        self.leave()
        self.house.done(" ".join((recorded.sentence, *recorded.warnings, "u undoes it.")))
        self.house.changed()
