"""A slab as the due rules see it: one area, the end of its pour, and later work."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from finishlog.records.log import Area, Entry, Fact, Job, Stage
from finishlog.records.shop import Shop
from finishlog.records.when import has_days, zone_of
from finishlog.trade.poured import END, is_before, zero


@dataclass(frozen=True, slots=True)
class DueLine:
    """One thing that falls due. `area` is its uid (None: the whole job), `age_days` one of several of its kind.

    Instants are UTC: `opens` to `closes` is the window, `usual_from` to `usual_to` the usual part of it,
    both counted from `anchor`. `why` says in a sentence why now; `caution` is a key of `trade.cautions`.
    """

    key: str
    title: str
    area: str | None
    age_days: int | None
    anchor: datetime
    opens: datetime
    usual_from: datetime
    usual_to: datetime
    closes: datetime
    why: str
    caution: str | None


@dataclass(frozen=True, slots=True)
class Slab:
    """A poured area. `end` is the end of its pour, or its last load if no end was logged.

    `since` are the current entries after it, in time order; `washes` the kinds after which it must dry.
    """

    job: Job
    area: Area | None
    end: Entry
    since: tuple[Entry, ...]
    zone: ZoneInfo
    shop: Shop
    washes: tuple[str, ...] = ()

    @property
    def uid(self) -> str | None:
        """The area's uid; None if the job has no areas."""
        return None if self.area is None else self.area.uid

    @property
    def poured(self) -> date:
        """The day at the site on which the pour ended."""
        return self.day(self.end.happened)

    def day(self, instant: datetime) -> date:
        """An instant's calendar day at the site."""
        return instant.astimezone(self.zone).date()

    def done(self, *kinds: str) -> tuple[Entry, ...]:
        """Its entries of those kinds since the pour."""
        return tuple(entry for entry in self.since if entry.kind in kinds)

    def stage(self, kind: str) -> Stage | None:
        """That stage in its recipe, if planned."""
        recipe = self.area.recipe if self.area else None
        return recipe.stage(kind) if recipe else None

    def params(self, kind: str) -> Mapping[str, Fact]:
        """The recipe's facts for that stage; empty if not planned."""
        stage = self.stage(kind)
        return {} if stage is None else stage.params

    @property
    def has_recipe(self) -> bool:
        """Whether its recipe has any stage."""
        recipe = self.area.recipe if self.area else None
        return recipe is not None and bool(recipe.stages)

    @property
    def has_end(self) -> bool:
        """Whether the end of the pour was logged."""
        return self.end.kind == END

    @property
    def counted(self) -> str:
        """Shown if the hour of the end is unknown."""
        if not self.has_end:
            return " Counted from the last load; pour end not logged."
        return " Counted from noon; hour not logged." if self.end.exactness == "day" else ""


@dataclass(frozen=True, slots=True)
class FallsDue:
    """Work of a kind that falls due: `lines` returns it for a slab, none if done or not applicable.

    `noun` is its name in a sentence, blank for what is never looked for once it slipped. `by_hours`: timed in
    hours, so it comes before work for any day. `logged_as`: the kind of entry that logs it, where not its own.
    """

    key: str
    noun: str
    lines: Callable[[Slab], Iterator[DueLine]]
    by_hours: bool = False
    logged_as: str = ""


def slabs(job: Job, shop: Shop, washes: tuple[str, ...] = ()) -> tuple[Slab, ...]:
    """Every poured area of the job, by its last end (it may be poured in sections), else its last load."""
    zone = zone_of(job)
    areas: tuple[Area | None, ...] = job.areas or (None,)
    found = []
    for area in areas:
        uid = None if area is None else area.uid
        end = zero(job, uid)
        if end is not None and has_days(end.exactness):  # a month alone is too vague to open a window
            since = tuple(
                entry
                for entry in job.entries
                if (uid is None or entry.area in (None, uid)) and not is_before(entry, end, zone)
            )
            found.append(Slab(job, area, end, since, zone, shop, washes))
    return tuple(found)


@lru_cache(maxsize=4096)
def midnight(day: date, zone: ZoneInfo, days: int = 0) -> datetime:
    """The start of the day at the site, `days` later. Asked forty times of each slab, of few days in all."""
    return datetime.combine(day + timedelta(days=days), time(), zone).astimezone(UTC)
