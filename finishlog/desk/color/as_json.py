"""The answers of `color` as plain data. Keys are stable; each names its unit."""

from __future__ import annotations

from finishlog.desk.color import words
from finishlog.desk.plain_data import Json, number, pick
from finishlog.records.color import ColorReading, ColorTrack, HeldOn, HowGood, JobColor, Odds
from finishlog.trade import sources

_POINT = "age_days:2 on lab:2 lab_sd:2 radius90_de00:2"
_READING = (
    "entry on age_days:2 spot lab:2 lab_sd:2 damp sealed sample photo in_curve weight:2 apart looks_sealed"
)
_PROMISED = "said_from=low:2 said_to=high:2 plans matched mean_said=said:3 before_sample=closed"
_TRIED = "ranges held held_share=share:3 median_de00:2"
_ODDS = "probability:3 probability_sealed:3"


def color_json(found: JobColor) -> Json:
    """The first area of the answer, with the job's samples and the names of all areas in it."""
    areas = found.areas
    first = next((track for track in areas if track.readings), areas[0] if areas else None)
    return {
        "answer": words.sentence(found, first) if first else words.NO_AREA,
        **pick(found, "job=handle poured_on age_days:2"),
        **(
            track_json(found, first)
            if first
            else {"readings": [], "forecast": [], "history_jobs": found.history_jobs}
        ),
        "areas": [track.area for track in areas],
        "other_areas": [track_json(found, track) for track in areas if track is not first],
        "samples": [track_json(found, track) for track in found.samples],
        "method": found.method,
        "source": sources.CURE,
    }


def track_json(found: JobColor, track: ColorTrack) -> Json:
    """One area or sample."""
    sealed, damp = track.sealed, track.damp_preview
    return {
        **pick(track, "area sample spot"),
        "readings": [reading_json(reading) for reading in track.readings],
        "forecast": [pick(point, _POINT) for point in track.forecast],
        "final": pick(track.final, _POINT) if track.final else None,
        "today": pick(track.today, _POINT) if track.today else None,
        **pick(track, "final_color_on compare_from"),
        "history_jobs": found.history_jobs,
        "recipe_jobs": track.recipe_jobs,
        "joined_jobs": list(track.joined),
        "sealed": {**pick(sealed.point, _POINT), "pairs": sealed.pairs} if sealed else None,
        "damp_preview": reading_json(damp) if damp else None,
        "flags": list(track.flags),
    }


def reading_json(reading: ColorReading) -> Json:
    """One reading, as a kept forecast names what it rests on."""
    return pick(reading, _READING)


def how_good_json(found: HowGood) -> Json:
    """Track record of forecasts and promises against later readings."""
    return {
        "answer": words.how_good(found),
        "kept": pick(found.kept, _TRIED),
        "by_day": [_held_json(one) for one in found.by_day],
        "promises": [pick(one, _PROMISED) for one in found.promises],
        "history_jobs": found.history_jobs,
        "readings_scatter_times": number(found.noise, 2),
        "source": sources.CURE,
    }


def _held_json(one: HeldOn) -> Json:
    return {**pick(one, "made_at_day=day slabs readings held_L held_a held_b held_color median_de00:2"),
            "too_few": not one.enough}  # fmt: skip


def odds_json(odds: Odds) -> Json:
    """The odds of a match: for the owner alone, on no customer's sheet."""
    return {
        **pick(odds, _ODDS, "threshold_de00:2 dominant"),
        "shares": {factor: number(share, 3) for factor, share in odds.shares},
        **pick(odds, "compare_from radius90_de00:2 verdict with_sample:3"),
        "by_age": [pick(at, "age_days:1", _ODDS) for at in odds.by_age],
        "spot": odds.spot,
        "by_spot": [pick(one, "spot", _ODDS, "radius90_de00:2") for one in odds.spots],
        **pick(odds, "raise_by history_jobs recipe_jobs notes"),
        "source": sources.ODDS,
    }
