"""Photos of a job: taken in byte for byte, listed with their age, shown small.

A photo is an entry of its kind with one file. Its time is the camera's where the camera says its offset,
else the camera's taken as the site's own clock, else what was told.
"""

from __future__ import annotations

import hashlib
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from finishlog.desk import words as say
from finishlog.desk.doubts import clock, odd
from finishlog.desk.doubts.scene import Scene
from finishlog.desk.photo import files, small
from finishlog.desk.photo.files import LeftOut, Named
from finishlog.desk.record import job_now, record
from finishlog.desk.words import when
from finishlog.errors import InputError
from finishlog.inputs import photos as pictures
from finishlog.inputs.entry import entries
from finishlog.inputs.photos import Picture
from finishlog.records.files import Content, Photo
from finishlog.records.log import Entry, Exactness, Job
from finishlog.records.when import has_days
from finishlog.records.writing import NewEntry, NewFile
from finishlog.retrying import anew
from finishlog.trade.poured import end_before
from finishlog.units import count

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from finishlog.desk.record.job_now import Stand
    from finishlog.desk.services import Services
    from finishlog.store import Writer

AT_ONCE = 12
BYTES_AT_ONCE = 32 * 2**20
"""What is kept in one unit of work, and held in memory meanwhile."""
LARGE = 12 * 2**20
"""A file of so many bytes is read alone, with nothing else held."""
LOOKERS = 2
"""Photos unpacked at once: a laptop has two cores, and a photo of a phone takes 100 MB meanwhile."""
UNKNOWN = "unknown"
_CLOCKS = {
    "camera offset": "the camera's, with its offset",
    "site wall time": "the camera's, taken as the site's own",
    "told": "entered by hand",
    "unknown": "unknown",
}
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class PhotoFacts:
    """What is asked once for all photos of a batch, as texts; a blank is unknown.

    `taken` is when they were taken, where the camera does not say or is wrong; "unknown": nobody knows.
    """

    area: str = ""
    damp: str = ""  # yes, no
    sealed: str = ""  # yes, no
    light: str = ""  # sun, open shade, overcast, indoors
    taken: str = ""
    by: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class PhotoLine:
    """A photo of a job. `age_h` is in hours after the end of its pour, None where one of both is unknown."""

    entry: int
    sha256: str
    name: str
    photo: Photo
    happened: datetime
    exactness: Exactness
    taken: str
    age: str
    age_h: float | None
    damp: bool | None
    sealed: bool | None
    light: str | None
    area: str | None  # name
    readings: int
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """An odd photo, not saved: it needs a reason, or its time.

    `needs_time`: nothing says when it was taken, and no reason stands for that.
    """

    path: Path
    name: str
    doubts: tuple[str, ...]
    needs_time: bool = False


@dataclass(frozen=True, slots=True)
class Double:
    """A picture that this job has already, in that entry."""

    name: str
    entry: int


@dataclass(frozen=True, slots=True)
class Added:
    """What came of a batch: kept, already there, asked about, left out."""

    job: str
    kept: tuple[PhotoLine, ...] = ()
    doubles: tuple[Double, ...] = ()
    asked: tuple[Asked, ...] = ()
    left_out: tuple[LeftOut, ...] = ()

    @property
    def sentence(self) -> str:
        """`3 photos kept, 1 already there, 1 asked about, 2 left out.`"""
        counts = ((self.doubles, "already there"), (self.asked, "asked about"), (self.left_out, "left out"))
        rest = [f"{len(some)} {what}" for some, what in counts if some]
        return ", ".join([f"{count(len(self.kept), 'photo')} kept", *rest]) + "."


@dataclass(frozen=True, slots=True)
class _Seen:
    """A file that is a picture, ready to be kept."""

    named: Named
    content: Content
    picture: Picture


@dataclass(slots=True)
class _Batch:
    """What is growing while a batch comes in."""

    services: Services
    handle: str
    facts: PhotoFacts
    because: str | None
    uid: str = ""
    ahead: timedelta = timedelta(0)
    kept: list[PhotoLine] = field(default_factory=list)
    doubles: list[Double] = field(default_factory=list)
    asked: list[Asked] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)


