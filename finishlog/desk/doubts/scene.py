"""A job as it stands while an entry is looked at: what every doubt is told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from finishlog.desk.doubts.amounts import Own
from finishlog.desk.doubts.sealer_sheet import Sheets
from finishlog.records.exactness import has_hours
from finishlog.records.log import Entry, Job
from finishlog.records.shop import Shop
from finishlog.records.writing import NewEntry
from finishlog.units import rough_span

ABOUT = timedelta(hours=1)
Lot = tuple[str, str, str]
"""Kind and name of a product, folded, and the lot."""


Since = Mapping[Lot, date]
"""The day on which a lot was first bought or counted."""


@dataclass(frozen=True, slots=True)
class Scene:
    """A job as it stands while an entry is looked at; `without` is the entry that it replaces.

    `sheets` is what the sealers allow, where that is known; `own` what the shop itself mostly puts on; `since`
    when the lots that the entry names came to the shelf; `further` what else is asked, as the rest of the log
    has it.
    """

    job: Job
    zone: ZoneInfo
    now: datetime
    shop: Shop
    without: int | None = None
    sheets: Sheets = field(default_factory=dict)
    own: Own = field(default_factory=dict)
    since: Since = field(default_factory=dict)
    before: int = 0
    """The last entry that may be the same work; 0 to skip the check."""
    further: tuple[str, ...] = ()

    def entries(self, *kinds: str, area: str | None = None) -> tuple[Entry, ...]:
        """Standing entries of these kinds; of one area (by name) and those of the whole job, or of all."""
        uid = next((a.uid for a in self.job.areas if a.name == area), None)
        return tuple(e for e in self.job.of_kind(*kinds, area=uid) if e.number != self.without)

    def day(self, instant: datetime) -> date:
        return instant.astimezone(self.zone).date()

    def pour_of(self, new: NewEntry) -> Entry | None:
        """The end of the pour that an entry follows: the last before it, else the first there is."""
        ends = self.entries("pour", area=new.area)
        before = [end for end in ends if not self.is_before(new.happened, new.exactness, end)]
        return before[-1] if before else next(iter(ends), None)

    def zero_of(self, new: NewEntry) -> Entry | None:
        """What the age of an entry counts from: the end of its pour, else the last load or bag before it."""
        if (end := self.pour_of(new)) is not None:
            return end
        placed = self.entries("load", "bag_mix", area=new.area)
        before = [each for each in placed if not self.is_before(new.happened, new.exactness, each)]
        return before[-1] if before else None

    def is_before(self, instant: datetime, exactness: str, entry: Entry) -> bool:
        """Whether it was before the entry for certain: days are compared where one has no hour."""
        if not has_hours(exactness, entry.exactness):
            last = rough_span(self.day(instant), exactness)[1]
            return last < rough_span(self.day(entry.happened), entry.exactness)[0]
        return instant < entry.happened - (ABOUT if "about" in (exactness, entry.exactness) else timedelta(0))
