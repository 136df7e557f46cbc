"""How readings look. Call in workers: the color library takes a second to load."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from finishlog.color.notation.names import nearest_name
from finishlog.color.notation.space import lab_to_hex, lab_to_munsell
from finishlog.records.log import main_first
from finishlog.records.placed import stands
from finishlog.records.when import day_of
from finishlog.trade.poured import day_before
from finishlog.tui.desks.views import Look

if TYPE_CHECKING:
    from datetime import date

    from finishlog.records.log import Reading
    from finishlog.records.page import JobPage
    from finishlog.records.placed import AsPlaced


def of_job(page: JobPage) -> tuple[Look, ...]:
    """A job's readings, oldest first; Munsell for one only, since it is slow."""
    job, apart = page.job, page.job.samples_apart()
    main = next(iter(main_first(job.areas)), None)
    standing = stands(job, "base", main.uid if main else None)
    found = [
        replace(
            look(entry.reading, day_of(job, entry), day_before(job, entry)),
            area=entry.area,
            apart=entry.reading.sample in apart,
            stands=standing is not None and entry.number == standing.number,
        )
        for entry in job.entries
        if entry.reading is not None
    ]
    return tuple(replace(one, munsell=munsell(one)) if one.stands else one for one in found)


def of_placed(placed: AsPlaced) -> tuple[Look | None, Look | None]:
    """An area's base and release color as last read."""
    on = placed.base_read_on or placed.poured_on
    base, release = placed.base_reading, placed.release_reading
    return (
        look(base, on, placed.poured_on) if base and on else None,
        look(release, on, placed.poured_on) if release and on else None,
    )


def look(reading: Reading, on: date, poured: date | None) -> Look:
    """How a reading made on `on` is shown; no age in days if the pour date is unknown."""
    lab = (reading.L, reading.a, reading.b)
    age = (on - poured).days if poured is not None else None
    return Look(reading, age, on, lab_to_hex(lab), nearest_name(lab))


def munsell(one: Look) -> str | None:
    """Munsell notation; None outside the renotation's range."""
    return lab_to_munsell((one.reading.L, one.reading.a, one.reading.b))
