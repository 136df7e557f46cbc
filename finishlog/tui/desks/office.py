"""The office for the screens: reseals and the shelf. Called from worker threads only."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from finishlog.tui.desks.late import late

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import date

    from finishlog.desk.due.care import Progress
    from finishlog.desk.due.care_list import Wish
    from finishlog.desk.due.reminders import CameBack
    from finishlog.desk.record.record import Recorded
    from finishlog.desk.services import Services
    from finishlog.inputs.asking import Field
    from finishlog.records.care import Book, CareState, Reseal, Visit, WeekPlan
    from finishlog.records.shelf import Enough, Moved, Shelf, ShelfLine


@dataclass(frozen=True, slots=True)
class BookView:
    """The book of reseals, and our sealing season in words."""

    book: Book
    season: str


@dataclass(frozen=True, slots=True)
class ShelfView:
    """The shelf, whether it covers each planned job, and cautions by product."""

    shelf: Shelf
    enough: Mapping[str, tuple[Enough, ...]]
    safety: Mapping[str, tuple[str, ...]]

    def and_of(self, page: ShelfView) -> ShelfView:
        """The same with the cautions of another page."""
        return replace(page, safety={**self.safety, **page.safety})

    def enough_of(self, line: ShelfLine) -> tuple[tuple[str, Enough], ...]:
        """The planned jobs that need a line's product, and whether there is enough."""
        product = line.held.product
        return tuple(
            (job, each)
            for job in line.needed_by
            for each in self.enough.get(job, ())
            if (each.wanted.name, each.wanted.kind) == (product.name, product.kind)
        )


@dataclass(frozen=True, slots=True)
class MoveForm:
    """The form of a shelf move, and its fields' choices."""

    fields: tuple[Field, ...]
    choices: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class SheetForm:
    """Limits on a sealer's own sheet, as texts by option; `usual` are the shop's, for the blanks."""

    texts: Mapping[str, str]
    usual: Mapping[str, str]


