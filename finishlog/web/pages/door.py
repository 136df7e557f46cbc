"""Coming in and going out."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from finishlog.web.gate.people import DAY_S, SESSION_S, Refused, Visitor
from finishlog.web.gate.tries import TooMany
from finishlog.web.site import Site, signed_in, site_of, source_of


async def door(request: Request) -> Response:
    """The form for a name and a pass phrase."""
    site = site_of(request)
    if await site.visitor(request):
        return RedirectResponse("/", 303)
    return site.page("in.html", None, wrong="", name="")


async def sign_in(request: Request) -> Response:
    """Lets in who knows a pass phrase."""
    site, form = site_of(request), await request.form()
    name, phrase, source = str(form.get("name", "")), str(form.get("phrase", "")), source_of(request)
    try:
        token = await site.ask(site.people.sign_in, name, phrase, source)
    except TooMany as wrong:
        site.visits.note("refused: too many tries", source, site.people.called(name))
        answer = site.page("in.html", None, status=429, wrong=wrong.line(), name=name)
        answer.headers["retry-after"] = str(max(round(wrong.wait_s), 1))
        return answer
    except Refused as wrong:
        site.visits.note("refused: wrong name or pass phrase", source, site.people.called(name))
        return site.page("in.html", None, status=403, wrong=wrong.line(), name=name)
    site.visits.note("came in", source, site.people.called(name))
    return site.let_in(token, RedirectResponse("/", 303), SESSION_S)


async def link(request: Request) -> Response:
    """What a link opens: a button. A preview of it uses nothing up."""
    site = site_of(request)
    return site.page("link.html", None, token=request.path_params["token"], wrong="")


async def follow(request: Request) -> Response:
    """Lets in the phone that presses the button, once."""
    site, token, source = site_of(request), request.path_params["token"], source_of(request)
    try:
        session = await site.ask(site.people.follow, token)
    except Refused as wrong:
        site.visits.note("refused: a link", source)
        return site.page("link.html", None, status=403, token=token, wrong=wrong.line())
    visitor = await site.ask(site.people.visitor, session)
    site.visits.note("came in by a link", source, visitor.name if visitor else "")
    return site.let_in(session, RedirectResponse("/", 303), DAY_S)


async def sign_out(request: Request, site: Site, visitor: Visitor) -> Response:
    """This phone goes out."""
    await site.ask(site.people.sign_out, visitor)
    site.visits.note("went out", source_of(request), visitor.name)
    return site.let_go(RedirectResponse("/in", 303))


ROUTES = (
    Route("/in", door, methods=["GET"]),
    Route("/in", sign_in, methods=["POST"]),
    Route("/in/{token}", link, methods=["GET"]),
    Route("/in/{token}", follow, methods=["POST"]),
    Route("/out", signed_in(sign_out), methods=["POST"]),
)
