"""A foreign sheet read row by row: what a column takes, what is copied from above, what is kept as a note.

Only what would become a wrong number is refused. A cell that no column can take is kept on the job as a note
under its header, and counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from finishlog.desk.paper_log import asides, row_checks
from finishlog.desk.paper_log.lines import Line
from finishlog.inputs import fields
from finishlog.inputs.paper_log import cells as paper_cells
from finishlog.inputs.paper_log import column_names, days
from finishlog.inputs.paper_log.mapping import ColumnMap, header_key
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.inputs.paper_log.sheet import BadLine
from finishlog.inputs.readers import LONGEST_NOTE
from finishlog.records.exchange import ColumnGuess, Remark
from finishlog.units import shown, write_date

WHO = ("customer", "job", "street", "town", "phone", "email")
"""Columns whose cells are merged over the rows of one job."""
_HANGS_ON = {
    "claim": ("claim_on", "claim_cause", "claim_action", "claim_outcome"),
    "claim_on": ("claim", "claim_cause", "claim_action", "claim_outcome"),
    "antiquing": ("antiquing_on",),
    "antiquing_on": ("antiquing", "antiquing_maker", "antiquing_lot", "antiquing_gal"),
    "stain": ("stain_on", "stain_base"),
    "stain_on": ("stain", "stain_maker", "stain_lot", "stain_base", "stain_gal"),
    "sealed_on": ("sealer_gal", "sealer_2_gal"),
    "base_color": ("release_color", "color_state", "color_instrument"),
    "buried": ("buried_where", "buried_depth"),
    "bags": ("bag_water", "bag_product"),
    "sample": ("sample_signed_by", "sample_signed_on"),
    "sample_signed_by": ("sample_signed_on",),
    "sample_signed_on": ("sample_signed_by",),
}
"""What cannot be kept as an entry without the column that is missing, and goes into the note."""
_NAMED_BY = ("customer", "job", "street")


@dataclass(frozen=True, slots=True)
class Slot:
    """A column of the sheet: our key, or None where its cells are kept as notes."""

    header: str
    key: str | None
    unit: str | None = None
    ignored: bool = False


@dataclass(frozen=True, slots=True)
class Undated:
    """A row without the day of its pour: kept as a job that says so."""

    line: int
    row: PourRow
    said: str


@dataclass(slots=True)
class Sheet:
    """Result of reading a sheet's rows."""

    lines: list[Line] = field(default_factory=list)
    undated: list[Undated] = field(default_factory=list)
    bad: list[Remark] = field(default_factory=list)
    kept: list[Remark] = field(default_factory=list)
    left_aside: list[Remark] = field(default_factory=list)
    rows: int = 0
    cells: int = 0
    copied: int = 0
    """Cells taken from the row above."""


Raw = tuple[int, list[str]]


def slots(headers: Sequence[str], guesses: Iterable[ColumnGuess]) -> list[Slot]:
    """A slot per column of the sheet; a column without a header is kept as notes."""
    by_header = {header_key(guess.header): guess for guess in guesses}
    found = []
    for place, header in enumerate(headers, start=1):
        guess = by_header.pop(header_key(header), None)
        if guess is None:
            found.append(Slot(header.strip() or f"column {place}", None))
        else:
            found.append(Slot(guess.header, guess.column, guess.unit, guess.left_out))
    return found


def orders(
    table: Sequence[Slot], rows: Sequence[Raw], names: ColumnMap, today: date
) -> tuple[dict[str, str], list[str]]:
    """The order of the days of each column, and what must be asked: the column decides, else the whole sheet."""
    told: dict[str, str] = {}
    open_: dict[str, tuple[str, str]] = {}
    for place, slot in enumerate(table):
        if slot.key in paper_cells.DAYS:
            cells = [cells[place] for _, cells in rows if place < len(cells)]
            own, two_way = days.order_of(cells, today)
            told[slot.key] = names.units.get(slot.key, "") or names.dates or own
            if two_way:
                open_[slot.key] = (slot.header, two_way[0])
    whole = {order for order in told.values() if order}
    if len(whole) == 1:
        told = {key: order or next(iter(whole)) for key, order in told.items()}
    asked = [
        f"{header}: {cell} can be read two ways. Set it once for the file: --dates mdy or --dates dmy."
        for key, (header, cell) in open_.items()
        if not told[key]
    ]
    return told, asked


