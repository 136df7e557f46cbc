"""Reminders that went out, each an entry of its job: written on, to whom, how; and what came back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from finishlog.desk.due import care
from finishlog.desk.due.care import REMINDER
from finishlog.desk.record import record as recording
from finishlog.desk.record.record import Recorded
from finishlog.errors import InputError, LogError, ServerAway
from finishlog.records.care import How
from finishlog.retrying import anew

if TYPE_CHECKING:
    from finishlog.desk.due.care_list import Going
    from finishlog.desk.services import Services

NOT_KEPT = "Cannot write to the log, so it has no record that these went out."
NOT_KNOWN = "The log's server went away: look whether it has a record that these went out."
CameBack = Literal["bounced", "refused"]
CAME_BACK: tuple[CameBack, ...] = ("bounced", "refused")


def keep(services: Services, sent: Sequence[tuple[Going, How]]) -> tuple[str, ...]:
    """Log what went out to whom and how, all or none; returns the message."""
    if not sent:
        return ()
    try:
        _keep(services, sent)
    except ServerAway as error:
        return () if error.written else (NOT_KNOWN if error.unsure else NOT_KEPT,)
    except LogError:
        return (NOT_KEPT,)
    return ()


@anew
def _keep(services: Services, sent: Sequence[tuple[Going, How]]) -> None:
    file_path = services.log().file_path
    with services.log().writing() as log:
        for one, how in sent:
            texts = {"how": how, "to": care.to_whom(one.line), "what": one.what}
            recording.record_in(log, services, one.line.job, REMINDER, texts, file_path=file_path)


def came_back(
    services: Services, handle: str, what: CameBack, *, note: str | None = None, person: str | None = None
) -> Recorded:
    """Log that the last reminder bounced or was refused; a refusal ends reminders for this reseal.

    Raises InputError where nothing went out.
    """
    line = care.of_job(services, handle)
    if line is None or line.last_written is None:
        raise InputError(f"Nothing was sent to {handle} this season.", "So nothing could have come back.",
                         where="JOB", example="finishlog care hill-patio written")  # fmt: skip
    last = line.last_written
    if what == "refused":
        told = "; ".join(part for part in (note, f"refused the one of {last.on.isoformat()}") if part)
        return care.set_state(services, line.job, "declined", note=told, person=person)
    texts = {"how": last.how, "to": last.to, "what": last.what, "result": "bounced", "note": note or "",
             "by": person or ""}  # fmt: skip
    return recording.record(services, line.job, REMINDER, texts)


def read_came_back(text: str) -> CameBack | None:
    """`bounced` or `refused` as typed, None for any other word."""
    word = text.strip().casefold()
    return next((each for each in CAME_BACK if each == word), None)