class OfficeDesks:
    """Reseals and shelf of one log."""

    _services: Services
    offered_day: Callable[[str], date | None] = late("finishlog.desk.due.care.offered_day")
    keep_weeks: Callable[[WeekPlan, Progress], int] = late("finishlog.desk.due.care.keep_plan")
    sender: Callable[[], dict[str, str]] = late("finishlog.desk.jobs.sender.look")
    """The shop's name and address by key."""
    keep_sender: Callable[[Mapping[str, str]], None] = late("finishlog.desk.jobs.sender.keep")
    undo_move: Callable[[int, str], Moved] = late("finishlog.desk.shelf.shelf.undo")

    def reseals(self, limit: int, offset: int) -> BookView:
        """A part of the book of reseals as of now."""
        from finishlog.desk.due import care
        from finishlog.trade.upkeep.season import season_words

        book = care.book(self._services, limit=limit, offset=offset)
        return BookView(book, season_words(book.season))

    def set_care(
        self, line: Reseal, state: CareState, on: date | None, note: str, person: str, because: str | None
    ) -> Recorded:
        """Raises InputError at `on` for a booking without a day, Doubt if the customer said no."""
        from finishlog.desk.due import care
        from finishlog.errors import InputError

        try:
            return care.set_state(
                self._services,
                line.job,
                state,
                on=on,
                note=note or None,
                person=person or None,
                because=because,
            )
        except InputError as wrong:
            if wrong.where == "--on":
                raise InputError(wrong.title, example="2026-08-14", where="on") from None
            raise

    def best_days(self) -> Mapping[str, Visit]:
        """The week plan's visit to each job, by handle."""
        from finishlog.desk.due import care

        made = care.plan(self._services)
        return {visit.job: visit for week in made.weeks for visit in week.visits}

    def weeks(self, progress: Progress) -> WeekPlan:
        """Spreads the open reseals over weeks, in seconds; `progress` is called in the worker."""
        from finishlog.desk.due import care

        return care.plan(self._services, progress=progress)

    def came_back(self, line: Reseal, what: CameBack, note: str, person: str) -> Recorded:
        """Raises InputError if no reminder went out."""
        from finishlog.desk.due import reminders

        return reminders.came_back(self._services, line.job, what, note=note or None, person=person or None)

    def write_reseals(self, book: Book, what: str, file: str, wish: Wish) -> str:
        """`what` is ics, csv, letters or mail; the list is read anew. Raises InputError at `file` or `to`, NoSender."""
        from finishlog.desk.due import care
        from finishlog.errors import InputError
        from finishlog.papers.reminders import send

        now = care.book(self._services, None if book.by == care.usual_end(book.today) else book.by)
        try:
            return " ".join(send.write(self._services, now, {what: file}, wish=wish, again="all again"))
        except send.NoSender:
            raise
        except send.Nobody as wrong:
            raise wrong.at("to") from None
        except InputError as wrong:
            raise wrong.at("file") from None

    def shelf(self, units: str, limit: int, offset: int) -> ShelfView:
        """A part of the shelf and whether it covers each planned job; `units` (us or metric) is for the words."""
        from finishlog.desk.shelf import shelf

        found = shelf.shelf(self._services, system=units, limit=limit, offset=offset)
        enough: dict[str, list[Enough]] = {}
        for each in found.answers:
            enough.setdefault(each.wanted.job, []).append(each)
        products = {line.held.product.uid: line.held.product for line in found.lines}
        return ShelfView(
            found,
            {job: tuple(some) for job, some in enough.items()},
            {uid: shelf.safety(product) for uid, product in products.items()},
        )

    def move_form(self, verb: str, kind: str | None) -> MoveForm:
        """Fields of `verb` for a product of `kind`; choices come from all lots, empty ones too."""
        from finishlog.desk.shelf import shelf
        from finishlog.inputs.entry.shelf import ShelfContext, fields_of, what_of

        context = ShelfContext(self._services.clock(), self._services.zone, kind)
        products, makers, lots = shelf.names(self._services)
        return MoveForm(
            fields_of(what_of(verb), context), {"product": products, "maker": makers, "lot": lots}
        )

    def move(self, verb: str, texts: Mapping[str, str], because: str | None, units: str) -> Moved:
        """Raises InputError at the field, Doubt until `because` answers it."""
        from finishlog.desk.shelf import shelf

        return shelf.move(self._services, verb, texts, because=because, system=units)

    def write_label(self, line: ShelfLine, file: str, units: str) -> str:
        """Raises InputError at `file`."""
        from finishlog.papers import files, make

        files.check(file, where="file")
        product = line.held.product
        made = make.bucket_label(self._services, product.name, line.held.lot, product.kind, units=units)
        with files.new_file(file, made, where="file") as target:
            return str(target)

    def sheet(self, line: ShelfLine, units: str) -> SheetForm:
        """The values entered for this product; the shop's usual limits serve as hints."""
        from finishlog.desk.doubts import sealer_sheet
        from finishlog.records.quantities.weather import SealerLimits
        from finishlog.trade.readiness import with_usual

        product = line.held.product
        _, known = sealer_sheet.look(self._services, product.name, product.maker)
        usual = with_usual(SealerLimits(), self._services.shop())
        return SheetForm(sealer_sheet.texts(known, units), sealer_sheet.texts(usual, units))

    def keep_sheet(self, line: ShelfLine, texts: Mapping[str, str]) -> str:
        """Raises InputError at the field that is wrong."""
        from finishlog.desk.doubts import sealer_sheet
        from finishlog.errors import InputError

        product = line.held.product
        try:
            sealer_sheet.keep(self._services, product.name, texts, product.maker)
        except InputError as wrong:
            raise wrong.at(wrong.where.removeprefix("--")) from None
        return f"Kept what the sheet of {product.name} says."
