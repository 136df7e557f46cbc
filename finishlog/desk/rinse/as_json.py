"""The answer of `rinse` as JSON. The keys are stable; each names its unit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.desk.plain_data import Json, footing, pick
from finishlog.desk.rinse.words import sentence

if TYPE_CHECKING:
    from finishlog.color.release.rinse import Seen
    from finishlog.desk.rinse.answers import RinseAnswer, RinseRung

_LEFT = (
    "job area release_left_percent=left.mean% release_left_sd_percent=left.sd% range90_percent=left.range90%",
    "left.verdict left.why? advice rinse_more target_percent=target% target_from? target_measured",
    "chance_above_target=chance_above",
)
_HABIT = "mean_percent=mean% sd_percent=sd% slabs measured_slabs=measured"


def rinse_json(found: RinseAnswer) -> Json:
    """Release left with its range, the verdict, the advice, and what will be seen."""
    return {
        "answer": sentence(found),
        **pick(found, *_LEFT),
        "habit": pick(found.habit, _HABIT),
        **pick(found, "contrast_now_de00:2 contrast_dried_de00:2"),
        "drying": pick(found.drying, "share_percent=share% sd_percent=sd% pairs"),
        "at_45_days": _settled(found),
        "ladder": [_rung(rung) for rung in found.ladder],
        **pick(found, "meanwhile notes"),
        **footing(found),
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
        **pick(settled, "contrast_de00:2 contrast90_de00=contrast90:2"),
        "ladder": [
            {**pick(rung, "release_left_percent=left%"), "field": _seen(rung.settled.field)}
            for rung in found.ladder
            if rung.settled
        ],
    }


def _seen(seen: Seen) -> Json:
    return pick(seen, "lab:2 lab_sd=sd:2 lab_low90=low90:2 lab_high90=high90:2")


def _rung(rung: RinseRung) -> Json:
    return pick(rung, "release_left_percent=left% marks lab_now=now?:2 lab_settled=settled.field.lab:2")
