"""Log an entry: its kind, its form with what is usual filled in, kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import uuid4

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.due import today
from finishlog.desk.forms import offers
from finishlog.desk.jobs import page as job_page
from finishlog.desk.record import record
from finishlog.errors import InputError
from finishlog.inputs.entry import entries, hints
from finishlog.roles import NOT_OF_CREW, PRICED_FACTS
from finishlog.web.gate.people import Visitor
from finishlog.web.site import Site, signed_in, texts_of

if TYPE_CHECKING:
    from finishlog.desk.forms.offers import Offer
    from finishlog.desk.services import Services
    from finishlog.inputs.asking import Field

FIRST = ("swept", "at", "by", "area", "note")
"""Asked at once, filled in or not."""
NOT_HERE = ("photo",)
"""Kinds that have a page of their own."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A field as the page shows it."""

    field: Field
    value: str
    hint: str
    choices: tuple[str, ...]
    wrong: str

    @property
    def is_choice(self) -> bool:
        """Whether only one of the field's own choices will do."""
        return bool(self.field.choices)


async def kinds(request: Request, site: Site, visitor: Visitor) -> Response:
    """What can be logged on a job."""
    services, handle = site.services_of(visitor), request.path_params["handle"]
    laid = await site.ask(job_page.lay_open, services, handle)
    return site.page("kinds.html", visitor, job=laid.job, kinds=kinds_of(services))


def kinds_of(services: Services) -> list[tuple[str, str]]:
    """Key and title of what may be logged by a form here."""
    return [
        (kind.key, kind.title)
        for kind in entries.kinds()
        if (services.may("plan") or kind.key not in NOT_OF_CREW) and kind.key not in NOT_HERE
    ]


async def form(request: Request, site: Site, visitor: Visitor) -> Response:
    """The form of a kind, with what is usual filled in."""
    offer = await _offer(request, site, visitor)
    begun = today.begun(request.query_params.get("due", ""))
    return _shown(site, visitor, offer, {**offer.values, **begun, "by": visitor.name})


async def _offer(request: Request, site: Site, visitor: Visitor) -> Offer:
    """Raises HTTPException for what is not this visitor's to log."""
    services = site.services_of(visitor)
    handle, kind = request.path_params["handle"], request.path_params["kind"]
    if kind in NOT_OF_CREW and not services.may("plan"):
        raise HTTPException(403, "That is for the owner or the office to log.")
    return await site.ask(offers.offer, services, handle, kind, request.query_params.get("area"))


async def kept(request: Request, site: Site, visitor: Visitor) -> Response:
    """Keep what was typed; what is wrong is said at its field, what is odd is asked once."""
    offer = await _offer(request, site, visitor)
    texts = texts_of(await request.form())
    uid, because = texts.pop("uid", ""), texts.pop("because", "").strip() or None
    services = site.services_of(visitor)
    allowed(services, texts)
    try:
        done = await site.ask(record.record, services, offer.job, offer.kind, texts, because=because, uid=uid)
    except Doubt as doubt:
        return _shown(site, visitor, offer, texts, uid=uid, status=422, doubts=doubt.doubts)
    except InputError as wrong:
        return _shown(site, visitor, offer, texts, uid=uid, status=422, wrongs=wrongs_of(wrong))
    return RedirectResponse(f"/job/{done.job}?entry={done.entry.number}", 303)


def allowed(services: Services, texts: Mapping[str, str]) -> None:
    """Raises HTTPException for a price told by who sees none."""
    if not services.may("prices") and any(texts.get(key) for key in PRICED_FACTS):
        raise HTTPException(403, "Prices are for the owner or the office to log.")


def _shown(
    site: Site, visitor: Visitor, offer: Offer, texts: Mapping[str, str], *, uid: str = "", status: int = 200,
    doubts: Sequence[str] = (), wrongs: Mapping[str, str] | None = None,
) -> Response:  # fmt: skip
    first, later = _asked(offer, texts, wrongs or {}, site.services_of(visitor).may("prices"))
    return site.page(
        "entry.html", visitor, status=status, offer=offer, first=first, later=later, uid=uid or uuid4().hex,
        doubts=doubts, because=texts.get("because", ""), wrong=_elsewhere(wrongs or {}, [*first, *later]),
    )  # fmt: skip


def _elsewhere(wrongs: Mapping[str, str], asked: Sequence[Asked]) -> list[str]:
    """What is wrong with no field of the form."""
    keys = {one.field.key for one in asked}
    return [said for key, said in wrongs.items() if key not in keys]


def _asked(
    offer: Offer, texts: Mapping[str, str], wrongs: Mapping[str, str], prices: bool
) -> tuple[list[Asked], list[Asked]]:
    """What is asked at once, and what only some will tell."""
    first: list[Asked] = []
    later: list[Asked] = []
    for field in offer.fields:
        if not prices and field.key in PRICED_FACTS:
            continue
        one = _one(offer, field, texts.get(field.key, ""), wrongs.get(field.key, ""))
        is_first = (
            one.value or one.wrong or field.required or field.key in (*FIRST, *offer.asks, *offer.planned)
        )
        (first if is_first else later).append(one)
    return first, later


def _one(offer: Offer, field: Field, value: str, wrong: str) -> Asked:
    planned = offer.planned.get(field.key)
    hint = f"planned {planned.said}" if planned else "now" if field.key == "at" else hints.hint(field)
    if hint == hints.DOWN:  # a phone shows them by itself
        hint = ""
    choices = offer.choices.get(field.key, field.choices)
    if planned and planned.take:
        choices = (planned.take, *(one for one in choices if one != planned.take))
    return Asked(field, value, hint, choices, wrong)


def wrongs_of(wrong: InputError) -> dict[str, str]:
    """What is wrong by field; under "" what is of none."""
    each = getattr(wrong, "wrongs", ())
    if each:
        return {
            one.key: f"{one.what} {f'Like {one.example}.' if one.example else ''}".strip() for one in each
        }
    return {wrong.where: wrong.at("").line()}


ROUTES = (
    Route("/job/{handle}/log", signed_in(kinds), methods=["GET"]),
    Route("/job/{handle}/log/{kind}", signed_in(form), methods=["GET"]),
    Route("/job/{handle}/log/{kind}", signed_in(kept), methods=["POST"]),
)
