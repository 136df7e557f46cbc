"""Colors read off a photo: its boxes as L*a*b* with their own uncertainty, by a 24-patch card or a gray card in it.

`measure` needs no log. `read` takes the photo into a job's log and logs one reading for each box.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING

from finishlog.desk.photo import beside, files, keeping
from finishlog.desk.photo.beside import Beside, Told
from finishlog.desk.photo.measured import Apart, Measured, Read, SpotRead
from finishlog.desk.photo.photos import PhotoFacts
from finishlog.errors import InputError
from finishlog.inputs import boxes as places
from finishlog.inputs import photos as pictures
from finishlog.inputs.boxes import Place, Shown
from finishlog.records.shop import Shop
from finishlog.units import count, write_number

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from finishlog.color.photo.card import Card
    from finishlog.color.photo.frame import Box, Frame, Seen
    from finishlog.color.release.surface import SurfaceLeft
    from finishlog.desk.services import Services

Corners = Sequence[tuple[Fraction, Fraction]]
Lab = tuple[float, float, float]
FOUND, BY_HAND, GRAY = "card found", "card, corners by hand", "gray card"
NOTHING_TOLD = Told()


def of_file(
    services: Services,
    path: Path,
    boxes: Sequence[Shown],
    *,
    corners: Corners | None = None,
    gray: Place | None = None,
    told: Told = NOTHING_TOLD,
) -> Measured:
    """The boxes of a photo; nothing is kept. Raises InputError with the reason of a refusal."""
    data = _bytes(path)
    near = beside.known(services, data, told, hashlib.sha256(data).hexdigest())
    return measure(data, boxes, services.shop(), corners=corners, gray=gray, near=near)


def measure(
    data: bytes,
    boxes: Sequence[Shown],
    shop: Shop,
    *,
    corners: Corners | None = None,
    gray: Place | None = None,
    near: Beside = beside.NOTHING,
) -> Measured:
    """The boxes of a photo, judged by its card (found, or between `corners`) or, where told, by a gray card's box.

    Raises InputError: no photo, no card, one that does not fit, too bright or dark, boxes outside.
    """
    if corners is not None and gray is not None:
        raise InputError("Card corners and a gray card do not go together.", "Pick one.", where="--gray",
                         example="--gray 900,400,80,80")  # fmt: skip
    if near.chips and gray is not None:
        title = "A chip needs a 24-patch card in the frame."
        raise InputError(
            title, "By a gray card it helps nothing.", where="--chip", example=places.CHIP_EXAMPLE
        )
    picture = pictures.pixels(data)
    height, width = picture.shape[:2]
    card, frame = _judged(picture, shop, corners, gray, near)
    seen = [_seen(picture, box, frame) for box in boxes]
    spots = tuple(_spot(shown, box, one) for shown, (box, one) in zip(boxes, seen, strict=True))
    method = GRAY if card is None else FOUND if corners is None else BY_HAND
    left, why = _left(picture, frame, spots)
    apart = _differences(frame, spots, [one for _, one in seen])
    notes = (*_notes(card, frame, spots), *([why] if why else []))
    helped = 0 if frame.is_plain_gray else len(near.cards)
    return Measured(width, height, frame.source, method, card, spots, apart, left, notes, near.camera, helped)


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
    about: Told = NOTHING_TOLD,
) -> Read:
    """Log what the boxes of a job's photo show. `photo`: a file, which comes into the log, or its entry or SHA-256.

    Nothing is kept where the photo cannot be read. Raises InputError; Doubt for what is odd and has no reason.
    """
    told = facts or PhotoFacts()
    line = keeping.of_job(services, handle, photo)
    if boxes:
        named = told.area or (line.area if line else None)
        keeping.area_of(named, keeping.area_names(services, handle))  # before anything is kept
    path = Path(photo) if line is None else services.log().file_path(line.sha256)
    measured = of_file(services, path, boxes, corners=corners, gray=gray, told=about)
    if line is None:
        if measured.spots:
            keeping.ask_ahead(services, handle, path, told, sample)
        line = keeping.take_in(services, handle, path, told, because)
    job, entries, warnings = keeping.keep(services, handle, line, measured, told, sample, because)
    return Read(job, line, measured, entries, warnings)


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
    picture: NDArray[np.uint8], shop: Shop, corners: Corners | None, gray: Place | None, near: Beside
) -> tuple[Card | None, Frame]:
    from finishlog.color.photo import card, card_finder

    height, width = picture.shape[:2]
    if gray is not None:
        return None, _by_gray(picture, gray.within(width, height), float(shop.gray_card_percent / 100), near)
    limit, given = float(shop.card_limit_de00), near.given(picture)
    if corners is None:
        found = card.anywhere(picture, card_finder.candidates(picture), limit, given)
    else:
        found = card.between(picture, places.in_pixels(corners, width, height), limit, given)
    return found, found.frame


def _by_gray(picture: NDArray[np.uint8], box: Box, share: float, near: Beside) -> Frame:
    from finishlog.color.photo import frame, profile

    try:
        plain = frame.of_gray(picture, box, share)
        return profile.of_gray(frame.gray_value(picture, box), share, near.patches) or plain
    except InputError as wrong:  # it is a box like any other, and was told by an option of its own
        raise InputError(wrong.title, wrong.cause, where="--gray", example="--gray 900,400,80,80") from None


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


def _chip_notes(card: Card) -> Iterator[str]:
    if card.frame.chips:
        yield f"With {count(len(card.frame.chips), 'chip')} of known color in the frame."
    for read, told in card.chips_off:
        by_card, by_hand = (", ".join(write_number(value, 0) for value in lab) for lab in (read, told))
        yield f"A chip left out: by the card it is {by_card} (L*a*b*), not {by_hand}. Is its box on it?"


def _notes(card: Card | None, frame: Frame, spots: Sequence[SpotRead]) -> Iterator[str]:
    """What is to be known of the readings, in sentences."""
    if frame.is_plain_gray:
        yield "Read by a gray card only, so colors are rough: a 24-patch card is far better."
    if card is not None:
        left = ((card.clipped, "overexposed"), (card.strange, "covered or shining"))
        said = (
            *((names, f"{what}, and left out") for names, what in left),
            (card.dark, "black to the camera"),
        )
        for names, what in said:
            if names:
                yield f"On the card {what}: {', '.join(names)}."
        yield from _chip_notes(card)
    for spot in spots:
        if card is None and spot.lab[0] > 100:
            yield f"The box {spot.shows} comes out brighter than white: is the gray box on the gray card?"
        if spot.clipped >= 0.01:
            yield f"Of the box {spot.shows} {spot.clipped:.0%} is clipped by the camera."
