"""Imports a sheet of entries: every row is saved as by `record`, all or none.

A row that the log has already is skipped: each entry of the log answers for one row. What is odd about a row
is judged by what came before it; what its load makes of the pour, by the whole sheet.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.jobs import edit
from finishlog.desk.placed import load_flags
from finishlog.desk.record import job_now, record
from finishlog.desk.record.job_now import Stand
from finishlog.desk.record.record import WrongFields
from finishlog.errors import InputError, naming
from finishlog.inputs.entry import entries, load_split, sheet_of_entries, swept
from finishlog.inputs.paper_log import sheet
from finishlog.inputs.paper_log.sheet import Row
from finishlog.records.exchange import ImportReport, Remark
from finishlog.records.log import Entry
from finishlog.retrying import anew
from finishlog.store.schema.fold import key as fold
from finishlog.units import read_count

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Log, Writer

Progress = Callable[[int, int], None]
SAY_WHY = "the truck came a day early"
FIRST = 5
"""How many entries are shown of a sheet that is only checked."""


class _Back(Exception):
    """Takes a unit of work back."""


@dataclass(slots=True)
class _Taking:
    """What has become of the rows so far. `handles` finds a job by its piece of work in this sheet."""

    services: Services
    log: Writer
    file_path: Callable[[str], Path]
    jobs: int = 0
    entries: int = 0
    skipped: int = 0
    flagged: list[Remark] = field(default_factory=list)
    bad: list[Remark] = field(default_factory=list)
    preview: list[str] = field(default_factory=list)
    handles: dict[str, str | None] = field(default_factory=dict)
    unclaimed: dict[str, list[Entry]] = field(default_factory=dict)
    """By job, the entries it had before the sheet and that no row has told of yet."""
    loads: dict[str, dict[int, int]] = field(default_factory=dict)
    """By job, the lines of its loads by their entries' numbers."""
    known: dict[tuple[str, ...], str] = field(default_factory=dict)
    """Handles by themselves, and by customer, street and piece of work."""


def bring_in(
    services: Services, text: str, *, check: bool = False, new: bool = False, progress: Progress | None = None
) -> ImportReport:
    """Read a sheet of entries into the log; into a log made for it where `new`.

    With anything wrong, or where only checked, nothing is kept. Raises InputError for a header that cannot
    be used, LogError for the log.
    """
    rows = list(sheet.read_rows(text, sheet_of_entries.columns(), sheet_of_entries.NEEDED))
    report = ImportReport(len(rows))

    def take(log: Log, writer: Writer) -> None:
        nonlocal report
        taking = _Taking(services, writer, log.file_path, known=_known_jobs(writer))
        _take_all(taking, rows, progress)
        report = _report(taking, len(rows), written=not check and not taking.bad)
        if not report.written:
            raise _Back

    def fill(log: Log) -> None:
        with log.trying() if check else log.writing() as writer:
            take(log, writer)

    with suppress(_Back):
        if new:
            services.use(services.make_log(None, fill))
        elif check:
            fill(services.log())
        else:
            _write(services, take)
    return report


@anew
def _write(services: Services, take: Callable[[Log, Writer], None]) -> None:
    """Into the log that there is; each try begins with the first row."""
    log = services.log()
    with log.writing() as writer:
        take(log, writer)


def _report(taking: _Taking, rows: int, *, written: bool) -> ImportReport:
    return ImportReport(
        rows=rows,
        jobs_added=taking.jobs,
        skipped=taking.skipped,
        written=written,
        flagged=tuple(sorted(taking.flagged, key=lambda remark: remark.line)),
        bad=tuple(taking.bad),
        preview=() if written else tuple(taking.preview),
        entries_added=taking.entries,
    )


def _take_all(taking: _Taking, rows: list[Row | sheet.BadLine], progress: Progress | None) -> None:
    for done, row in enumerate(rows, start=1):
        if isinstance(row, sheet.BadLine):
            taking.bad.append(Remark(row.line, "", row.what))
            continue
        try:
            _take(taking, row)
        except Doubt as odd:
            taking.bad.append(Remark(row.line, "because", f"{odd.title} {odd.cause}", SAY_WHY))
        except WrongFields as wrong:
            taking.bad += [Remark(row.line, each.key, each.what, each.example) for each in wrong.wrongs]
        except InputError as wrong:
            what = " ".join(part for part in (wrong.title, wrong.cause) if part)
            where = wrong.where if wrong.where.islower() else ""
            taking.bad.append(Remark(row.line, where, what, wrong.example))
        if progress:
            progress(done, len(rows))
    for handle, lines in taking.loads.items():
        now, shop = job_now.stand(taking.log, taking.services, handle), taking.log.shop()
        found = load_flags.of_sheet(now.job, now.zone, shop, lines)
        taking.flagged += [Remark(lines[number], "", what) for number, what in found]


