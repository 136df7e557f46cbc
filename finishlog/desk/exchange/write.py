"""What a sheet adds, written in one unit of work."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from finishlog.desk.color import recipes
from finishlog.desk.exchange import back
from finishlog.desk.exchange.back import Wrote
from finishlog.desk.exchange.plan import Addition
from finishlog.desk.paper_log.pour_loads import LOAD_BEFORE
from finishlog.errors import InputError
from finishlog.records.writing import NewEntry

if TYPE_CHECKING:
    from finishlog.store import Writer

Keep = tuple[str, str] | None
"""A setting to keep with it."""
Progress = Callable[[int, int], None]
"""Told how many pours of how many are written."""


def write(
    writer: Writer,
    additions: Collection[Addition],
    now: datetime,
    keep: Keep = None,
    progress: Progress | None = None,
) -> tuple[str, ...]:
    """Write all of it, and join the new jobs' recipes that are one finish; what was joined, in words.

    A sheet has no recipes, only pours: each would count as a recipe of its own, and no pour would tell of another.
    Recipes that the log had stay as they are. Raises InputError that names the line of what the log does not take.
    """
    total, done, wrote = sum(addition.pours for addition in additions), 0, Wrote()
    for addition in additions:
        handle = addition.known.handle if addition.known else _begin_job(writer, addition)
        if addition.known is None:
            wrote.jobs.append(handle)
        for area in addition.areas:
            writer.add_area(handle, area)
        for item in addition.buried:
            writer.add_buried(handle, item)
        if (first := _first(addition)) <= (last := _write_entries(writer, handle, addition)):
            wrote.entries[handle] = first, last
        done += addition.pours
        if progress:
            progress(done, total)
    joined = tuple(_joined(writer, wrote, now))
    if keep:
        writer.set_setting(*keep)
    if wrote.jobs or wrote.entries:
        back.remember(writer, wrote)
    return joined


def _joined(writer: Writer, wrote: Wrote, now: datetime) -> Iterator[str]:
    """The joinings are part of the import, and go with it."""
    new = (writer.job(handle) for handle in wrote.jobs)
    for group in recipes.of_jobs(writer, new):
        for handle, entry in recipes.write_joins(writer, group, None, now):
            first, _ = wrote.entries.get(handle, (entry.number, 0))
            wrote.entries[handle] = first, entry.number
        yield recipes.sentence(group)


def _first(addition: Addition) -> int:
    """The number of the first entry that is added."""
    there = addition.known.history if addition.known else ()
    return max((entry.number for entry in there), default=0) + 1


def _begin_job(writer: Writer, addition: Addition) -> str:
    assert addition.job
    return writer.begin_job(addition.job)


def _write_entries(writer: Writer, handle: str, addition: Addition) -> int:
    """In one go; the log takes them one by one, so that the line of a refused one is known. The last number."""
    line, number = 0, _first(addition) - 1

    def taken() -> Iterator[NewEntry]:
        nonlocal line, number
        for at, entry in addition.entries:
            line = at
            yield _with_load(entry, number)
            number += 1

    try:
        writer.add_entries(handle, taken())
    except InputError as wrong:
        raise wrong.at(f"line {line}, {wrong.where}" if wrong.where else f"line {line}") from None
    return number


def _with_load(entry: NewEntry, before: int) -> NewEntry:
    """A sample names the load that stands just before it, by its number."""
    if entry.sample is None or entry.sample.load != LOAD_BEFORE:
        return entry
    return replace(entry, sample=replace(entry.sample, load=before))