class Reader:
    """Reads the rows of a sheet whose columns are known."""

    def __init__(
        self, table: Sequence[Slot], names: ColumnMap, order: Mapping[str, str], today: date
    ) -> None:
        self._slots, self._names, self._order, self._today = table, names, order, today
        self._place = {slot.key: place for place, slot in enumerate(table) if slot.key}
        self._year: int | None = None
        self._above: list[str] = []
        self._commas = False
        self._last = 0
        self._sums = asides.Sums()
        self.sheet = Sheet()

    def read(self, rows: Sequence[Raw | BadLine]) -> Sheet:
        """Reads the whole file at once: one decimal comma anywhere decides how every number reads."""
        self._commas = any(
            paper_cells.decimal_commas(cells)
            for each in rows
            if not isinstance(each, BadLine)
            for cells in [each[1]]
        )
        for each in rows:
            if isinstance(each, BadLine):
                self.sheet.rows += 1
                self.sheet.bad.append(Remark(each.line, "", each.what))
            elif not self._is_aside(*each):
                self._take(*each)
        self._tell_trucks()
        return self.sheet

    def _is_aside(self, line: int, cells: list[str]) -> bool:
        """Totals, a header told again, a heading: said, and no pour."""
        filled = [cell.strip() for cell in cells if cell.strip()]
        headers = [slot.header for slot in self._slots if not slot.header.startswith("column ")]
        if list(map(column_names.plain, filled)) == list(map(column_names.plain, headers)):
            return True
        if asides.is_total(filled):
            what = "A row of totals, left out: " + ", ".join(map(shown, filled))
            self._sums.reset()
        elif year := asides.year_of(filled):
            self._year = year
            what = f"A heading: days below are in {year} unless they name a year."
        elif len(filled) == 1 and self._note_above(cells, filled[0]):
            return True
        elif self._is_sum(cells):
            what = "A row of sums, left out: " + ", ".join(map(shown, filled))
        elif len(filled) == 1 and len(self._slots) > 2 and self._is_heading(cells):
            what = f"A stray line, left out: {shown(filled[0], 200)}"
        else:
            return False
        self.sheet.left_aside.append(Remark(line, "", what))
        return True

    def _is_sum(self, cells: Sequence[str]) -> bool:
        if any(self._cell(cells, key) for key in (*WHO, "poured_on")):
            self._sums.add(cells)
            return False
        return self._sums.is_sum(cells)

    def _note_above(self, cells: Sequence[str], text: str) -> bool:
        """A line alone in the column of notes goes on with the note of the row above it."""
        last = self.sheet.lines[-1] if self.sheet.lines else None
        if last is None or last.line != self._last or text != self._cell(cells, "note"):
            return False
        note = f"{last.row.note} · {text}" if last.row.note else text
        if len(note) > LONGEST_NOTE:
            return False
        row = last.row.model_copy(update={"note": note})
        self.sheet.lines[-1] = replace(last, row=row)
        self.sheet.rows += 1
        self.sheet.cells += 1
        return True

    def _is_heading(self, cells: list[str]) -> bool:
        """Whether a cell alone tells neither whose job it is nor an amount or a day of the job above."""
        slot, cell = next(
            (slot, cell) for slot, cell in zip(self._slots, cells, strict=False) if cell.strip()
        )
        if slot.key is None or slot.key in paper_cells.DAYS:
            return True
        return slot.key not in WHO and (paper_cells.is_free(slot.key) or not _takes(slot.key, cell))

    def _cell(self, cells: Sequence[str], key: str) -> str:
        place = self._place.get(key)
        return cells[place].strip() if place is not None and place < len(cells) else ""

    def _take(self, line: int, cells: list[str]) -> None:
        sheet = self.sheet
        sheet.rows += 1
        self._last = line
        stray = [cell for cell in cells[len(self._slots) :] if cell.strip()]
        if stray:
            what = f"This line has {len(cells)} cells, the header {len(self._slots)}: “{shown(stray[0])}” is beyond it."
            sheet.bad.append(Remark(line, "", what))
            return
        cells = [*cells, *[""] * (len(self._slots) - len(cells))]
        sheet.cells += sum(bool(cell.strip()) for cell in cells)
        cells, further = self._from_above(cells)
        self._above = cells
        values, notes, kept = self._values(line, cells)
        self._keep_row(line, values, notes, kept, further=further)

    def _from_above(self, cells: list[str]) -> tuple[list[str], bool]:
        """Ditto marks, and merged cells of who and when; whether the row goes on with the job above."""
        above, found = self._above, [cell.strip() for cell in cells]
        for place, cell in enumerate(found):
            if above and paper_cells.is_ditto(cell):
                found[place] = above[place]
                self.sheet.copied += 1
        named = [key for key in _NAMED_BY if key in self._place]
        goes_on = bool(above and named) and not any(self._cell(found, key) for key in named)
        goes_on = goes_on and any(found)
        if goes_on:
            date_too = not self._cell(found, "poured_on")
            for key in (*WHO, *(("poured_on",) if date_too else ())):
                at = self._place.get(key)
                if at is not None and not found[at] and above[at]:
                    found[at] = above[at]
                    self.sheet.copied += 1
        return found, goes_on

    def _values(
        self, line: int, cells: Sequence[str]
    ) -> tuple[dict[str, object], list[str], list[tuple[str, str]]]:
        """What each column takes; what stands beside it in the note; what no column took."""
        values: dict[str, object] = {}
        notes: list[str] = []
        kept: list[tuple[str, str]] = []
        for slot, cell in zip(self._slots, cells, strict=True):
            if not cell or slot.ignored:
                continue
            if slot.key is None:
                kept.append((slot.header, cell))
            elif slot.key not in paper_cells.DAYS:
                self._read_cell(slot, cell, values, notes)
        self._read_days(cells, values, kept)
        if "base" in values and "dose" not in values:
            header = self._slots[self._place["base"]].header
            values |= paper_cells.color_and_dose(str(values["base"]), header)
        return values, notes, kept

    def _read_cell(self, slot: Slot, cell: str, values: dict[str, object], notes: list[str]) -> None:
        key = slot.key or ""
        if paper_cells.says_nothing(cell):
            return
        if paper_cells.says_none(cell) and not _takes(key, cell):
            if key == "scm_kind":
                values.setdefault("scm", "0")
            if key in paper_cells.MATERIALS or key == "pattern":
                notes.append(f"{slot.header}: none")
            return
        if key in paper_cells.MATERIALS and paper_cells.says_yes(cell):
            values[key] = paper_cells.UNKNOWN
            return
        tidy = paper_cells.tidy(key, cell, commas=self._commas)
        text = paper_cells.with_unit(key, tidy.text, slot.unit)
        names = ColumnMap(units={key: slot.unit}) if slot.unit else self._names
        values[key] = names.cell(key, text)
        if tidy.about:
            notes.append(f"{slot.header}: {cell}")

    def _read_days(
        self, cells: Sequence[str], values: dict[str, object], kept: list[tuple[str, str]]
    ) -> None:
        poured: date | None = None
        for key in ("poured_on", *sorted(paper_cells.DAYS - {"poured_on"})):
            cell = self._cell(cells, key)
            if not cell or paper_cells.says_nothing(cell) or paper_cells.says_none(cell):
                continue
            since = poured if key != "poured_on" else None
            day = days.read(cell, self._today, self._order.get(key, ""), self._year, since)
            header = self._slots[self._place[key]].header
            if day is not None:
                values[key] = day
            elif (
                key == "rinsed_on"
                and "rinse_age" not in values
                and _takes(
                    "rinse_age",
                    hours := " ".join(cell.casefold().replace("after", "").replace("later", "").split()),
                )
            ):
                values["rinse_age"] = hours
            else:
                kept.append((header, cell))
            poured = day if key == "poured_on" else poured

    def _keep_row(
        self,
        line: int,
        values: dict[str, object],
        notes: list[str],
        kept: list[tuple[str, str]],
        *,
        further: bool,
    ) -> None:
        """The row as a line, or undated; whatever a column refuses goes into the note."""
        sheet = self.sheet
        row = self._checked(values, kept)
        if row is None:
            return
        if not any((row.customer, row.job, row.street)):
            row = row.model_copy(update={"customer": paper_cells.UNKNOWN})
        bad = [
            Remark(line, column, what, example) for column, what, example in row_checks.days(row, self._today)
        ]
        if bad:
            sheet.bad += bad
            return
        written = " · ".join([*notes, *(f"{header}: {cell}" for header, cell in kept)])
        sheet.kept += [Remark(line, header, cell) for header, cell in kept]
        if row.poured_on is None:
            sheet.undated.append(Undated(line, row, written))
            return
        note = " · ".join(part for part in (row.note, written) if part)
        if len(note) > LONGEST_NOTE:
            sheet.bad.append(Remark(line, "note", f"{len(note):,} characters is too long for a note."))
            return
        row = row.model_copy(update={"note": note or None, "job": row.job or _street_job(row)})
        sheet.lines.append(Line(line, row, further))

    def _checked(self, values: dict[str, object], kept: list[tuple[str, str]]) -> PourRow | None:
        """The row without what its columns refuse, and without what cannot stand alone."""
        for _ in range(len(PourRow.model_fields)):
            row, wrongs = fields.read(PourRow, values)  # type: ignore[arg-type]
            lost = [wrong.key for wrong in wrongs]
            if row is not None:
                loose = next(iter(row_checks.loose_ends(row)), None)
                if loose is None:
                    return row
                ends = (loose[0], *_HANGS_ON.get(loose[0], ()))
                lost = [column for column in ends if column in values]
            for key in lost:
                self._lose(key, values, kept)
        return None

    def _lose(self, key: str, values: dict[str, object], kept: list[tuple[str, str]]) -> None:
        cell = self._above[self._place[key]] if key in self._place else str(values[key])
        header = self._slots[self._place[key]].header if key in self._place else key
        kept.append((header, cell))
        del values[key]

    def _tell_trucks(self) -> None:
        """Rows of one pour that differ, without tickets, are trucks of it."""
        seen: dict[object, list[Line]] = {}
        for place, line in enumerate(self.sheet.lines):
            before = seen.setdefault(line.pour, [])
            if before and line.row.ticket is None and all(line.row != other.row for other in before):
                self.sheet.lines[place] = replace(line, further=True)
            else:
                self.sheet.lines[place] = replace(line, further=False)
            before.append(line)


def _street_job(row: PourRow) -> str | None:
    """A job that is named by its street alone."""
    if row.customer is not None or row.job is not None or row.poured_on is None:
        return None
    return f"pour of {write_date(row.poured_on)}"


def _takes(key: str, cell: str) -> bool:
    """Whether the column's own reader takes the word: `none` is a way to cure. A name takes anything."""
    if paper_cells.is_free(key):
        return key not in paper_cells.MATERIALS and key in ("note", "weather", "finishing_note")
    row, _ = fields.read(PourRow, {key: paper_cells.tidy(key, cell).text})
    return row is not None


def raw_rows(lines: Iterable[Raw | BadLine]) -> Iterator[Raw]:
    """Leaves out lines that could not be split into cells."""
    return (each for each in lines if not isinstance(each, BadLine))
