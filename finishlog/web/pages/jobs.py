"""Find a job, and its page: recipe, last entries, what is buried."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from finishlog.desk.jobs import find, page
from finishlog.web.gate.people import Visitor
from finishlog.web.site import Site, signed_in

MOST = 20
LAST = 8
"""Entries shown at once, the newest first."""


async def found(request: Request, site: Site, visitor: Visitor) -> Response:
    """Jobs by any scrap; the newest without one."""
    words = request.query_params.get("words", "")[:200]
    answer = await site.ask(find.page, site.services, words, limit=MOST)
    return site.page("find.html", visitor, words=words, found=answer)


async def job(request: Request, site: Site, visitor: Visitor) -> Response:
    """One job laid open."""
    laid = await site.ask(page.lay_open, site.services, request.path_params["handle"])
    return site.page("job.html", visitor, page=laid, last=laid.doings[::-1][:LAST])


ROUTES = (
    Route("/find", signed_in(found), methods=["GET"]),
    Route("/job/{handle}", signed_in(job), methods=["GET"]),
)
