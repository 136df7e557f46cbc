"""Undoes an import, whose writes are recorded in the same unit of work.

Nothing is deleted: its entries are withdrawn and its new jobs archived, and both remain readable. Once
anything else is logged on one of its jobs, the import can no longer be undone.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from finishlog.errors import InputError
from finishlog.plain import visible
from finishlog.retrying import anew

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.log import Job
    from finishlog.store import Writer

LAST = "import last"
SHOWN = 3


@dataclass(slots=True)
class Wrote:
    """The jobs an import made, and by job the first and the last number of the entries it added."""

    jobs: list[str] = field(default_factory=list)
    entries: dict[str, tuple[int, int]] = field(default_factory=dict)

    def text(self) -> str:
        """Jobs and entries counted, as the confirmation says it."""
        jobs = "1 new job" if len(self.jobs) == 1 else f"{len(self.jobs):,} new jobs"
        count = sum(last - first + 1 for first, last in self.entries.values())
        return f"{jobs}, {count:,} {'entry' if count == 1 else 'entries'}"


def remember(writer: Writer, wrote: Wrote) -> None:
    """Lets the next undo find this import."""
    writer.set_setting(LAST, json.dumps({"jobs": wrote.jobs, "entries": wrote.entries}))


def forget(writer: Writer) -> None:
    """Call it once an import is undone, so that it cannot be undone twice."""
    writer.set_setting(LAST, None)


def last(services: Services) -> Wrote | None:
    """What the last import wrote, until it was taken back."""
    if not services.has_log():
        return None
    with services.log().reading() as reader:
        return _wrote(reader.settings())


def _wrote(settings: Mapping[str, str]) -> Wrote | None:
    try:
        told = json.loads(settings.get(LAST, ""))
        return Wrote(
            list(told["jobs"]), {key: (int(one), int(two)) for key, (one, two) in told["entries"].items()}
        )
    except (ValueError, KeyError, TypeError, AttributeError):
        return None


@anew
def take_back(services: Services, progress: Callable[[int, int], None] | None = None) -> str:
    """Withdraw all that the last import wrote, in one unit of work; what was done, in a sentence.

    Raises InputError where there is nothing to take back, or something else was logged since.
    """
    with services.log().writing() as writer:
        wrote = _wrote(writer.settings())
        if wrote is None:
            raise InputError("No import to undo.")
        jobs = {handle: writer.job(handle) for handle in dict.fromkeys((*wrote.jobs, *wrote.entries))}
        _require_untouched(wrote, jobs)
        for done, (handle, job) in enumerate(jobs.items(), start=1):
            for number in reversed(list(_standing(job, wrote.entries.get(handle)))):
                writer.undo(handle, number)
            if handle in wrote.jobs:
                writer.archive(handle)
            if progress:
                progress(done, len(jobs))
        forget(writer)
    return f"Import undone: {wrote.text()}. Withdrawn, not erased."


def _standing(job: Job, span: tuple[int, int] | None) -> Iterator[int]:
    if span is not None:
        yield from (entry.number for entry in job.entries if span[0] <= entry.number <= span[1])


def _require_untouched(wrote: Wrote, jobs: Mapping[str, Job]) -> None:
    """Something that was logged, corrected or withdrawn since counts on what came in."""
    later = [
        handle
        for handle, job in jobs.items()
        if any(entry.number > wrote.entries.get(handle, (0, 0))[1] for entry in job.history)
    ]
    if later:
        named = ", ".join(visible(handle) for handle in later[:SHOWN])
        more = f" and {len(later) - SHOWN} more" if len(later) > SHOWN else ""
        raise InputError(
            "This import can no longer be undone.",
            f"Something was logged since on {named}{more}. Undo that first, or archive the jobs one by one.",
        )
