"""The whole site as one ASGI application."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles

from finishlog.errors import FinishlogError, InputError
from finishlog.web.gate.guard import BODY_MOST, Guard, TooLarge
from finishlog.web.pages import calendar, door, entry, icon, jobs, photos, queue, rinse, screens, today
from finishlog.web.site import Site, site_of, source_of

PAGES = (door, today, photos, rinse, jobs, entry, queue, calendar, screens, icon)
_STATIC = Path(__file__).parent / "static"


def make(site: Site, origins: Collection[str]) -> Starlette:
    """The site at these origins, such as `http://127.0.0.1:8021`."""
    routes = [route for page in PAGES for route in page.ROUTES]
    guard = Middleware(
        Guard, origins=origins, body_most=_body_most, tell=site.visits.refused, secure=site.secure
    )
    app = Starlette(
        routes=[*routes, Mount("/static", StaticFiles(directory=_STATIC))],
        middleware=[guard],
        exception_handlers={
            FinishlogError: _said, HTTPException: _refused, TooLarge: _too_large, Exception: _failed,
        },
    )  # fmt: skip
    app.state.site = site
    site.renews = today.again
    return app


def _body_most(path: str) -> int:
    if path.startswith(queue.SENT_PHOTO):
        return photos.ONE_MOST
    return photos.ALL_MOST if path.endswith("/photos") else BODY_MOST


async def _said(request: Request, failure: Exception) -> Response:
    """A failure of ours in a line: what was asked for is not there, or the log cannot be used."""
    assert isinstance(failure, FinishlogError)
    site, status = site_of(request), 404 if isinstance(failure, InputError) else 503
    visitor = await site.visitor(request)
    return site.page("said.html", visitor, status=status, said=failure.line())


async def _refused(request: Request, failure: Exception) -> Response:
    assert isinstance(failure, HTTPException)
    site = site_of(request)
    return site.page(
        "said.html", await site.visitor(request), status=failure.status_code, said=failure.detail
    )


async def _too_large(request: Request, failure: Exception) -> Response:
    return PlainTextResponse("That is too large.\n", 413)


async def _failed(request: Request, failure: Exception) -> Response:
    """A bug of ours: its place is noted, and nothing of it leaves the machine."""
    import traceback

    *_, last = traceback.extract_tb(failure.__traceback__)
    what = f"failed: {type(failure).__name__} ({Path(last.filename).name}, line {last.lineno})"
    site_of(request).visits.note(what, source_of(request))
    return PlainTextResponse("That went wrong here, not on your phone. The owner can see why.\n", 500)
