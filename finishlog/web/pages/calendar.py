"""The calendar of reseals that a phone follows: by a secret address, read only, the same as the file.

Its numbers are kept in the log as those of a file are, so that a file and a phone that follows agree.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from email.utils import format_datetime, parsedate_to_datetime
from threading import Lock
from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from finishlog.papers.reminders.reseals import reseals
from finishlog.web.gate import subscriptions
from finishlog.web.gate.people import Visitor
from finishlog.web.site import site_of, source_of

if TYPE_CHECKING:
    from finishlog.desk.services import Services
    from finishlog.web.site import Site


class Since:
    """Since when the calendar has said what it says: a phone counts in whole seconds. Thread-safe."""

    def __init__(self) -> None:
        self._said: tuple[str, datetime] | None = None
        self._lock = Lock()

    def __call__(self, mark: str, now: datetime) -> datetime:
        """`now`, where the mark is another than the last."""
        with self._lock:
            if self._said is None:
                self._said = mark, now
            elif self._said[0] != mark:
                self._said = mark, max(now, self._said[1] + timedelta(seconds=1))
            return self._said[1]


async def follow(request: Request) -> Response:
    """The calendar, or 304 where the phone has it as it is."""
    site, source = site_of(request), source_of(request)
    person = await site.ask(subscriptions.holder, site.people.book, request.path_params["secret"])
    if person is None:
        site.visits.note("refused: a calendar address", source)
        raise HTTPException(404, "Nothing is here.")
    services = site.services_of(Visitor(person.name, person.role, ""))
    mark, changed, whole = await site.ask(_now, site, services)
    headers = {
        "etag": f'"{mark}"',
        "last-modified": format_datetime(changed, usegmt=True),
        "cache-control": "private, no-cache",
    }
    if _has_it(request, f'"{mark}"', changed):
        return Response(status_code=304, headers=headers)
    site.visits.note("took the calendar", source, person.name)
    return Response(whole, media_type="text/calendar; charset=utf-8", headers=headers)


def _now(site: Site, services: Services) -> tuple[str, datetime, bytes]:
    """Its mark, since when it says that, and its bytes: the same as long as it says the same."""
    found, now = reseals(services), services.now().astimezone(UTC).replace(microsecond=0)
    changed = site.own(Since)(found.mark, now)
    return found.mark, changed, found.ics(changed)


def _has_it(request: Request, tag: str, changed: datetime) -> bool:
    """RFC 9110 §13.2.2: a tag is believed before a time."""
    if (tags := request.headers.get("if-none-match")) is not None:
        return tags.strip() == "*" or tag in (one.strip().removeprefix("W/") for one in tags.split(","))
    try:
        since = parsedate_to_datetime(request.headers.get("if-modified-since", ""))
    except ValueError:
        return False
    return since.tzinfo is not None and since >= changed


ROUTES = (Route("/calendar/{secret}/reseals.ics", follow, methods=["GET"]),)
