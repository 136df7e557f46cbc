"""What is due, as the screens see it. Called from worker threads only."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from finishlog.desk.forms.offers import Offer
    from finishlog.desk.record.record import Recorded
    from finishlog.desk.services import Services
    from finishlog.records.due import Today, TodayLine


class TodayDesks(Protocol):
    def due(self) -> Today: ...
    def retold(self, found: Today) -> Today: ...
    def due_offer(self, line: TodayLine) -> Offer: ...
    def put_off(self, line: TodayLine, until: str) -> Recorded: ...
    def not_for(self, line: TodayLine) -> Recorded: ...


class LogTodayDesks:
    """The desk of Today on a log."""

    _services: Services

    def due(self) -> Today:
        from finishlog.desk.due import today

        return today.today(self._services)

    def retold(self, found: Today) -> Today:
        from finishlog.desk.due import today

        return today.retold(found, self._services.clock())

    def due_offer(self, line: TodayLine) -> Offer:
        from finishlog.desk.due import today

        return today.offer(self._services, line)

    def put_off(self, line: TodayLine, until: str) -> Recorded:
        """Raises InputError at `until`."""
        from finishlog.desk.due import today
        from finishlog.errors import InputError
        from finishlog.inputs.until import read_until

        zone = line.opens_at.tzinfo
        assert zone is not None
        try:
            return today.put_off(self._services, line, read_until(until, self._services.clock(), zone))
        except InputError as wrong:
            raise wrong.at("until") from None

    def not_for(self, line: TodayLine) -> Recorded:
        from finishlog.desk.due import today

        return today.not_for_this_job(self._services, line)
