"""The answer of `rinse` as JSON. The keys are stable; each names its unit."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from finishlog.desk.plain_data import number
from finishlog.desk.rinse.words import sentence

if TYPE_CHECKING:
    from finishlog.color.release.rinse import Seen, Settled
    from finishlog.desk.rinse.answers import RinseAnswer, RinseRung

Json = dict[str, Any]


def rinse_json(found: RinseAnswer) -> Json:
    """Release left with its range, the verdict, the advice, and what will be seen."""
    left = found.left
    return {
        "answer": sentence(found),
        "job": found.job,
        "area": found.area,
        "release_left_percent": _percent(left.mean),
        "release_left_sd_percent": _percent(left.sd),
        "range90_percent": [_percent(end) for end in left.range90],
        "verdict": left.verdict,
        "why": left.why or None,
        "advice": found.advice,
        "rinse_more": found.rinse_more,
        "target_percent": _percent(found.target),
        "target_from": found.target_from or None,
        "target_measured": found.target_measured,
        "chance_above_target": number(found.chance_above),
        "habit": {
            "mean_percent": _percent(found.habit.mean),
            "sd_percent": _percent(found.habit.sd),
            "slabs": found.habit.slabs,
            "measured_slabs": found.habit.measured,
        },
        "contrast_now_de00": number(found.contrast_now_de00, 2),
        "contrast_dried_de00": number(found.contrast_dried_de00, 2),
        "drying": {
            "share_percent": _percent(found.drying.share),
            "sd_percent": _percent(found.drying.sd),
            "pairs": found.drying.pairs,
        },
        "at_45_days": _settled(found),
        "ladder": [_rung(rung) for rung in found.ladder],
        "meanwhile": list(found.meanwhile),
        "notes": list(found.notes),
        "cautions": [caution.text for caution in found.cautions],
        "sources": list(found.sources),
    }


def _settled(found: RinseAnswer) -> Json | None:
    """What will be seen on the final-color day; None where base or release color was never read."""
    settled = found.settled
    if settled is None:
        return None
    return {
        "age_days": found.final_day,
        "base": _seen(settled.base),
        "release": _seen(settled.release),
        "field": _seen(settled.field),
        "contrast_de00": number(settled.contrast_de00, 2),
        "contrast90_de00": [number(end, 2) for end in settled.contrast90],
        "ladder": [
            {"release_left_percent": _percent(rung.left), "field": _seen(rung.settled.field)}
            for rung in found.ladder
            if rung.settled
        ],
    }


def _seen(seen: Seen) -> Json:
    return {
        "lab": _lab(seen.lab),
        "lab_sd": _lab(seen.sd),
        "lab_low90": _lab(seen.low90),
        "lab_high90": _lab(seen.high90),
    }


def _rung(rung: RinseRung) -> Json:
    settled: Settled | None = rung.settled
    return {
        "release_left_percent": _percent(rung.left),
        "marks": list(rung.marks),
        "lab_now": _lab(rung.now) if rung.now else None,
        "lab_settled": _lab(settled.field.lab) if settled else None,
    }


def _percent(share: float | None) -> float | int | None:
    return None if share is None else number(share * 100, 1)


def _lab(values: Iterable[float]) -> list[float | int | None]:
    return [number(value, 2) for value in values]
