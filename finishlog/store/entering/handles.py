"""A new job's handle: the requested one, or one built from customer and name."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.engine import Connection

from finishlog.errors import InputError
from finishlog.records.writing import NewJob
from finishlog.store.engine.protocol import run
from finishlog.store.schema.fold import slug
from finishlog.store.schema.tables import JobRow

HANDLE_MOST = 60
NUMBER_MOST = 12
"""Longest number behind a handle that was made here: `-2`, `-317`."""
_TAKEN = "SELECT handle FROM job WHERE handle >= :wanted AND handle < :past"


def is_handle(text: str) -> bool:
    """Whether this program could have given it: small letters and digits joined by hyphens."""
    return bool(text) and len(text) <= HANDLE_MOST + NUMBER_MOST and slug(text) == text


def new_handle(connection: Connection, new: NewJob) -> str:
    """An unused handle. Raises InputError if the requested one is invalid or taken."""
    if new.handle is not None:
        return _given(connection, new.handle)
    wanted = slug(f"{new.customer.name} {new.name}")[:HANDLE_MOST].strip("-") or "job"
    taken = {row[0] for row in run(connection, _TAKEN, wanted=wanted, past=wanted + "~")}
    numbered = (f"{wanted}-{number}" for number in range(2, len(taken) + 3))
    return next(handle for handle in (wanted, *numbered) if handle not in taken)


def _given(connection: Connection, text: str) -> str:
    handle = slug(text)
    if not is_handle(text) or len(handle) > HANDLE_MOST:
        shown = handle[:HANDLE_MOST].strip("-") or "hill-back-patio"
        cause = f"Use small letters, digits and hyphens, {HANDLE_MOST} at most."
        raise InputError("Not a valid handle.", cause, where="handle", example=shown)
    if connection.scalar(select(JobRow.id).where(JobRow.handle == handle)) is not None:
        raise InputError(f"There is already a job {handle}.", where="handle", example=f"{handle}-2")
    return handle
