"""The answers of `color` as plain data. Keys are stable; each names its unit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from finishlog.desk.color import words
from finishlog.desk.plain_data import data, number
from finishlog.records.color import ColorPoint, ColorReading, ColorTrack, HowGood, JobColor, Odds, Tried
from finishlog.trade import sources

Json = dict[str, Any]


def color_json(found: JobColor) -> Json:
    """The first area of the answer, with the job's samples and the names of all areas in it."""
    areas = found.areas
    first = next((track for track in areas if track.readings), areas[0] if areas else None)
    return {
        "answer": words.sentence(found, first) if first else words.NO_AREA,
        "job": found.handle,
        "poured_on": data(found.poured_on),
        "age_days": number(found.age_days, 2),
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
    return {
        "area": track.area,
        "sample": track.sample,
        "spot": track.spot,
        "readings": [reading_json(reading) for reading in track.readings],
        "forecast": [point_json(point) for point in track.forecast],
        "today": point_json(track.today) if track.today else None,
        "final_color_on": data(track.final_color_on),
        "compare_from": data(track.compare_from),
        "history_jobs": found.history_jobs,
        "recipe_jobs": track.recipe_jobs,
        "sealed": {**point_json(track.sealed.point), "pairs": track.sealed.pairs} if track.sealed else None,
        "damp_preview": reading_json(track.damp_preview) if track.damp_preview else None,
        "flags": list(track.flags),
    }


def point_json(point: ColorPoint) -> Json:
    return {
        "age_days": number(point.age_days, 2),
        "on": data(point.on),
        "lab": _lab(point.lab),
        "lab_sd": _lab(point.lab_sd),
        "radius90_de00": number(point.radius90_de00, 2),
    }


def reading_json(reading: ColorReading) -> Json:
    return {
        "entry": reading.entry,
        "on": data(reading.on),
        "age_days": number(reading.age_days, 2),
        "spot": reading.spot,
        "lab": _lab(reading.lab),
        "lab_sd": _lab(reading.lab_sd),
        "damp": reading.damp,
        "sealed": reading.sealed,
        "sample": reading.sample,
        "photo": reading.photo,
        "in_curve": reading.in_curve,
        "weight": number(reading.weight, 2),
        "apart": reading.apart,
    }


def how_good_json(found: HowGood) -> Json:
    return {
        "answer": words.how_good(found),
        "kept": _tried(found.kept),
        "hindcasts": _tried(found.hindcasts),
        "promises": [
            {
                "said_from": number(one.low, 2),
                "said_to": number(one.high, 2),
                "plans": one.plans,
                "matched": one.matched,
                "mean_said": number(one.said, 3),
                "before_sample": one.closed,
            }
            for one in found.promises
        ],
        "history_jobs": found.history_jobs,
        "source": sources.CURE,
    }


def odds_json(odds: Odds) -> Json:
    """The odds of a match: for the owner alone, on no customer's sheet."""
    return {
        "probability": number(odds.probability, 3),
        "probability_sealed": number(odds.probability_sealed, 3),
        "threshold_de00": number(odds.threshold_de00, 2),
        "dominant": odds.dominant,
        "shares": {factor: number(share, 3) for factor, share in odds.shares},
        "compare_from": data(odds.compare_from),
        "radius90_de00": number(odds.radius90_de00, 2),
        "verdict": odds.verdict,
        "with_sample": number(odds.with_sample, 3),
        "by_age": [
            {
                "age_days": number(at.age_days, 1),
                "probability": number(at.probability, 3),
                "probability_sealed": number(at.probability_sealed, 3),
            }
            for at in odds.by_age
        ],
        "spot": odds.spot,
        "by_spot": [
            {
                "spot": one.spot,
                "probability": number(one.probability, 3),
                "probability_sealed": number(one.probability_sealed, 3),
                "radius90_de00": number(one.radius90_de00, 2),
            }
            for one in odds.spots
        ],
        "raise_by": list(odds.raise_by),
        "history_jobs": odds.history_jobs,
        "recipe_jobs": odds.recipe_jobs,
        "notes": list(odds.notes),
        "source": sources.ODDS,
    }


def _tried(tried: Tried) -> Json:
    return {
        "ranges": tried.ranges,
        "held": tried.held,
        "held_share": number(tried.share, 3),
        "median_de00": number(tried.median_de00, 2),
    }


def _lab(values: Sequence[float]) -> list[float | int | None]:
    return [number(value, 2) for value in values]
