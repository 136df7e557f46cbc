"""What stands beside a form: what was told the last time, and what is usual in this shop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog import units
from finishlog.desk import said
from finishlog.desk.jobs import settings
from finishlog.desk.record.job_now import stand
from finishlog.desk.words import when
from finishlog.inputs.entry import entries
from finishlog.records.shop import SETTINGS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from finishlog.desk.record.job_now import Stand
    from finishlog.desk.services import Services
    from finishlog.records.log import Entry
    from finishlog.records.shop import Shop

LastTime = tuple[tuple[str, ...], tuple[str, ...]]
"""Sentences of the last entries of a kind, and of what is usual."""
MOST = 3
_USUAL = {
    "load": ("slump_in", "color_percent", "mixing_minutes", "truck_minutes"),
    "color_hardener": ("hardener_lb_per_100ft2",),
    "powder_release": ("release_lb_per_100ft2",),
    "liquid_release": ("liquid_release_ft2_per_gal",),
    "joint": ("saw_cut_from_h", "saw_cut_to_h"),
    "rinse": ("rinse_usual_from_h", "rinse_usual_to_h"),
    "reading": ("spots_per_area", "first_comparable_day", "final_color_day"),
    "seal": ("seal_usual_day", "coat_1_ft2_per_gal", "coat_2_ft2_per_gal", "seal_slab_low_f", "seal_slab_high_f"),
}  # fmt: skip
"""The settings that say what is usual, by kind of entry."""


def last_time(services: Services, handle: str, kind: str, without: int | None = None) -> LastTime:
    """The last three entries of this kind on the job, newest first, and what is usual. `without` is left out.

    Raises InputError.
    """
    what = entries.need_kind(kind)
    with services.log().reading() as log:
        now = stand(log, services, handle)
        found = [entry for entry in now.job.of_kind(what.key) if entry.number != without]
        newest = sorted(found, key=lambda entry: (entry.happened, entry.number), reverse=True)[:MOST]
        return tuple(_sentence(entry, now) for entry in newest), tuple(_usual(what.key, log.shop()))


def _sentence(entry: Entry, now: Stand) -> str:
    moment = when(entry.happened.astimezone(now.zone), entry.exactness)
    return f"{moment}: {said.what(entry)}"


def _usual(kind: str, shop: Shop) -> Iterator[str]:
    by_key = {setting.key: setting for setting in SETTINGS}
    for key in _USUAL.get(kind, ()):
        setting = by_key[key]
        low, high = units.plain(setting.low), units.plain(setting.high)
        yield f"{setting.title}: {settings.said(setting, getattr(shop, key))} ({low} to {high})"
