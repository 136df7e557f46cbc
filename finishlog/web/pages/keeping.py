"""What a phone keeps for where there is no signal: the pages and forms of the jobs of the next days."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.desk.due import today
from finishlog.web.pages.entry import kinds_of

if TYPE_CHECKING:
    from finishlog.desk.services import Services

DAYS = 3
MOST_JOBS = 12
"""The first to act on: more would take a phone minutes on a slow line."""
ALWAYS = ("/", "/find", "/waiting")


def pages(services: Services) -> tuple[str, ...]:
    """Paths, what is to be done first before all else."""
    due = today.today(services, horizon_days=DAYS).lines
    jobs = list(dict.fromkeys(line.job for line in due))[:MOST_JOBS]
    at_hand = [
        f"/job/{line.job}/log/{line.kind}" for line in due if line.job in jobs and line.kind != "photo"
    ]
    forms = [f"/job/{job}/log/{key}" for job in jobs for key, _ in kinds_of(services)]
    own = [f"/job/{job}{page}" for job in jobs for page in ("", "/log", "/photos")]
    may = set(forms)
    return tuple(dict.fromkeys((*ALWAYS, *own, *(form for form in at_hand if form in may), *forms)))
