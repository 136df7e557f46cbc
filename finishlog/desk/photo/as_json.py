"""What a photo tells, as JSON and in words. The keys are stable; each names its unit."""

from __future__ import annotations

from collections.abc import Iterable

from finishlog.desk.photo.measured import Measured, Read, SpotRead
from finishlog.desk.plain_data import Json, pick
from finishlog.units import count, write_number

PLUS_MINUS = "± is one standard deviation: 2 in 3 lie within it, 9 in 10 within 1.6 times as much."
_LEFT = "release_left_percent=left.share% release_left_sd_percent=left.sd%"
_BOX = ("spot shows", "lab:2 lab_sd:2 same_photo_sd=own_sd:2 munsell name hex clipped_percent=clipped%")
_CARD = "loo_median_de00:2 loo_p90_de00:2 clipped dark left_out=strange corners:1"


def measured_json(found: Measured, read: Read | None = None) -> Json:
    """Readings, the card, differences within the photo; with `read` also the job and the entries."""
    numbers = [entry.number for entry in read.entries] if read else [None] * len(found.spots)
    answer: Json = {
        "readings": [_spot(spot, entry) for spot, entry in zip(found.spots, numbers, strict=True)],
        "card": _card(found),
        "differences": [pick(each, "from=old to=new lab:2 lab_sd:2 de00:2") for each in found.apart],
        **pick(found, _LEFT, "source camera camera_photos width_px=width height_px=height notes"),
    }
    if read:
        answer |= pick(read, "job photo_entry=photo.entry photo_sha256=photo.sha256")
    return answer


def sentence(found: Measured) -> str:
    """What the photo's light was known by, in a sentence."""
    by = _camera(found)
    if found.card is None:
        return f"Read by the gray card{by}."
    how = "The card was found" if found.method == "card found" else "The card fits the corners"
    off = write_number(found.card.loo_median_de00, 1)
    return f"{how}; each patch, from the others, is {off} ΔE00 off (median){by}."


def _camera(found: Measured) -> str:
    if not found.camera_photos:
        return ""
    return f", with {count(found.camera_photos, 'earlier photo')} by {found.camera}"


def left_sentence(found: Measured) -> str:
    """Release left, where the photo tells it, never to less than a percent; else nothing."""
    if found.left is None:
        return ""
    share, sd = (write_number(100 * value, 0) for value in (found.left.share, max(found.left.sd, 0.01)))
    return f"Release left, if at final color and dry: {share} % ± {sd} (one standard deviation)."


def spot_rows(found: Measured) -> list[tuple[str, str, str, str]]:
    """What each box shows: its name, color in words, L*a*b* with uncertainty, Munsell."""
    return [
        (spot.shows, spot.name, lab_words(spot.lab, spot.lab_sd), spot.munsell or "no Munsell notation")
        for spot in found.spots
    ]


def apart_rows(found: Measured) -> list[tuple[str, str, str]]:
    """From box to box: which, the difference with its uncertainty, ΔE00."""
    return [
        (f"{each.old} to {each.new}", lab_words(each.lab, each.lab_sd, signed=True),
         f"{write_number(each.de00, 1)} ΔE00")
        for each in found.apart
    ]  # fmt: skip


def lab_words(lab: Iterable[float], sd: Iterable[float], *, signed: bool = False) -> str:
    """`L* 58 ± 3  a* 9 ± 2  b* 17 ± 3`: to a tenth where it is known to one."""
    parts = []
    for axis, value, off in zip(("L*", "a*", "b*"), lab, sd, strict=True):
        digits = 0 if off >= 1 else 1
        plus = "+" if signed and round(value, digits) > 0 else ""
        parts.append(f"{axis} {plus}{write_number(value, digits)} ± {write_number(max(off, 0.1), digits)}")
    return "  ".join(parts)


def kept_sentence(read: Read) -> str:
    """What was logged."""
    numbers = ", ".join(str(entry.number) for entry in read.entries)
    if not read.entries:
        return f"The photo is entry {read.photo.entry} of {read.job}; no box given, so nothing was read."
    first = read.entries[0].reading
    assert first is not None
    damp, sealed = ("yes" if is_so else "no" for is_so in (first.damp, first.sealed))
    what = count(len(read.entries), "reading")
    return (
        f"{what} logged for {read.job} (entry {numbers}), {read.photo.age}; damp: {damp}, sealed: {sealed}."
    )


def _spot(spot: SpotRead, entry: int | None) -> Json:
    box = [spot.box.x, spot.box.y, spot.box.width, spot.box.height]
    return {**pick(spot, _BOX[0]), "box": box, **pick(spot, _BOX[1]), "entry": entry}


def _card(found: Measured) -> Json:
    card = found.card
    if card is None:
        return {"found": False, "method": found.method, "loo_median_de00": None, "loo_p90_de00": None,
                "clipped": [], "dark": [], "left_out": [], "corners": None}  # fmt: skip
    return {"found": True, "method": found.method, **pick(card, _CARD)}
