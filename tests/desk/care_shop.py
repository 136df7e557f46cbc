"""A shop with one poured and sealed job and a clock that tests can set, for the tests of care."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

from finishlog.desk.jobs import edit
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.records.log import Job
from finishlog.store import Log

ZONE = ZoneInfo("America/Chicago")
START = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
PATIO = "ottoline-quillfeather-patio"


class Clock:
    """A clock that a test can set to a moment in Chicago."""

    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime:
        return self.now

    def to(self, moment: str) -> None:
        self.now = datetime.fromisoformat(moment).replace(tzinfo=ZONE).astimezone(UTC)


@contextmanager
def care_shop(folder: Path, clock: Clock) -> Iterator[Services]:
    uids = count(1)
    log = Log.create(folder / "l.finishlog", clock=clock, new_uid=lambda: f"u{next(uids)}")
    made = Services(
        open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=clock,
        find_zone=lambda: ZONE,
    )  # fmt: skip
    new_job(made, "Ottoline Quillfeather", "patio", "12 Teakettle Lane", email="ottoline@example.com")
    yield made
    log.close()


def new_job(services: Services, customer: str, job: str, street: str, *, town: str = "Nettlewick",
            email: str = "") -> str:  # fmt: skip
    """A new job with one area of 400 ft2; its handle."""
    texts = {"customer": customer, "job": job, "street": street, "town": town, "areas": "field 20x20 4in"}
    edit.new_job(services, {**texts, "email": email} if email else texts)
    return f"{customer} {job}".lower().replace(" ", "-")


def job(services: Services, handle: str = PATIO) -> Job:
    with services.log().reading() as log:
        return log.job(handle)


def poured(services: Services, handle: str) -> None:
    record.record(services, handle, "pour", {"at": "2020-06-01 11:20"})


def seal(
    services: Services, at: str, handle: str = PATIO, *, because: str | None = None, **texts: str
) -> record.Recorded:
    told = {"at": at, "product": "Badger Coat", "amount": "2 gal", "chemistry": "acrylic", "carrier": "solvent",
            "solids_percent": "25", **texts}  # fmt: skip
    return record.record(services, handle, "seal", told, because=because)
