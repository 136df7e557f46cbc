"""Colors read off a photo: its boxes as L*a*b* with their own uncertainty, by a 24-patch card or a gray card in it.

`measure` needs no log. `read` takes the photo into a job's log and logs one reading for each box.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING

from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.doubts.scene import Scene
from finishlog.desk.photo import files, photos
from finishlog.desk.photo.photos import PhotoFacts, PhotoLine
from finishlog.desk.record import job_now, reading_state, record
from finishlog.errors import InputError
from finishlog.inputs import boxes as places
from finishlog.inputs import photos as pictures
from finishlog.inputs.boxes import Place, Shown
from finishlog.records.log import Entry, Fact, Reading
from finishlog.records.shop import Shop
from finishlog.records.writing import NewEntry

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from finishlog.color.photo.card import Card
    from finishlog.color.photo.frame import Box, Frame, Seen
    from finishlog.color.release.surface import SurfaceLeft
    from finishlog.desk.record.job_now import Stand
    from finishlog.desk.services import Services

Corners = Sequence[tuple[Fraction, Fraction]]
Lab = tuple[float, float, float]
FOUND, BY_HAND, GRAY = "card found", "card, corners by hand", "gray card"
SHORTEST_SHA = 8
_EXAMPLE = "IMG_0412.jpg, or the entry of a photo that is in the log"


@dataclass(frozen=True, slots=True)
class SpotRead:
    """A box of the photo as a color. `own_sd` is the part of `lab_sd` that stays in a difference within the photo.

    `shows` is what was said of it, `spot` what it is a reading of; `clipped` the part cut off by the camera, 0 to 1.
    """

    shows: str
    spot: str
    box: Box
    lab: Lab
    lab_sd: Lab
    own_sd: Lab
    munsell: str | None
    name: str
    hex: str
    clipped: float


@dataclass(frozen=True, slots=True)
class Apart:
    """From one box of the photo to another, L*a*b*: within one frame far surer than each alone."""

    old: str
    new: str
    lab: Lab
    lab_sd: Lab
    de00: float


@dataclass(frozen=True, slots=True)
class Measured:
    """What a photo tells. `method` is how its light was known; `card` None: by a gray card.

    `left` is release left on a settled, dry surface, where the boxes show the field and both patches.
    """

    width: int
    height: int
    source: str
    method: str
    card: Card | None
    spots: tuple[SpotRead, ...]
    apart: tuple[Apart, ...]
    left: SurfaceLeft | None
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Read:
    """A photo of a job that was read: its entry, and one entry for each box."""

    job: str
    photo: PhotoLine
    measured: Measured
    entries: tuple[Entry, ...]
    warnings: tuple[str, ...] = ()


def of_file(
    services: Services,
    path: Path,
    boxes: Sequence[Shown],
    *,
    corners: Corners | None = None,
    gray: Place | None = None,
) -> Measured:
    """The boxes of a photo that is in no log. Raises InputError with the reason of a refusal."""
    return measure(_bytes(path), boxes, services.shop(), corners=corners, gray=gray)


def measure(
    data: bytes,
    boxes: Sequence[Shown],
    shop: Shop,
    *,
    corners: Corners | None = None,
    gray: Place | None = None,
) -> Measured:
    """The boxes of a photo, judged by its card (found, or between `corners`) or, where told, by a gray card's box.

    Raises InputError: no photo, no card, one that does not fit, too bright or dark, boxes outside.
    """
    if corners is not None and gray is not None:
        raise InputError("Card corners and a gray card do not go together.", "Pick one.", where="--gray",
                         example="--gray 900,400,80,80")  # fmt: skip
    picture = pictures.pixels(data)
    height, width = picture.shape[:2]
    card, frame = _judged(picture, shop, corners, gray)
    seen = [_seen(picture, box, frame) for box in boxes]
    spots = tuple(_spot(shown, box, one) for shown, (box, one) in zip(boxes, seen, strict=True))
    method = GRAY if card is None else FOUND if corners is None else BY_HAND
    left, why = _left(picture, frame, spots)
    apart = _differences(frame, spots, [one for _, one in seen])
    notes = (*_notes(card, spots), *([why] if why else []))
    return Measured(width, height, frame.source, method, card, spots, apart, left, notes)


def read(
    services: Services,
    handle: str,
    photo: str,
    boxes: Sequence[Shown],
    *,
    corners: Corners | None = None,
    gray: Place | None = None,
    facts: PhotoFacts | None = None,
    sample: int | None = None,
    because: str | None = None,
) -> Read:
    """Log what the boxes of a job's photo show. `photo`: a file, which comes into the log, or its entry or SHA-256.

    Nothing is kept where the photo cannot be read. Raises InputError; Doubt for what is odd and has no reason.
    """
    told = facts or PhotoFacts()
    line = _of_job(services, handle, photo)
    if boxes:
        _area(
            told.area or (line.area if line else None), _area_names(services, handle)
        )  # before anything is kept
    path = Path(photo) if line is None else services.log().file_path(line.sha256)
    measured = measure(_bytes(path), boxes, services.shop(), corners=corners, gray=gray)
    if line is None:
        if measured.spots:
            _asked_ahead(services, handle, path, told, sample)
        line = _taken_in(services, handle, path, told, because)
    return _kept(services, handle, line, measured, told, sample, because)


def looked_at(path: Path) -> pictures.Picture:
    """A photo outside the log: its size and thumbnail. Raises InputError if it is no photo."""
    return pictures.look(_bytes(path))


def _bytes(path: Path) -> bytes:
    try:
        return files.read(path, pictures.BYTES_MOST)
    except InputError as wrong:
        title = f"Cannot read the photo: {files.shown(path.name)}."
        raise InputError(title, wrong.cause, where="PHOTO") from None


def _judged(
    picture: NDArray[np.uint8], shop: Shop, corners: Corners | None, gray: Place | None
) -> tuple[Card | None, Frame]:
    from finishlog.color.photo import card, card_finder, frame

    height, width = picture.shape[:2]
    if gray is not None:
        share = float(shop.gray_card_percent / 100)
        try:
            return None, frame.of_gray(picture, gray.within(width, height), share)
        except InputError as wrong:  # it is a box like any other, and was told by an option of its own
            raise InputError(
                wrong.title, wrong.cause, where="--gray", example="--gray 900,400,80,80"
            ) from None
    limit = float(shop.card_limit_de00)
    if corners is None:
        found = card.anywhere(picture, card_finder.candidates(picture), limit)
    else:
        found = card.between(picture, places.in_pixels(corners, width, height), limit)
    return found, found.frame


def _seen(picture: NDArray[np.uint8], shown: Shown, frame: Frame) -> tuple[Box, Seen]:
    from finishlog.color.photo.frame import seen

    box = shown.place.within(picture.shape[1], picture.shape[0])
    return box, seen(picture, box, frame, whole=shown.shows == "field")


def _spot(shown: Shown, box: Box, seen: Seen) -> SpotRead:
    from finishlog.color.notation.names import nearest_name
    from finishlog.color.notation.space import lab_to_hex, lab_to_munsell

    return SpotRead(
        shown.shows, places.SHOWS[shown.shows], box, seen.lab, seen.sd, seen.own_sd,
        lab_to_munsell(seen.lab), nearest_name(seen.lab), lab_to_hex(seen.lab), seen.clipped,
    )  # fmt: skip


def _differences(frame: Frame, spots: Sequence[SpotRead], seen: Sequence[Seen]) -> tuple[Apart, ...]:
    from finishlog.color.notation.space import difference as de00
    from finishlog.color.photo.frame import difference

    pairs = combinations(zip(spots, seen, strict=True), 2)
    return tuple(
        Apart(a.shows, b.shows, *difference(frame, one, other), de00(one.lab, other.lab).de00)
        for (a, one), (b, other) in pairs
    )


def _left(
    picture: NDArray[np.uint8], frame: Frame, spots: Sequence[SpotRead]
) -> tuple[SurfaceLeft | None, str]:
    """Release left, where field, base and release color are shown; None with the reason where they do not tell it."""
    from finishlog.color.release.surface import release_left

    at = {spot.shows: spot.box for spot in spots}
    ends = at.get("rinsed") or at.get("base"), at.get("unrinsed") or at.get("release color")
    if "field" not in at or ends[0] is None or ends[1] is None:
        return None, ""
    try:
        return release_left(picture, frame, at["field"], ends[0], ends[1]), ""
    except InputError as wrong:
        return None, f"{wrong.title} {wrong.cause}"


def _notes(card: Card | None, spots: Sequence[SpotRead]) -> Iterator[str]:
    """What is to be known of the readings, in sentences."""
    if card is None:
        yield "Read by a gray card only, so colors are rough: a 24-patch card is far better."
    else:
        left = ((card.clipped, "overexposed"), (card.strange, "covered or shining"))
        said = (
            *((names, f"{what}, and left out") for names, what in left),
            (card.dark, "black to the camera"),
        )
        for names, what in said:
            if names:
                yield f"On the card {what}: {', '.join(names)}."
    for spot in spots:
        if card is None and spot.lab[0] > 100:
            yield f"The box {spot.shows} comes out brighter than white: is the gray box on the gray card?"
        if spot.clipped >= 0.01:
            yield f"Of the box {spot.shows} {spot.clipped:.0%} is clipped by the camera."


# kept in a log


def _of_job(services: Services, handle: str, photo: str) -> PhotoLine | None:
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


def _asked_ahead(services: Services, handle: str, path: Path, facts: PhotoFacts, sample: int | None) -> None:
    """What has to be said of its readings is asked before the photo comes in. Raises WrongFields."""
    with services.log().reading() as log:
        now = job_now.stand(log, services, handle)
    new = photos.foreseen(services, now, path, facts)
    if new is not None:
        _need_state(now, replace(new, area=_area(facts.area, now.context.areas)), _said(facts, None), sample)


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


def _taken_in(
    services: Services, handle: str, path: Path, facts: PhotoFacts, because: str | None
) -> PhotoLine:
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


def _kept(
    services: Services, handle: str, line: PhotoLine, measured: Measured, facts: PhotoFacts, sample: int | None,
    because: str | None,
) -> Read:  # fmt: skip
    with services.log().writing() as log:
        now = job_now.stand(log, services, handle)
        scene = Scene(now.job, now.zone, services.clock(), log.shop())
        new = _entry(line, facts)
        if measured.spots:
            new = replace(new, area=_area(facts.area or line.area, now.context.areas))
            _need_state(now, new, _said(facts, line), sample)
        done = [
            record.keep(log, _spot_entry(new, spot, measured.left, reading), scene, because)
            for spot in measured.spots
            for reading in (_reading(spot, line, facts, measured.source, sample),)
        ]
    warnings = dict.fromkeys(warning for _, some in done for warning in some)
    return Read(now.job.handle, line, measured, tuple(entry for entry, _ in done), tuple(warnings))


def _entry(line: PhotoLine, facts: PhotoFacts) -> NewEntry:
    """A reading is of the time of its photo."""
    return NewEntry("reading", line.happened, line.exactness, person=facts.by.strip() or None)


def _area_names(services: Services, handle: str) -> tuple[str, ...]:
    with services.log().reading() as log:
        return job_now.stand(log, services, handle).context.areas


def _area(told: str | None, names: Sequence[str]) -> str:
    """The area that was read. Raises InputError where it is not known, or none of the job's."""
    wanted = (told or "").strip()
    found = next((name for name in names if name.casefold() == wanted.casefold()), None)
    found = found or (names[0] if not wanted and len(names) == 1 else None)
    if found is None:
        title = f"The job has no area “{wanted[:40]}”." if wanted else "Which area does the photo show?"
        raise InputError(title, f"It has {', '.join(names)}.", where="--area", example=f"--area {names[0]}")
    return found


def _reading(spot: SpotRead, line: PhotoLine, facts: PhotoFacts, source: str, sample: int | None) -> Reading:
    sds, said = [round(value, 2) for value in spot.lab_sd], _said(facts, line)
    L, a, b = (round(value, 2) for value in spot.lab)
    return Reading(
        L, a, b, sds[0], sds[1], sds[2], spot.spot, said["damp"] == "yes", said["sealed"] == "yes",
        source, photo=line.sha256, sample=sample, box=str(spot.box),
    )  # fmt: skip


def _spot_entry(new: NewEntry, spot: SpotRead, left: SurfaceLeft | None, reading: Reading) -> NewEntry:
    """The reading of a box; a dry field's holds the release left too, from which the rinse helper learns."""
    facts: dict[str, Fact] = {}
    if left is not None and spot.shows == "field" and not reading.damp:
        facts["release_left_percent"] = round(100 * left.share, 1)
        facts["release_left_sd_percent"] = round(100 * left.sd, 1)
    return replace(new, reading=reading, facts=facts)
