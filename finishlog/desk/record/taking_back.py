"""Take an entry back, bring it back, move it to another job. All three only add entries; nothing is erased.

From a screen, only its own session's last entry goes unasked. Anything else is named first.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from finishlog.desk import said
from finishlog.desk.record import again, job_now, record
from finishlog.desk.record.job_now import Stand
from finishlog.desk.record.record import Recorded
from finishlog.desk.words import when
from finishlog.errors import InputError
from finishlog.records.log import Entry, Fact, Job
from finishlog.records.when import zone_of
from finishlog.records.writing import NewEntry
from finishlog.retrying import anew

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.store import Writer

Path_of = Callable[[str], Path]
OWN_PLACE = ("change",)
"""What belongs to its own job: a change order's recipe stays there."""


class Sure(InputError):
    """Asked before anything is done; `number` is the entry."""

    number = 0


@anew
def undo(
    services: Services, handle: str, number: int | None = None, *, own: Collection[int] | None = None
) -> Recorded:
    """Take an entry back, the one logged last if none is named; one that took another back brings it back.

    `own` are the numbers that the asking session logged: what it did not log last itself raises Sure.
    """
    with services.log().writing() as log:
        now = job_now.stand(log, services, handle)
        named = _entry(now.job, number)
        if named is not None and named.withdrawn:
            return _brought_back(log, services, now, _taken(now.job, named), own)
        return _taken_back(log, services, now, number, own)


@anew
def bring_back(services: Services, handle: str, *, own: Collection[int] | None = None) -> Recorded:
    """Bring back what was taken back last on a job. Raises InputError where nothing was; Sure as `undo`."""
    with services.log().writing() as log:
        now = job_now.stand(log, services, handle)
        over = {entry.replaces for entry in now.job.history}
        last = next((e for e in reversed(now.job.history) if e.withdrawn and e.number not in over), None)
        if last is None:
            raise InputError("Nothing to bring back on this job.", where="ENTRY")
        return _brought_back(log, services, now, last, own)


@anew
def move(services: Services, handle: str, number: int, to: str, *, because: str | None = None) -> Recorded:
    """Move an entry to the job it belongs on, with what is attached to it. Answers the entry there.

    Raises Doubt where it is odd on that job and has no reason, InputError for what cannot be moved.
    """
    with services.log().writing() as log:
        now, there = (job_now.stand(log, services, each) for each in (handle, to))
        entry = job_now.standing(now.job, number)
        if there.job.handle == now.job.handle:
            raise InputError(f"Entry {number} is already on {to}.", where="--to", example="another job")
        if entry.kind in OWN_PLACE:
            raise InputError("A change order stays with the recipe it changed.", "Change the other job's own.",
                             where="ENTRY")  # fmt: skip
        gone = _leave(log, now, entry, there.job)
        new = _onto(entry, now, there, services.log().file_path)
        kept, warnings = record.keep(log, new, record.scene(log, services, there, new), because)
        text = f"Moved here from {now.job.handle}, entry {number}. {record.sentence(kept, there.zone)}"
        lost = (*_lost(entry, now, there), *warnings)
        return Recorded(there.job.handle, kept, text, (), lost, ((now.job.handle, gone),))


# how


def _entry(job: Job, number: int | None) -> Entry | None:
    return next((entry for entry in job.history if entry.number == number), None)


def _taken(job: Job, gone: Entry) -> Entry:
    """The undo itself, if its entry was not brought back since. Raises InputError."""
    by = next((entry.number for entry in job.history if entry.replaces == gone.number), None)
    if by is not None:
        raise InputError(f"Entry {gone.replaces} was already brought back as entry {by}.", where="ENTRY",
                         example=str(by))  # fmt: skip
    return gone


def _taken_back(
    log: Writer, services: Services, now: Stand, number: int | None, own: Collection[int] | None
) -> Recorded:
    if number is not None:
        job_now.standing(now.job, number)
    else:
        number = max((entry.number for entry in now.job.entries), default=None)
    taken = _entry(now.job, number)
    if taken is None:
        raise InputError("No entry to undo.", "The job has no current entry.", where="ENTRY")
    _sure("Undo", taken, taken.number, now, own)
    gone = _gone_there(log, now, taken)
    if gone is not None:
        return _moved_back(log, services, now, taken, *gone)
    before = _entry(now.job, taken.replaces)
    if before is not None and not before.withdrawn and not _is_as_once(taken, now.job):
        return _as_before(log, services, now, taken, before)
    entry = log.undo(now.job.handle, taken.number)
    return Recorded(now.job.handle, entry, f"Undone. {_named(taken, now)}.")


def _as_before(log: Writer, services: Services, now: Stand, taken: Entry, before: Entry) -> Recorded:
    """A correction taken back: what it corrected stands again, word for word."""
    new = again.as_new(before, now.names, services.log().file_path)
    entry = log.add_entry(now.job.handle, replace(new, replaces=taken.number, facts=before.facts))
    text = f"Undone. {_named(taken, now)}. What it corrected stands again, as entry {entry.number}."
    return Recorded(now.job.handle, entry, text, restores=before.number)


def _is_as_once(entry: Entry, job: Job) -> bool:
    """Whether an entry only puts back what one before its correction said: then it goes like any other."""
    corrected = _entry(job, entry.replaces)
    first = None if corrected is None else _entry(job, corrected.replaces)
    return first is not None and _said_by(first) == _said_by(entry)


def _said_by(entry: Entry) -> Entry:
    """An entry without its place in the log."""
    return replace(entry, number=0, uid="", replaces=None, logged=entry.happened)