def add(
    services: Services,
    handle: str,
    paths: Iterable[Path | Named],
    facts: PhotoFacts,
    *,
    because: str | None = None,
    progress: Progress | None = None,
    lookers: int = LOOKERS,
    uid: str = "",
    ahead: timedelta = timedelta(0),
) -> Added:
    """Keep the photos among these files and folders. Raises InputError for what is wrong with the rest asked.

    A file that is no photo is left out with its reason, and the others come in. What is odd (before the pour,
    in the future, no time in it) is asked about, and comes in with `because`. `lookers` are unpacked at once.
    With `uid` the photo (a single one) has that identity, and is kept once however often it is sent. The camera's
    clock is `ahead` of the log's by so much: a time of it that is still to come is put back by that.
    """
    found = list(files.gather(paths))
    if not found:
        raise InputError("No files to add.", "The folder is empty.", where="FILE")
    batch = _Batch(services, handle, facts, because, uid, ahead)
    with services.log().reading() as log:
        now = job_now.stand(log, services, handle)
    batch.handle = now.job.handle
    _told(batch, now)
    seen: list[_Seen] = []
    for done, one in enumerate(_looked_at(found, lookers), 1):
        if isinstance(one, LeftOut):
            batch.left_out.append(one)
        else:
            seen.append(one)
        if seen and (done == len(found) or _is_enough(seen)):
            _keep_all(batch, seen)
            seen = []
        if progress is not None:
            progress(done, len(found))
    return Added(
        batch.handle, tuple(batch.kept), tuple(batch.doubles), tuple(batch.asked), tuple(batch.left_out)
    )


def _is_enough(seen: list[_Seen]) -> bool:
    return len(seen) >= AT_ONCE or sum(len(one.content.data) for one in seen) >= BYTES_AT_ONCE


def _looked_at(found: Iterable[Named | LeftOut], lookers: int) -> Iterator[_Seen | LeftOut]:
    """Each in its order; a few are unpacked ahead, while those before them are written."""
    with ThreadPoolExecutor(lookers) as pool:
        ahead: deque[Future[_Seen | LeftOut]] = deque()
        for each in found:
            if isinstance(each, Named) and files.size(each.path) > LARGE:
                while ahead:
                    yield ahead.popleft().result()
                yield _look(each)
                continue
            ahead.append(pool.submit(_look, each))
            if len(ahead) > lookers:
                yield ahead.popleft().result()
        while ahead:
            yield ahead.popleft().result()


def _look(found: Named | LeftOut) -> _Seen | LeftOut:
    if isinstance(found, LeftOut):
        return found
    try:
        data = files.read(found.path, pictures.BYTES_MOST)
        picture = pictures.look(data)
    except InputError as wrong:
        return LeftOut(found.name, wrong.cause or wrong.title)
    return _Seen(found, Content(data, hashlib.sha256(data).hexdigest()), picture)


def _keep_all(batch: _Batch, seen: list[_Seen]) -> None:
    """Keep some in one unit of work; their small pictures afterwards."""
    part, had = _kept(batch.services, batch, seen)
    batch.kept += part.kept
    batch.doubles += part.doubles
    batch.asked += part.asked
    for one in seen:
        if one.content.sha256 in had:
            small.write(one.content.sha256, pictures.SIDE, one.picture.small)


@anew
def _kept(services: Services, whole: _Batch, seen: list[_Seen]) -> tuple[_Batch, dict[str, int]]:
    """What has become of these, noted apart from those before; and the job's entries by their files."""
    batch = replace(whole, kept=[], doubles=[], asked=[])
    with services.log().writing() as log:
        now = job_now.stand(log, services, batch.handle)
        told = _told(batch, now)
        asked = clock.of_log(log, services.now())
        scene = Scene(now.job, now.zone, services.clock(), log.shop(), further=asked)
        had = {file.sha256: entry.number for entry in now.job.entries for file in entry.files}
        for one in seen:
            if there := record.place_of(log, batch.uid):
                had.setdefault(one.content.sha256, there[1])
            if one.content.sha256 in had:
                batch.doubles.append(Double(one.named.name, had[one.content.sha256]))
                continue
            entry = _keep(batch, log, one, told, scene)
            if entry is not None:
                had[one.content.sha256] = entry.number
                batch.kept.append(_line(entry, scene.job, now.zone, one.picture.notes))
    return batch, had


def _told(batch: _Batch, now: Stand) -> NewEntry:
    """The entry that all photos of the batch begin as. Raises WrongFields."""
    facts = batch.facts
    texts = {name: getattr(facts, name) for name in ("area", "damp", "sealed", "light", "by", "note")}
    if facts.taken.strip().casefold() not in ("", UNKNOWN):
        texts["at"] = facts.taken
    new, wrongs = entries.read("photo", texts, now.context)
    if new is None:
        raise record.wrong_fields(tuple(replace(w, key="taken") if w.key == "at" else w for w in wrongs))
    one_area = now.context.areas[0] if len(now.context.areas) == 1 else None
    return replace(new, area=new.area or (None if facts.area.strip() else one_area))


