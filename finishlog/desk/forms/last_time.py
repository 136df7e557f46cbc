"""Beside a form: the last entries, and what is usual in this shop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog import units
from finishlog.desk import said
from finishlog.desk.record.job_now import stand
from finishlog.desk.words import when
from finishlog.inputs.entry import entries
from finishlog.records.shop import Setting, Shop

if TYPE_CHECKING:
    from collections.abc import Iterator

    from finishlog.desk.record.job_now import Stand
    from finishlog.desk.services import Services
    from finishlog.records.log import Entry

LastTime = tuple[tuple[str, ...], tuple[str, ...]]
"""Sentences of the last entries of a kind, and of what is usual."""
MOST = 3


def last_time(services: Services, handle: str, kind: str, without: int | None = None) -> LastTime:
    """The last three entries of this kind on the job, newest first, and what is usual. `without` is left out.

    Raises InputError.
    """
    what = entries.need_kind(kind)
    with services.log().reading() as log:
        now = stand(log, services, handle)
        found = [entry for entry in now.job.of_kind(what.key) if entry.number != without]
        newest = sorted(found, key=lambda entry: (entry.happened, entry.number), reverse=True)[:MOST]
        return tuple(_sentence(entry, now) for entry in newest), tuple(
            _usual(what.usual_settings, log.shop())
        )


def _sentence(entry: Entry, now: Stand) -> str:
    moment = when(entry.happened.astimezone(now.zone), entry.exactness)
    return f"{moment}: {said.what(entry)}"


def _usual(keys: tuple[str, ...], shop: Shop) -> Iterator[str]:
    for key in keys:
        setting: Setting = getattr(Shop, key)
        low, high = units.plain(setting.low), units.plain(setting.high)
        yield f"{setting.title}: {setting.said(getattr(shop, key))} ({low} to {high})"
