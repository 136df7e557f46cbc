"""A machine's clock that cannot be right beside what was logged last: every age and due day would be wrong."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from finishlog.units import write_date

if TYPE_CHECKING:
    from finishlog.store import Reader

BACK = timedelta(hours=12)
"""Two machines may differ by minutes, a zone set wrong by hours; neither moves a day (ours)."""
AHEAD = timedelta(days=5 * 365)
"""A log is seldom left alone for five years (ours)."""


def of_log(log: Reader, now: datetime) -> tuple[str, ...]:
    """A sentence where the clock stands before the last entry, or years after it.

    The last by order, not the latest: once answered, the next entry is compared with a right one.
    """
    last = log.last_logged()
    if last is None or -BACK <= now - last <= AHEAD:
        return ()
    return (
        f"This machine's clock says {write_date(now.date())}; the last entry was logged on {_on(last, now)}: "
        "check the clock.",
    )


def _on(last: datetime, now: datetime) -> str:
    here = last.astimezone(now.tzinfo)
    same = here.date() == now.date()
    return write_date(here.date()) + (f" at {here:%H:%M}, and it is {now:%H:%M} now" if same else "")
