"""Jobs with coats, visits and what the office said, built in memory for the tests of care."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from finishlog.records.log import Area, Coat, Customer, Entry, Fact, Job, MaterialUse, Product, Site

ZONE = ZoneInfo("America/Chicago")
FIELD = Area("a1", "field", area_ft2=400.0)
SOLVENT = Product("p1", "Badger Coat", "sealer", solids_percent=25.0, chemistry="solvent acrylic")
EMPTY = Job("j1", "teakettle-patio", "patio", Customer("c1", "Ottoline Quillfeather"),
            Site("s1", "12 Teakettle Lane", "Nettlewick", "America/Chicago"), areas=(FIELD,))  # fmt: skip


def at(day: str) -> datetime:
    """Noon of a day in the zone of the tests."""
    return datetime.fromisoformat(f"{day}T12:00").replace(tzinfo=ZONE).astimezone(UTC)


def logged(job: Job, kind: str, day: str, *, area: str | None = "a1", coat: Coat | None = None,
           use: MaterialUse | None = None, note: str | None = None, **facts: Fact) -> Job:  # fmt: skip
    """The job with one more entry."""
    number = len(job.history) + 1
    entry = Entry(number, f"e{number}", kind, at(day), at(day), area=area, note=note, facts=facts, coat=coat,
                  materials=(use,) if use else ())  # fmt: skip
    standing = tuple(sorted((*job.entries, entry), key=lambda e: (e.happened, e.number)))
    return replace(job, entries=standing, history=(*job.history, entry))


def taken_back(job: Job, number: int) -> Job:
    """The job with an entry withdrawn."""
    last = len(job.history) + 1
    gone = next(e for e in job.history if e.number == number)
    undo = replace(gone, number=last, uid=f"e{last}", replaces=number, withdrawn=True)
    left = tuple(e for e in job.entries if e.number != number)
    return replace(job, entries=left, history=(*job.history, undo))


def sealed(job: Job, day: str, *, reseal: bool = False, gallons: float | None = 2.0, area: str | None = "a1",
           product: Product = SOLVENT, facts: Mapping[str, Fact] | None = None) -> Job:  # fmt: skip
    """The job with a coat more; 2 gal on 400 ft2 are 2.0 mil dry at 25 %."""
    use = MaterialUse(product, gallons, "gal")
    return logged(
        job, "seal", day, area=area, coat=Coat(reseal=reseal, area_ft2=400.0), use=use, **(facts or {})
    )