def _take(taking: _Taking, row: Row) -> None:
    told = {key: text for key, text in row.cells.items() if text.strip()}
    kind = told.pop("kind", "").strip()
    if not kind:
        raise InputError("What happened?", where="kind", example="load")
    if fold(kind) == sheet_of_entries.JOB:
        _take_job(taking, told)
    else:
        _take_entry(taking, row.line, entries.need_kind(kind).key, told)


def _take_job(taking: _Taking, told: dict[str, str]) -> None:
    for key in ("at", "replaces", "because"):
        if key in told:
            raise InputError("A row that starts a job has none.", where=key)
    names = {fold(told[key]) for key in ("handle", "job") if key in told}
    taking.handles |= dict.fromkeys(names)  # where it is wrong, its entries say nothing more
    known = _known(taking, told)
    handle = known or edit.new_job_in(taking.log, taking.services, told).job
    taking.handles |= dict.fromkeys(names, handle)
    if known:
        taking.skipped += 1
        return
    taking.unclaimed[handle] = []
    taking.jobs += 1


def _known(taking: _Taking, told: dict[str, str]) -> str | None:
    """The log's job of that handle, else of that customer, street and piece of work."""
    new = edit.job_of(taking.services, told)
    whose = (new.customer.name, new.site.street, new.name)
    return taking.known.get((new.handle,) if new.handle else tuple(map(fold, whose)))


def _known_jobs(log: Writer) -> dict[tuple[str, ...], str]:
    found: dict[tuple[str, ...], str] = {}
    for line in log.lines(archived=True):
        found[(line.handle,)] = line.handle
        found[(fold(line.customer), fold(line.street), fold(line.name))] = line.handle
    return found


def _take_entry(taking: _Taking, line: int, kind: str, told: dict[str, str]) -> None:
    handle = _job_of(taking, told.pop("job", ""))
    if handle is None:
        return
    because, replaces = told.pop("because", None), _number(told.pop("replaces", None))
    now = job_now.stand(taking.log, taking.services, handle)
    if "at" in told:
        sheet_of_entries.need_day(told["at"], now.context)
    elif replaces is None:
        raise InputError("When was it?", where="at", example="2026-06-04 7:30a")
    if _is_there(taking, now, kind, told, replaces, because):
        taking.skipped += 1
        return
    done = record.record_in(
        taking.log, taking.services, handle, kind, told, file_path=taking.file_path, replaces=replaces,
        because=because, flag=False,
    )  # fmt: skip
    taking.entries += 1
    if done.entry.load is not None:
        taking.loads.setdefault(done.job, {})[done.entry.number] = line
    taking.flagged += [Remark(line, "", warning) for warning in done.warnings]
    if len(taking.preview) < FIRST:
        taking.preview.append(f"{done.job}  {done.sentence}")


def _job_of(taking: _Taking, said: str) -> str | None:
    """The handle of the job a row is of; None where the row that begins it is wrong. Raises InputError."""
    if not said.strip():
        raise InputError("Which job?", where="job", example="hill-patio")
    key = fold(said)
    if key not in taking.handles:
        with naming("job"):
            taking.handles[key] = taking.log.resolve(said)
    handle = taking.handles[key]
    if handle is not None and handle not in taking.unclaimed:
        taking.unclaimed[handle] = list(taking.log.job(handle).history)
    return handle


def _number(text: str | None) -> int | None:
    with naming("replaces"):
        return None if text is None else read_count(text.strip().removeprefix("#"), high=999_999_999)


def _is_there(
    taking: _Taking, now: Stand, kind: str, told: dict[str, str], replaces: int | None, because: str | None
) -> bool:
    """Whether an entry that the log had before says all that the row says; it answers for this row alone."""
    some = taking.unclaimed[now.job.handle]
    alike = [entry for entry in some if entry.kind == kind and entry.replaces == replaces]
    if not alike:
        return False
    left_out = {"area", "note"} if because else {"area"}  # the reason stands in the note
    said = {key: text for key, text in told.items() if key not in left_out}
    found = next((entry for entry in alike if _says(entry, said, told.get("area"), now)), None)
    if found is not None:
        some.remove(found)
    return found is not None


def _says(entry: Entry, said: dict[str, str], area: str | None, now: Stand) -> bool:
    context = job_now.of_entry(entry, now)
    kept = entries.texts_of(entry.kind, entries.values_of(entry, context, now.names), context)
    try:
        texts = sheet_of_entries.as_kept(entry.kind, said, context)
    except InputError:
        return False
    if swept.KEY in texts:
        texts = {**texts, swept.KEY: swept.of_entry(texts[swept.KEY])}
        kept.setdefault(swept.KEY, swept.UNKNOWN)
    same = all(kept.get(key) == text for key, text in texts.items()) and len(texts) == len(said)
    return same and (entry.replaces is not None or _at_area(entry, area, now))


def _at_area(entry: Entry, area: str | None, now: Stand) -> bool:
    """Whether a row's area is the entry's; in a job of one area it need not be said."""
    where = now.names.get(entry.area or "", "")
    wanted = "" if area is None or fold(area) == load_split.ALL else fold(area)
    return fold(where) == wanted or (len(now.job.areas) == 1 and not wanted)
