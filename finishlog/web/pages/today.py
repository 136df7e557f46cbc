"""What is due today, each with its caution."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from finishlog.desk.due import today
from finishlog.desk.due.at_hand import at_hand
from finishlog.web.gate.people import Visitor
from finishlog.web.pages import keeping
from finishlog.web.site import Site, signed_in

if TYPE_CHECKING:
    from finishlog.desk.services import Services

MOST = 12
"""Lines of a state shown at once: those to act on first."""


async def page(request: Request, site: Site, visitor: Visitor) -> Response:
    """The list of the screens, in its groups."""
    most = None if "all" in request.query_params else MOST
    found = await site.ask(at_hand, site.services_of(visitor), most)
    return site.page(
        "today.html",
        visitor,
        sentence=found.sentence,
        groups=[(title, some, found.more.get(some[0].state, 0)) for title, some in today.groups(found.lines)],
        link=keeping.link,
    )


def again(services: Services) -> None:
    """Make it anew after a write, before anybody asks."""
    at_hand(services, MOST)


ROUTES = (Route("/", signed_in(page), methods=["GET"]),)
