"""Readings off a photo put into a job's log: the photo found or taken in, what must be said asked, entries kept."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.doubts.scene import Scene
from finishlog.desk.photo import files, photos
from finishlog.desk.photo.photos import PhotoFacts, PhotoLine
from finishlog.desk.record import job_now, reading_state, record
from finishlog.errors import InputError
from finishlog.inputs import photos as pictures
from finishlog.records.log import Entry, Fact, Reading
from finishlog.records.writing import NewEntry
from finishlog.retrying import anew

if TYPE_CHECKING:
    from finishlog.color.release.surface import SurfaceLeft
    from finishlog.desk.photo.measured import Measured, SpotRead
    from finishlog.desk.record.job_now import Stand
    from finishlog.desk.services import Services

SHORTEST_SHA = 8
_EXAMPLE = "IMG_0412.jpg, or the entry of a photo that is in the log"


def of_job(services: Services, handle: str, photo: str) -> PhotoLine | None:
    """The photo of the log that is meant: by its entry's number or the start of its SHA-256; None for a file."""
    lines = photos.of_job(services, handle)
    if photo.isascii() and photo.isdigit() and len(photo) < SHORTEST_SHA:
        found = [line for line in lines if line.entry == int(photo)]
        if not found and not Path(photo).exists():
            raise InputError(f"Entry {photo} of {handle} is not a photo.", where="PHOTO", example=_EXAMPLE)
    else:
        found = [line for line in lines if len(photo) >= SHORTEST_SHA and line.sha256.startswith(photo)]
        found = found or [line for line in lines if line.sha256 == _sha256(photo)]
    return found[0] if found else None


def _sha256(photo: str) -> str:
    """Of a file; nothing where there is none that could be a photo."""
    try:
        return hashlib.sha256(files.read(Path(photo), pictures.BYTES_MOST)).hexdigest()
    except InputError:
        return ""


def ask_ahead(services: Services, handle: str, path: Path, facts: PhotoFacts, sample: int | None) -> None:
    """What has to be said of its readings is asked before the photo comes in. Raises WrongFields."""
    with services.log().reading() as log:
        now = job_now.stand(log, services, handle)
    new = photos.foreseen(services, now, path, facts)
    if new is not None:
        _need_state(
            now, replace(new, area=area_of(facts.area, now.context.areas)), _said(facts, None), sample
        )


def _said(facts: PhotoFacts, line: PhotoLine | None) -> dict[str, str]:
    """What was said of damp and sealed, now or with the photo."""
    kept = (line.damp, line.sealed) if line else (None, None)
    with_it = [{True: "yes", False: "no", None: ""}[one] for one in kept]
    now = [text.strip().casefold() for text in (facts.damp, facts.sealed)]
    return {"damp": now[0] or with_it[0], "sealed": now[1] or with_it[1]}


def _need_state(now: Stand, new: NewEntry, said: Mapping[str, str], sample: int | None) -> None:
    """Raises WrongFields where the log speaks against dry and bare, and nobody said what was read."""
    found = reading_state.unsaid(
        replace(new, reading=Reading(0, 0, 0, sample=sample)), said, now.job, now.zone
    )
    if found:
        raise record.wrong_fields(found[:1])


def take_in(services: Services, handle: str, path: Path, facts: PhotoFacts, because: str | None) -> PhotoLine:
    """The photo in the log: it comes in, or it is there. Raises Doubt or InputError where it does not come in."""
    added = photos.add(services, handle, [path], facts, because=because)
    if added.asked:
        raise Doubt(
            " ".join(added.asked[0].doubts), "If that is right, say why; or give the time with --taken."
        )
    if added.left_out:
        raise InputError("Cannot keep the photo.", added.left_out[0].why, where="PHOTO")
    if added.kept:
        return added.kept[0]
    return next(line for line in photos.of_job(services, handle) if line.entry == added.doubles[0].entry)


@anew
def keep(
    services: Services, handle: str, line: PhotoLine, measured: Measured, facts: PhotoFacts, sample: int | None,
    because: str | None,
) -> tuple[str, tuple[Entry, ...], tuple[str, ...]]:  # fmt: skip
    """The job's handle, an entry for each box, what was said of them."""
    with services.log().writing() as log:
        now = job_now.stand(log, services, handle)
        scene = Scene(now.job, now.zone, services.clock(), log.shop())
        new = _entry(line, facts)
        if measured.spots:
            new = replace(new, area=area_of(facts.area or line.area, now.context.areas))
            _need_state(now, new, _said(facts, line), sample)
        done = [
            record.keep(log, _spot_entry(new, spot, measured.left, reading), scene, because)
            for spot in measured.spots
            for reading in (_reading(spot, line, facts, measured, sample),)
        ]
    warnings = dict.fromkeys(warning for _, some in done for warning in some)
    return now.job.handle, tuple(entry for entry, _ in done), tuple(warnings)


def _entry(line: PhotoLine, facts: PhotoFacts) -> NewEntry:
    """A reading is of the time of its photo."""
    return NewEntry("reading", line.happened, line.exactness, person=facts.by.strip() or None)


def area_names(services: Services, handle: str) -> tuple[str, ...]:
    """Of a job's areas."""
    with services.log().reading() as log:
        return job_now.stand(log, services, handle).context.areas


def area_of(told: str | None, names: Sequence[str]) -> str:
    """The area that was read. Raises InputError where it is not known, or none of the job's."""
    wanted = (told or "").strip()
    found = next((name for name in names if name.casefold() == wanted.casefold()), None)
    found = found or (names[0] if not wanted and len(names) == 1 else None)
    if found is None:
        title = f"The job has no area “{wanted[:40]}”." if wanted else "Which area does the photo show?"
        raise InputError(title, f"It has {', '.join(names)}.", where="--area", example=f"--area {names[0]}")
    return found


def _reading(
    spot: SpotRead, line: PhotoLine, facts: PhotoFacts, found: Measured, sample: int | None
) -> Reading:
    from finishlog.color.photo.profile import written

    sds, said = [round(value, 2) for value in spot.lab_sd], _said(facts, line)
    L, a, b = (round(value, 2) for value in spot.lab)
    return Reading(
        L, a, b, sds[0], sds[1], sds[2], spot.spot, said["damp"] == "yes", said["sealed"] == "yes",
        found.source, photo=line.sha256, sample=sample, box=str(spot.box), camera=found.camera,
        card=written(found.card.values) if found.card else None,
    )  # fmt: skip


def _spot_entry(new: NewEntry, spot: SpotRead, left: SurfaceLeft | None, reading: Reading) -> NewEntry:
    """The reading of a box; a dry field's holds the release left too, from which the rinse helper learns."""
    facts: dict[str, Fact] = {}
    if left is not None and spot.shows == "field" and not reading.damp:
        facts["release_left_percent"] = round(100 * left.share, 1)
        facts["release_left_sd_percent"] = round(100 * left.sd, 1)
    return replace(new, reading=reading, facts=facts)
