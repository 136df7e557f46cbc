"""What a sheet of pours adds to the log: new jobs, areas and pours; the rest is skipped or reported."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from finishlog.desk.paper_log import (
    coated,
    job_merge,
    pour_events,
    pour_facts,
    pour_rows,
    row_checks,
    undated,
)
from finishlog.desk.paper_log.coated import Told
from finishlog.desk.paper_log.lines import JobKey, Line, PourKey
from finishlog.desk.paper_log.reading import Sheet, Undated
from finishlog.desk.paper_log.trucks import Trucks
from finishlog.records.exchange import ImportReport, Remark
from finishlog.records.log import Area, Job
from finishlog.records.writing import NewArea, NewBuried, NewEntry, NewJob
from finishlog.store.schema.fold import key as fold

if TYPE_CHECKING:
    from finishlog.store import Reader


@dataclass(slots=True)
class Addition:
    """What is to be written for one job: `known` is the one the log has, else `job` is to be made."""

    known: Job | None
    job: NewJob | None = None
    areas: list[NewArea] = field(default_factory=list)
    buried: list[NewBuried] = field(default_factory=list)
    entries: list[Told] = field(default_factory=list)
    pours: int = 0


class Planner:
    """Sorts lines; writes nothing."""

    def __init__(self, zone: ZoneInfo) -> None:
        self.zone = zone
        self.rows = self.skipped = self.pours = self.undated = 0
        self.additions: dict[JobKey, Addition] = {}
        self.flagged: list[Remark] = []
        self.bad: list[Remark] = []
        self.joined: tuple[str, ...] = ()
        self._handles: dict[JobKey, str] = {}
        self._known: dict[str, Job] = {}
        self._samples: dict[int, int] = {}
        self._unnumbered: list[int] = []
        self._read_on: dict[int, str] = {}
        self._undated: tuple[Undated, ...] = ()
        self._reader: Reader | None = None

    def report(self, *, written: bool) -> ImportReport:
        """Bad and flagged rows in the order of the file."""
        jobs = sum(addition.known is None for addition in self.additions.values())
        flagged, bad = (tuple(sorted(some, key=lambda r: r.line)) for some in (self.flagged, self.bad))
        return ImportReport(
            self.rows, jobs, self.pours, self.skipped, written, flagged, bad, undated=self.undated,
            joined=self.joined,
        )  # fmt: skip

    def take(self, lines: Iterable[Line], reader: Reader | None) -> None:
        """Sort all lines against the log that `reader` reads, or against none."""
        self._reader = reader
        if reader is not None:
            known = reader.lines()
            self._handles = {(fold(j.customer), fold(j.street), fold(j.name)): j.handle for j in known}
        pours: dict[PourKey, list[Line]] = {}
        for line in lines:
            pours.setdefault(line.pour, []).append(line)
        kept = [self._trucks(same) for same in pours.values()]
        behind = Trucks(line for trucks in kept for line in trucks)
        for trucks in kept:
            self._take_pour(trucks, behind)
        self._name_unnumbered_samples()
        self._mark_sealed()
        self.bad += behind.bad
        self.flagged += behind.flagged

    def take_sheet(self, sheet: Sheet) -> None:
        """What reading a foreign sheet found beside its lines."""
        self.rows, self._undated = sheet.rows, tuple(sheet.undated)
        self.bad += sheet.bad

    def take_undated(self) -> None:
        """Jobs of rows that do not say when: a job that the log has is left as it is."""
        for each in self._undated:
            of, said = undated.key(each.row), undated.note(each.row, each.said)
            started = self.additions.get(of)
            if started is not None and started.job is not None:
                if said not in (started.job.note or ""):
                    note = "\n".join(part for part in (started.job.note, said) if part)
                    started.job = replace(started.job, note=note)
            elif of in self._handles:
                self.skipped += 1
                continue
            else:
                new = undated.job(each.row, self.zone.key, each.said)
                self.additions[of] = Addition(None, new)
            self.undated += 1

    def _trucks(self, same: Sequence[Line]) -> list[Line]:
        """The rows of one pour, one a truck: told twice is skipped, told otherwise is bad."""
        kept: list[Line] = []
        for line in same:
            alike = () if line.further else kept
            before = next((k for k in alike if pour_facts.same_truck(k.row, line.row)), None)
            first = before or (kept[0] if kept else None)
            differs = pour_facts.differing(first.row, line.row, truck=before is None) if first else ()
            if first and differs:
                self._otherwise(line, differs[0], first)
            elif before:
                self.skipped += 1
            else:
                kept.append(line)
        return kept

    def _otherwise(self, line: Line, column: str, first: Line) -> None:
        what = f"Line {first.line} has the same pour with {pour_facts.shown(first.row, column)}."
        if column in pour_facts.OF_A_TRUCK:
            what += " A second truck needs its own ticket."
        self.bad.append(Remark(line.line, column, what))

    def _take_pour(self, trucks: Sequence[Line], behind: Trucks) -> None:
        first = behind.filled(trucks[0])
        self._read_on |= {line.line: state for line in trucks if (state := line.row.color_state) is not None}
        told = [
            (line.line, entry)
            for place, line in enumerate(trucks)
            for entry in pour_events.entries(line.row, self.zone, behind.of(line), further_load=place > 0)
        ]
        addition = self._addition(first)
        if addition.known and pour_facts.has_pour(addition.known, first.area, told[0][1], self.zone):
            self._compare(first, [entry for _, entry in told], addition.known)
            self.skipped += len(trucks)
        elif self._is_new_load(trucks, addition) and self._take_place(first, addition):
            self._take_entries(addition, told)
            self.additions[first.job] = addition
            addition.pours += 1
            self.pours += 1
            self._flag(trucks, behind)

    def _take_entries(self, addition: Addition, told: Iterable[Told]) -> None:
        """What is told of the whole job may stand in the rows of each of its areas: it is kept once."""
        there = addition.known.entries if addition.known else ()
        for line, entry in told:
            if entry.kind == "weather":
                coming = (other for _, other in addition.entries)
                if entry in coming or pour_facts.has_weather(there, entry, self.zone):
                    continue
            if entry.sample is not None:
                self._take_sample(line, entry.sample.number)
            addition.entries.append((line, entry))

    def _take_sample(self, line: int, number: int | None) -> None:
        """Each number stands on one slab of the whole shop."""
        if number is None:
            self._unnumbered.append(line)
        elif self._samples.setdefault(number, line) != line:
            what = f"Line {self._samples[number]} has a sample {number} already."
            self.bad.append(Remark(line, "sample", what))

    def _name_unnumbered_samples(self) -> None:
        """The shop's next number could be one that a later line gives."""
        if self._samples:
            first = next(iter(self._samples.values()))
            what = f"Line {first} numbers its sample: number this one too."
            self.bad += [Remark(line, "sample", what, "12") for line in self._unnumbered]

    def _flag(self, trucks: Sequence[Line], behind: Trucks) -> None:
        for line in trucks:
            truck = behind.of(line)
            self.flagged += row_checks.flags(
                line.line, truck.row if truck else line.row, color=truck is not None
            )

    def _mark_sealed(self) -> None:
        """Last, for a later line may tell of the sealing."""
        for addition in self.additions.values():
            addition.entries, remarks = coated.as_read(
                addition.entries, addition.known, self._read_on, self.zone
            )
            self.flagged += remarks

    def _is_new_load(self, trucks: Sequence[Line], addition: Addition) -> bool:
        """Whether no line tells of a truck that the log has, in another area. Names it where one does."""
        for line in trucks:
            if addition.known and (number := pour_facts.load_of_ticket(addition.known, line.row, self.zone)):
                what = (
                    f"The log has this truck in {addition.known.handle}, entry {number}, without this area: "
                    "correct that load there."
                )
                self.bad.append(Remark(line.line, "ticket", what))
                return False
        return True

    def _addition(self, line: Line) -> Addition:
        """What there is to be written for the line's job so far."""
        started = self.additions.get(line.job)
        handle = self._handles.get(line.job)
        if started or handle is None or self._reader is None:
            return started or Addition(None)
        if handle not in self._known:
            self._known[handle] = self._reader.job(handle)
        return Addition(self._known[handle])

    def _compare(self, line: Line, told: Sequence[NewEntry], job: Job) -> None:
        """The log has this pour: whatever the sheet tells that the log does not is named."""
        missing = pour_facts.untold(told, pour_rows.new_area(line.row), job, self.zone)
        if missing:
            column, value = missing
            what = f"The log has this pour in {job.handle}, but not with {value}: correct it there."
            self.bad.append(Remark(line.line, column, what))

    def _take_place(self, line: Line, addition: Addition) -> bool:
        return self._take_job(line, addition) and self._take_area(line, addition)

    def _take_job(self, line: Line, addition: Addition) -> bool:
        """Make the row's job where it is new, else add to it. False where the row contradicts it."""
        new = pour_rows.new_job(line.row, self.zone.key)
        if addition.known is not None:
            addition.buried += job_merge.further_buried(
                (*addition.known.buried, *addition.buried), new.buried
            )
            self.flagged += [Remark(line.line, *lost) for lost in job_merge.not_taken(addition.known, new)]
            return True
        if addition.job is None:
            addition.job = new
            return True
        wrong = job_merge.otherwise(addition.job, new)
        if wrong:
            column, value = wrong
            self.bad.append(Remark(line.line, column, f"An earlier line has the same job with {value}."))
            return False
        addition.job = job_merge.merged(addition.job, new)
        return True

    def _take_area(self, line: Line, addition: Addition) -> bool:
        """Make the row's area where it is new. False where the row contradicts it."""
        new = pour_rows.new_area(line.row)
        coming = addition.job.areas if addition.job else tuple(addition.areas)
        there: tuple[Area | NewArea, ...] = (*(addition.known.areas if addition.known else ()), *coming)
        same = next((area for area in there if fold(area.name) == line.area), None)
        if same is not None and (column := job_merge.other_area(same, new)):
            what = (
                f"This job has an area “{same.name}” with another {column}; give this surface its own name."
            )
            self.bad.append(Remark(line.line, column, what, "section 2 in the column area"))
            return False
        areas = job_merge.with_area(coming, new) if same is None or same in coming else coming
        if addition.job is not None:
            addition.job = replace(addition.job, areas=areas)
        else:
            addition.areas = list(areas)
        return True
