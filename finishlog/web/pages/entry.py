"""Log an entry: its kind, its form with what is usual filled in, kept."""

from __future__ import annotations

from collections.abc import Mapping
from uuid import uuid4

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.forms import offers
from finishlog.desk.forms.offers import Offer
from finishlog.desk.record import record
from finishlog.errors import InputError
from finishlog.web.gate.people import Visitor
from finishlog.web.site import Site, signed_in, texts_of


async def form(request: Request, site: Site, visitor: Visitor) -> Response:
    """The form of a kind, with what is usual filled in."""
    handle, kind = request.path_params["handle"], request.path_params["kind"]
    offer = await site.ask(offers.offer, site.services, handle, kind)
    return _shown(site, visitor, offer, {**offer.values, "by": offer.values.get("by") or visitor.name})


async def kept(request: Request, site: Site, visitor: Visitor) -> Response:
    """Keep what was typed; what is wrong is said at its field, what is odd is asked once."""
    handle, kind = request.path_params["handle"], request.path_params["kind"]
    texts = texts_of(await request.form())
    uid, because = texts.pop("uid", ""), texts.pop("because", "").strip() or None
    try:
        done = await site.ask(record.record, site.services, handle, kind, texts, because=because, uid=uid)
    except Doubt as doubt:
        return await _again(site, visitor, handle, kind, texts, uid, doubts=doubt.doubts)
    except InputError as wrong:
        return await _again(site, visitor, handle, kind, texts, uid, wrongs=_wrongs(wrong))
    return RedirectResponse(f"/job/{done.job}", 303)


async def _again(
    site: Site, visitor: Visitor, handle: str, kind: str, texts: Mapping[str, str], uid: str, **more: object
) -> Response:
    offer = await site.ask(offers.offer, site.services, handle, kind)
    return _shown(site, visitor, offer, texts, uid=uid, status=422, **more)


def _shown(site: Site, visitor: Visitor, offer: Offer, texts: Mapping[str, str], *, uid: str = "",
           status: int = 200, doubts: object = (), wrongs: object = None) -> Response:  # fmt: skip
    return site.page(
        "entry.html", visitor, status=status, offer=offer, texts=texts, uid=uid or uuid4().hex, doubts=doubts,
        wrongs=wrongs or {},
    )  # fmt: skip


def _wrongs(wrong: InputError) -> dict[str, str]:
    """What is wrong by field; under "" what is of none."""
    each = getattr(wrong, "wrongs", ())
    if each:
        return {
            one.key: f"{one.what} {f'Like {one.example}.' if one.example else ''}".strip() for one in each
        }
    return {wrong.where: wrong.line()}


ROUTES = (
    Route("/job/{handle}/log/{kind}", signed_in(form), methods=["GET"]),
    Route("/job/{handle}/log/{kind}", signed_in(kept), methods=["POST"]),
)
