"""Find a job, and its page: recipe, last entries, what is buried."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from finishlog.desk.due import today
from finishlog.desk.jobs import find, page
from finishlog.desk.record.before_rinse import RINSE
from finishlog.desk.words import month, placed_lines
from finishlog.records.log import JobLine
from finishlog.records.page import JobPage
from finishlog.web.gate.people import Visitor
from finishlog.web.site import Site, signed_in

MOST = 20
LAST = 8
"""Entries shown at once, the newest first."""


async def found(request: Request, site: Site, visitor: Visitor) -> Response:
    """Jobs by any scrap; the newest without one."""
    words = request.query_params.get("words", "")[:200]
    answer = await site.ask(find.page, site.services_of(visitor), words, limit=MOST)
    return site.page("find.html", visitor, words=words, found=answer, when=_when)


def _when(line: JobLine) -> str:
    """The month, as the list of the screens says it."""
    if line.poured_on is not None:
        return month(line.poured_on)
    if line.state == "poured":
        return "date unknown"
    return f"planned {month(line.planned_on)}" if line.planned_on else "planned"


async def job(request: Request, site: Site, visitor: Visitor) -> Response:
    """One job laid open: recipe, last entries, what is buried, in that order."""
    services = site.services_of(visitor)
    laid = await site.ask(page.lay_open, services, request.path_params["handle"])
    planned = laid.poured_on is None
    recipe = [
        (placed.area.name, placed_lines(placed, planned=planned, to_come=laid.to_come.get(placed.area.uid)))
        for placed in laid.placed
    ]
    phone = laid.job.customer.phone if await site.ask(_sees_phone, site, visitor, laid) else None
    every = "all" in request.query_params
    doings = [one for one in laid.doings[::-1] if one.current]
    return site.page(
        "job.html", visitor, page=laid, recipe=recipe, last=doings if every else doings[:LAST],
        more=0 if every else max(len(doings) - LAST, 0), phone=phone,
        kept=request.query_params.get("entry", "") if request.query_params.get("entry", "").isdigit() else "",
        rinses=laid.poured_on is not None and RINSE not in {one.kind for one in laid.job.entries},
    )  # fmt: skip


def _sees_phone(site: Site, visitor: Visitor, laid: JobPage) -> bool:
    """The owner and the office see all phones; the crew those of the jobs due now, unless the owner says otherwise."""
    if site.sees_phones(visitor.role):
        return True
    return today.has_work(site.services_of(visitor), laid.job.handle, horizon_days=1)


ROUTES = (
    Route("/find", signed_in(found), methods=["GET"]),
    Route("/job/{handle}", signed_in(job), methods=["GET"]),
)
