"""The job's state while an entry is checked, passed to every doubt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from zoneinfo import ZoneInfo

from finishlog.desk.doubts.amounts import Own
from finishlog.desk.doubts.sealer_sheet import Sheets
from finishlog.records.log import Entry, Job
from finishlog.records.shop import Shop
from finishlog.records.writing import NewEntry
from finishlog.trade import poured

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
        """The calendar day at the job, not in UTC."""
        return instant.astimezone(self.zone).date()

    def pour_of(self, new: NewEntry) -> Entry | None:
        """The end of the pour that an entry follows: the last before it, else the first there is."""
        return poured.followed(self.entries(poured.END, area=new.area), new, self.zone)

    def zero_of(self, new: NewEntry) -> Entry | None:
        """What the age of an entry counts from: the end of its pour, else the last load or bag before it."""
        if (end := self.pour_of(new)) is not None:
            return end
        there = self.entries(*poured.PLACED, area=new.area)
        return next((each for each in reversed(there) if not self.is_before(new, each)), None)

    def is_before(self, moment: poured.Moment, entry: Entry) -> bool:
        """Whether it was before the entry for certain."""
        return poured.is_before(moment, entry, self.zone)
