"""The calendar of reseals, numbered: what a file of it holds, and what a phone that follows it is given."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from hashlib import sha256
from typing import TYPE_CHECKING

from finishlog.desk.due import calendar as care_calendar
from finishlog.papers.reminders.calendar import calendar, told

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.care import Reseal


@dataclass(frozen=True, slots=True)
class Reseals:
    """Events with the numbers they go out with. `kept`: the log knows of these numbers now."""

    lines: tuple[Reseal, ...]
    stands: tuple[Reseal, ...]
    """Those that are not canceled."""
    season: Sequence[int]
    name: str
    mark: str
    """The same for calendars that say the same, whenever they are made."""
    kept: bool

    def ics(self, made: datetime) -> bytes:
        """The calendar as of an instant."""
        return calendar(self.lines, made, self.season, self.name)


def reseals(services: Services, by: date | None = None) -> Reseals:
    """All reseals a calendar may hold; with `by`, those only whose window opens by then."""
    with services.log().reading() as log:
        season, shop = log.shop().care_months, log.settings().get("shop_name", "").strip()
    lines = care_calendar.lines(services, by)
    says = {line.uid: told(line, season) for line in lines}
    numbered = care_calendar.number(services, lines, {uid: (one.mark, one.day) for uid, one in says.items()})
    name = f"Reseals, {shop}" if shop else "Reseals"
    facts = sorted((line.uid, line.sequence, says[line.uid].mark) for line in numbered.lines)
    mark = sha256(repr((name, facts)).encode()).hexdigest()[:32]
    stands = tuple(line for line in lines if says[line.uid].status != "CANCELLED")
    return Reseals(numbered.lines, stands, season, name, mark, numbered.kept)