def _keep(batch: _Batch, log: Writer, one: _Seen, told: NewEntry, scene: Scene) -> Entry | None:
    """The entry of a photo; None where it is asked about."""
    new, doubt = _timed(batch, one, told, scene)
    found = (doubt,) if doubt else odd.doubts(new, scene)
    if found and (doubt or not (batch.because or "").strip()):
        batch.asked.append(Asked(one.named.path, one.named.name, found, bool(doubt)))
        return None
    return record.keep(log, replace(new, uid=batch.uid), scene, batch.because if found else None)[0]


def foreseen(services: Services, now: Stand, path: Path, facts: PhotoFacts) -> NewEntry | None:
    """The entry that a file would become; None where it is left out or asked about."""
    seen = _look(Named(path, path.name))
    batch = _Batch(services, now.job.handle, facts, None)
    scene = Scene(now.job, now.zone, services.clock(), services.shop())
    if isinstance(seen, LeftOut):
        return None
    new, doubt = _timed(batch, seen, _told(batch, now), scene)
    return None if doubt else new


def _timed(batch: _Batch, one: _Seen, told: NewEntry, scene: Scene) -> tuple[NewEntry, str]:
    """The photo's entry with its time, and what is to be asked of it."""
    said, photo, taken = batch.facts.taken.strip().casefold(), one.picture.photo, one.picture.taken
    doubt = ""
    if said == UNKNOWN:
        new, photo = replace(told, happened=scene.now, exactness="day"), replace(photo, clock="unknown")
    elif said:
        new, photo = told, replace(photo, clock="told")
    elif taken is None:
        new, doubt = told, f"{one.picture.clock_wrong} Give the time it was taken, or unknown."
    else:
        aware = taken if taken.tzinfo is not None else taken.replace(tzinfo=scene.zone)
        if batch.ahead and aware > scene.now:
            aware = min(aware - batch.ahead, scene.now)
        new = replace(told, happened=aware.astimezone(UTC), exactness="exact")
    named = one.named
    file = NewFile(named.path, named.name or "photo", f"image/{photo.format.lower()}", photo, one.content)
    return replace(new, facts={**new.facts, "clock": _CLOCKS[photo.clock]}, files=(file,)), doubt


# listed


def of_job(services: Services, handle: str) -> tuple[PhotoLine, ...]:
    """The photos of a job that stand, in order of the time they were taken. Raises InputError."""
    with services.log().reading() as log:
        now = job_now.stand(log, services, handle)
    return tuple(_lines(now.job, now.zone))


def _lines(job: Job, zone: ZoneInfo) -> Iterator[PhotoLine]:
    for entry in job.entries:
        if any(file.photo is not None for file in entry.files):
            yield _line(entry, job, zone)


def _line(entry: Entry, job: Job, zone: ZoneInfo, notes: tuple[str, ...] = ()) -> PhotoLine:
    file = next(file for file in entry.files if file.photo is not None)
    assert file.photo is not None
    age = None if file.photo.clock == "unknown" else age_h(job, entry)
    return PhotoLine(
        entry=entry.number,
        sha256=file.sha256,
        name=file.name,
        photo=file.photo,
        happened=entry.happened,
        exactness=entry.exactness,
        taken=_taken(entry, file.photo, zone),
        age="age unknown" if age is None else say.old(age) if age >= 0 else "before the pour",
        age_h=age,
        damp=_yes(entry, "damp"),
        sealed=_yes(entry, "sealed"),
        light=str(entry.facts["light"]) if "light" in entry.facts else None,
        area=next((area.name for area in job.areas if area.uid == entry.area), None),
        readings=sum(1 for each in job.entries if each.reading and each.reading.photo == file.sha256),
        notes=notes,
    )


def _taken(entry: Entry, photo: Photo, zone: ZoneInfo) -> str:
    if photo.clock == "unknown":
        return "time unknown"
    said = when(entry.happened.astimezone(zone), entry.exactness)
    return f"{said}, {_CLOCKS[photo.clock]}" if photo.clock == "site wall time" else said


def age_h(job: Job, entry: Entry) -> float | None:
    """Hours from the end of the pour that an entry follows; None where a day of the two is unknown."""
    if not has_days(entry.exactness):
        return None
    end = end_before(job, entry)
    return None if end is None else (entry.happened - end.happened).total_seconds() / 3600


def _yes(entry: Entry, name: str) -> bool | None:
    fact = entry.facts.get(name)
    return fact if isinstance(fact, bool) else None