def _brought_back(
    log: Writer, services: Services, now: Stand, gone: Entry, own: Collection[int] | None
) -> Recorded:
    old = _entry(now.job, gone.replaces)
    assert old is not None
    _sure("Bring back", old, gone.number, now, own)
    other = gone.facts.get("moved_to")
    if other is not None:
        there = job_now.stand(log, services, str(other))
        stands = _now_stands(there.job, gone.facts.get("moved_to_entry"))
        if stands is not None:
            return _moved_back(log, services, there, stands, now, gone)
    new = replace(
        again.as_new(old, now.names, services.log().file_path),
        replaces=gone.number,
        again=True,
        facts=old.facts,
    )
    entry = log.add_entry(now.job.handle, new)
    text = f"Brought back. {record.sentence(entry, now.zone)}"
    return Recorded(now.job.handle, entry, text, restores=old.number)


def _sure(verb: str, entry: Entry, number: int, now: Stand, own: Collection[int] | None) -> None:
    """Raises Sure, unless this session logged `number` and everything after it on the job."""
    later = next((e for e in now.job.history if e.number > number and e.number not in (own or ())), None)
    if own is None or (number in own and later is None):
        return
    since = ""
    if later is not None and number in own:
        who = f" by {later.person}" if later.person else ""
        what = f"undid entry {later.replaces}" if later.withdrawn else said.what(later)
        since = f"Entry {later.number} came after it{who}: {what}."
    asked = Sure(f"{verb} {_named(entry, now, 'entry')}?", since)
    asked.number = number
    raise asked


def _named(entry: Entry, now: Stand, head: str = "Entry") -> str:
    """`Entry 21: release thrown, Otter Back 15 lb. Jun 2 2026, 1p, by Maud`"""
    moment = when(entry.happened.astimezone(now.zone), entry.exactness)
    who = f", by {entry.person}" if entry.person else ""
    if head == "Entry":
        return f"Entry {entry.number}: {said.what(entry)}. {moment}{who}"
    return f"{head} {entry.number}, {said.what(entry)}, {moment}{who}"


# moved


def _leave(log: Writer, now: Stand, entry: Entry, there: Job) -> Entry:
    """The undone entry on its job, with where it went: the next number there."""
    facts: dict[str, Fact] = {"moved_to": there.handle, "moved_to_entry": len(there.history) + 1}
    return log.add_entry(
        now.job.handle,
        NewEntry(
            entry.kind, entry.happened, entry.exactness, replaces=entry.number, withdrawn=True, facts=facts
        ),
    )


def _onto(entry: Entry, now: Stand, there: Stand, file_path: Path_of) -> NewEntry:
    """The entry as saved on another job: on the area of the same name, if any."""
    by_name = {area.name.casefold(): area.name for area in there.job.areas}
    names = {uid: by_name[name.casefold()] for uid, name in now.names.items() if name.casefold() in by_name}
    new = again.as_new(entry, names, file_path)
    if new.sample is not None:
        new = replace(new, sample=replace(new.sample, load=None))
    facts = {**new.facts, "moved_from": now.job.handle, "moved_from_entry": entry.number}
    return replace(new, facts=facts)


def _lost(entry: Entry, now: Stand, there: Stand) -> tuple[str, ...]:
    """What the other job has no place for."""
    known = {area.name.casefold() for area in there.job.areas}
    asked = [entry.area or "", *(uid for uid, _ in (entry.load.areas if entry.load else ()))]
    gone = [now.names[uid] for uid in asked if uid in now.names and now.names[uid].casefold() not in known]
    areas = f"{there.job.handle} has no {', '.join(dict.fromkeys(gone))}; logged for the whole job."
    load = "Its load stays on the other job, so it counts as poured separately."
    return (*([areas] if gone else []), *([load] if entry.sample and entry.sample.load is not None else []))


def _now_stands(job: Job, number: object) -> Entry | None:
    """What an entry is now, corrected or not; None where it was taken back."""
    later = {entry.replaces: entry for entry in job.history if entry.replaces is not None}
    found = next((entry for entry in job.history if entry.number == number), None)
    while found is not None and found.number in later:
        found = later[found.number]
    return None if found is None or found.withdrawn else found


def _gone_there(log: Writer, now: Stand, entry: Entry) -> tuple[Stand, Entry] | None:
    """For an entry that was moved here: the job it comes from, and what took it away there."""
    source = entry.facts.get("moved_from")
    if source is None:
        return None
    job = log.job(str(source))
    over = {each.replaces for each in job.history}
    told = {"moved_to": now.job.handle, "moved_to_entry": entry.number}
    gone = next((e for e in job.history if e.withdrawn and told.items() <= e.facts.items()), None)
    if gone is None or gone.number in over:
        return None
    return _stand_of(job, now), gone


def _stand_of(job: Job, like: Stand) -> Stand:
    return replace(like, job=job, zone=zone_of(job), names={area.uid: area.name for area in job.areas})


def _moved_back(
    log: Writer, services: Services, now: Stand, entry: Entry, there: Stand, gone: Entry
) -> Recorded:
    """Move an entry from `now` back to the job `gone` took it from, unchanged unless corrected."""
    old = _entry(there.job, gone.replaces)
    assert old is not None
    left = _leave(log, now, entry, there.job)
    untouched = entry.number == gone.facts.get("moved_to_entry")
    path = services.log().file_path
    new = again.as_new(old, there.names, path) if untouched else _onto(entry, now, there, path)
    kept = log.add_entry(there.job.handle, replace(new, replaces=gone.number, again=True))
    text = f"Moved back from {now.job.handle}, entry {entry.number}. {record.sentence(kept, there.zone)}"
    return Recorded(there.job.handle, kept, text, (), (), ((now.job.handle, left),), old.number)
