"""What a photo tells, as JSON and in words. The keys are stable; each names its unit."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from finishlog.desk import words as say
from finishlog.desk.photo.reading import Apart, Measured, Read, SpotRead
from finishlog.desk.plain_data import number
from finishlog.units import write_number

Json = dict[str, Any]


def measured_json(found: Measured, read: Read | None = None) -> Json:
    """Readings, the card, differences within the photo; with `read` also the job and the entries."""
    numbers = [entry.number for entry in read.entries] if read else [None] * len(found.spots)
    answer: Json = {
        "readings": [_spot(spot, entry) for spot, entry in zip(found.spots, numbers, strict=True)],
        "card": _card(found),
        "differences": [_apart(each) for each in found.apart],
        "release_left_percent": number(100 * found.left.share, 1) if found.left else None,
        "release_left_sd_percent": number(100 * found.left.sd, 1) if found.left else None,
        "source": found.source,
        "width_px": found.width,
        "height_px": found.height,
        "notes": list(found.notes),
    }
    if read:
        answer |= {"job": read.job, "photo_entry": read.photo.entry, "photo_sha256": read.photo.sha256}
    return answer


def sentence(found: Measured) -> str:
    """What the photo's light was known by, in a sentence."""
    if found.card is None:
        return "Read by the gray card."
    how = "The card was found" if found.method == "card found" else "The card fits the corners"
    off = write_number(found.card.loo_median_de00, 1)
    return f"{how}; each patch, from the others, is {off} ΔE00 off (median)."


def left_sentence(found: Measured) -> str:
    """Release left, where the photo tells it; else nothing."""
    if found.left is None:
        return ""
    share, sd = (write_number(100 * value, 0) for value in (found.left.share, found.left.sd))
    return f"Release left, if at final color and dry: {share} % ± {sd}."


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
    state = {True: "yes", False: "no", None: "not given"}
    damp, sealed = state[read.photo.damp], state[read.photo.sealed]
    if not read.entries:
        return f"The photo is entry {read.photo.entry} of {read.job}; no box given, so nothing was read."
    what = say.count(len(read.entries), "reading")
    return (
        f"{what} logged for {read.job} (entry {numbers}), {read.photo.age}; damp: {damp}, sealed: {sealed}."
    )


def _spot(spot: SpotRead, entry: int | None) -> Json:
    return {
        "spot": spot.spot,
        "shows": spot.shows,
        "box": [spot.box.x, spot.box.y, spot.box.width, spot.box.height],
        "lab": _lab(spot.lab),
        "lab_sd": _lab(spot.lab_sd),
        "same_photo_sd": _lab(spot.own_sd),
        "munsell": spot.munsell,
        "name": spot.name,
        "hex": spot.hex,
        "clipped_percent": number(100 * spot.clipped, 1),
        "entry": entry,
    }


def _card(found: Measured) -> Json:
    card = found.card
    if card is None:
        return {"found": False, "method": found.method, "loo_median_de00": None, "loo_p90_de00": None,
                "clipped": [], "dark": [], "left_out": [], "corners": None}  # fmt: skip
    return {
        "found": True,
        "method": found.method,
        "loo_median_de00": number(card.loo_median_de00, 2),
        "loo_p90_de00": number(card.loo_p90_de00, 2),
        "clipped": list(card.clipped),
        "dark": list(card.dark),
        "left_out": list(card.strange),
        "corners": [[number(x, 1), number(y, 1)] for x, y in card.corners],
    }


def _apart(each: Apart) -> Json:
    return {
        "from": each.old,
        "to": each.new,
        "lab": _lab(each.lab),
        "lab_sd": _lab(each.lab_sd),
        "de00": number(each.de00, 2),
    }


def _lab(values: Iterable[float]) -> list[float | int | None]:
    return [number(value, 2) for value in values]
