"""What is due, for the screens. Called from worker threads only."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.tui.desks.late import late

if TYPE_CHECKING:
    from collections.abc import Callable

    from finishlog.desk.forms.offers import Offer
    from finishlog.desk.record.record import Recorded
    from finishlog.desk.services import Services
    from finishlog.records.due import Today, TodayLine


class TodayDesks:
    """Today's list of one log."""

    _services: Services
    due: Callable[[], Today] = late("finishlog.desk.due.today.today")
    due_offer: Callable[[TodayLine], Offer] = late("finishlog.desk.due.today.offer")
    not_for: Callable[[TodayLine], Recorded] = late("finishlog.desk.due.today.not_for_this_job")

    def retold(self, found: Today) -> Today:
        """The same lines in the same order, with times as of now; reads no log."""
        from finishlog.desk.due import today

        return today.retold(found, self._services.clock())

    def put_off(self, line: TodayLine, until: str) -> Recorded:
        """Raises InputError at `until`."""
        from finishlog.desk.due import today
        from finishlog.errors import naming
        from finishlog.inputs.until import read_until

        zone = line.opens_at.tzinfo
        assert zone is not None
        with naming("until"):
            return today.put_off(self._services, line, read_until(until, self._services.clock(), zone))
