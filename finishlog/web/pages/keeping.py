"""What a phone keeps for where there is no signal: the pages and forms of the jobs of the next days."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING
from urllib.parse import quote, urlencode

from finishlog.desk.due import today
from finishlog.web.pages.entry import kinds_of

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.records.due import TodayLine

DAYS = 3
MOST_JOBS = 12
"""The first to act on: more would take a phone minutes on a slow line."""
ALWAYS = ("/", "/find", "/waiting")


def pages(services: Services) -> tuple[str, ...]:
    """Paths, what is to be done first before all else."""
    lines, ends = today.today(services, pours=False).lines, services.clock() + timedelta(days=DAYS)
    jobs = list(dict.fromkeys(line.job for line in lines if line.opens_at <= ends))[:MOST_JOBS]
    kinds = [key for key, _ in kinds_of(services)]
    at_hand = [link(line) for line in lines if line.job in jobs and line.kind in (*kinds, "photo")]
    own = [f"/job/{job}{page}" for job in jobs for page in ("", "/log", "/photos")]
    forms = [f"/job/{job}/log/{kind}" for job in jobs for kind in kinds]
    return tuple(dict.fromkeys((*ALWAYS, *own, *at_hand, *forms)))


def link(line: TodayLine) -> str:
    """The form that logs a line of Today: of its area, where the job has several, and of what falls due."""
    page = "photos" if line.kind == "photo" else f"log/{line.kind}"
    asked = {"area": line.where, "due": line.what if today.begun(line.what) else ""}
    query = urlencode({name: text for name, text in asked.items() if text}, quote_via=quote)
    return f"/job/{line.job}/{page}{'?' if query else ''}{query}"
