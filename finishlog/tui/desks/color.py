"""Colors for the screens: the curve by day, and a job's forecast. Called from worker threads only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from finishlog.tui.desks.late import late

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from finishlog.desk.color.recipes import Group, Offered
    from finishlog.desk.services import Services
    from finishlog.records.color import ColorTrack, HowGood, JobColor
    from finishlog.records.plan import Plan

LAST_DAY = 60
FIRST_DAYS = (1, 3, 7, 14, 28)
"""Ages in days in a strip, before the final color: a comparison, not an axis."""


@dataclass(frozen=True, slots=True)
class DayLook:
    """The color expected at an age in days; `off` is half the 90 % range of L*."""

    age: int
    L: float
    off: float
    hex: str
    name: str


@dataclass(frozen=True, slots=True)
class TrackView:
    """One area or sample: the answer, the look of each day to day 60, and the basis."""

    track: ColorTrack
    name: str
    sentence: str
    days: tuple[DayLook, ...]
    learned: str


@dataclass(frozen=True, slots=True)
class ColorView:
    """A job's color answer, and a track with daily looks for each area and sample."""

    found: JobColor
    tracks: tuple[TrackView, ...]


@dataclass(frozen=True, slots=True)
class Ahead:
    """A job's forecast: looks of days to come, the final color last; a word if there are none.

    `sentence` comes from the curve, which fits this slab better than common practice.
    """

    looks: tuple[DayLook, ...] = ()
    note: str = ""
    sentence: str = ""


@dataclass(frozen=True, slots=True)
class GoodView:
    """The forecast check, its headline, a sentence per range of odds that plans gave.

    `held` are its rows by day, the head first; `notes` say how to read them.
    """

    found: HowGood
    sentence: str
    promises: tuple[str, ...] = ()
    held: tuple[tuple[str, ...], ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Joint:
    """Old and new slab as the odds expect them at final color, both bare or both sealed.

    `compared` puts the difference in words.
    """

    old_hex: str
    new_hex: str
    old_name: str
    compared: str
    sealed: bool
    age_days: int


class ColorDesks:
    """Color answers from one log."""

    _services: Services
    recipe_groups: Callable[[], Offered] = late("finishlog.desk.color.recipes.groups")
    join_recipes: Callable[[Group, str | None], int] = late("finishlog.desk.color.recipes.join_group")
    part_recipes: Callable[[Group, str | None], int] = late("finishlog.desk.color.recipes.part_group")
    keep_forecast: Callable[[str], str] = late("finishlog.desk.color.color.keep_forecast")

    def color(self, handle: str) -> ColorView:
        """Forecast for every day to day 60; slow, it learns from all jobs."""
        from finishlog.desk.color import color

        found = color.job(self._services, handle, by=range(LAST_DAY + 1))
        return ColorView(found, tuple(_track(found, track) for track in found.tracks))

    def ahead(self, handle: str) -> Ahead:
        """A poured job's field color at the ages still to come."""
        from finishlog.desk.color import color, words

        found = color.job(self._services, handle, by=FIRST_DAYS)
        track = next(iter(found.areas), None)
        if track is None or track.final is None or found.age_days is None:
            return Ahead(note=track.flags[0] if track is not None and track.flags else "")
        ages = [age for age in (*FIRST_DAYS, int(track.final.age_days)) if age > found.age_days]
        return Ahead(_days(track, ages), sentence=words.headline(found, track) if ages else "")

    def how_good(self) -> GoodView:
        """Checks every past forecast against the reading that followed it."""
        from finishlog.desk.color import words
        from finishlog.desk.match import how_good as color_check

        found = color_check.how_good(self._services)
        rows = (words.HELD_HEAD, *words.held_rows(found)) if found.by_day else ()
        return GoodView(
            found, words.how_good_headline(found), words.promises(found), rows,
            (*words.scatter(found), words.HELD_NOTE),
        )  # fmt: skip


def _track(found: JobColor, track: ColorTrack) -> TrackView:
    from finishlog.desk.color import words

    return TrackView(
        track, words.name(track), words.headline(found, track),
        _days(track, range(LAST_DAY + 1)), words.learned_from(found, track) if track.forecast else "",
    )  # fmt: skip


def _days(track: ColorTrack, ages: Collection[int]) -> tuple[DayLook, ...]:
    from finishlog.color.notation.names import nearest_name
    from finishlog.color.notation.space import lab_to_hex

    return tuple(
        DayLook(int(p.age_days), p.lab[0], p.high - p.lab[0], lab_to_hex(p.lab), nearest_name(p.lab))
        for p in track.forecast
        if p.age_days in ages
    )


def joint(plan: Plan, sealed: bool, final_day: int) -> Joint | None:
    """Old and new in the same state; None if either is unknown."""
    from finishlog.color.notation.names import nearest_name
    from finishlog.color.notation.space import lab_to_hex
    from finishlog.color.notation.words import compare

    pair = None if plan.odds is None else plan.odds.sealed_pair if sealed else plan.odds.bare_pair
    if pair is None:
        return None
    old, new = pair
    return Joint(lab_to_hex(old), lab_to_hex(new), nearest_name(old), compare(old, new), sealed, final_day)
