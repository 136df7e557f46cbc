"""What waited on a phone without signal, sent by its script: each kept once, and told in JSON what came of it.

401: nobody came in. 403: the token is too old. 409: somebody else typed it. 413: too large. 422: to mend, or odd.
503: the log cannot be used now.
"""

from __future__ import annotations

import json
import re
from collections.abc import Awaitable, Callable
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.photo import photos as photo_desk
from finishlog.desk.photo.files import Named
from finishlog.desk.photo.photos import PhotoFacts
from finishlog.desk.record import job_now, record
from finishlog.errors import FinishlogError, InputError
from finishlog.roles import NOT_OF_CREW
from finishlog.web.gate.guard import TooLarge
from finishlog.web.gate.people import Visitor
from finishlog.web.pages import keeping
from finishlog.web.pages.entry import NOT_HERE, allowed, wrongs_of
from finishlog.web.pages.photos import FACTS, held, name_of
from finishlog.web.phone_clock import PhoneClock, stamp, typed
from finishlog.web.site import Page, Site, renewed, signed_in, site_of, source_of

if TYPE_CHECKING:
    from finishlog.desk.services import Services

SENT_PHOTO = "/sent/photo/"
LONGEST = 20_000
"""Characters of an entry's texts together."""
_UID = re.compile(r"[0-9a-f]{32}")
_STATIC = Path(__file__).parent.parent / "static"


def told(page: Page) -> Callable[[Request], Awaitable[Response]]:
    """A page for the script: whatever is wrong is told as JSON with a `said`."""

    @wraps(page)
    async def asked(request: Request) -> Response:
        site = site_of(request)
        try:
            visitor = await site.visitor(request)
            if visitor is None:
                return JSONResponse({"said": "Come in again."}, 401)
            if request.method == "POST" and not site.is_ours(
                request.headers.get("x-csrf", ""), visitor.session
            ):
                site.visits.note("a form that is not ours", source_of(request), visitor.name)
                return JSONResponse({"said": "The token is too old, or not ours."}, 403)
            return renewed(request, await page(request, site, visitor))
        except Doubt as doubt:
            return JSONResponse({"said": doubt.title, "doubts": doubt.doubts}, 422)
        except InputError as wrong:
            return JSONResponse({"said": wrong.line(), "wrongs": wrongs_of(wrong)}, 422)
        except FinishlogError as failure:
            return JSONResponse({"said": failure.line()}, 503)
        except TooLarge:
            return JSONResponse({"said": "That is too large."}, 413)

    return asked


async def token(request: Request, site: Site, visitor: Visitor) -> Response:
    """What a form has to bring back, who came in with this phone, and what time it is here."""
    return JSONResponse(
        {
            "csrf": site.token(visitor.session),
            "who": visitor.name,
            "now": site.services.clock().timestamp(),
        }
    )


async def sent(request: Request, site: Site, visitor: Visitor) -> Response:
    """Keep an entry that was typed on a phone."""
    given = _read(await request.body())
    if theirs := _theirs(str(given.get("who", "")), visitor):
        return theirs
    services, kind, uid = site.services_of(visitor), str(given.get("kind", "")), _uid(given.get("uid"))
    texts = _texts(given.get("texts"))
    if kind in NOT_HERE or (kind in NOT_OF_CREW and not services.may("plan")):
        raise InputError("That is not to be logged from here.")
    because = texts.pop("because", "").strip() or None
    try:
        allowed(services, texts)
    except HTTPException as refused:
        raise InputError(refused.detail) from None
    phone, job = PhoneClock.told(given.get("off_s")), str(given.get("job", ""))
    by_itself = given.get("now") is True
    if not by_itself:
        texts = await site.ask(_as_meant, services, job, texts, phone, str(given.get("typed", "")))
    stamped = stamp(texts, phone, services.clock(), by_itself=by_itself)
    done = await site.ask(record.record, services, job, kind, stamped.texts, because=because, uid=uid)
    return _kept(done.job, done.entry.number, done.sentence, done.was_there, stamped.said, done.warnings)


async def sent_photo(request: Request, site: Site, visitor: Visitor) -> Response:
    """Keep a photo that waited on a phone: the body is the file, the rest stands in the query."""
    given = request.query_params
    if theirs := _theirs(given.get("who", ""), visitor):
        return theirs
    services, uid, name = site.services_of(visitor), _uid(request.path_params["uid"]), given.get("name", "")
    there = await site.ask(record.kept_before, services, uid)
    if there is not None:
        return _kept(there.job, there.entry.number, there.sentence, True, "")
    phone, texts = PhoneClock.told(given.get("off_s")), {key: given.get(key, "") for key in FACTS}
    texts = await site.ask(_as_meant, services, given.get("job", ""), texts, phone, given.get("typed", ""))
    stamped = stamp(texts, phone, services.clock(), by_itself=False)
    facts = PhotoFacts(**stamped.texts)
    with held() as folder:
        file = Named(folder / "0", name_of(name))
        await _written(request, file.path)
        done = await site.ask(
            photo_desk.add, services, given.get("job", ""), [file], facts,
            because=given.get("because", "").strip() or None, lookers=1, uid=uid, ahead=phone.ahead,
        )  # fmt: skip
    if done.asked:
        return JSONResponse({"said": " ".join(done.asked[0].doubts), "doubts": done.asked[0].doubts,
                             "needs_time": done.asked[0].needs_time}, 422)  # fmt: skip
    if done.left_out:
        return JSONResponse({"said": done.left_out[0].why, "wrongs": {"": done.left_out[0].why}}, 422)
    if done.doubles:
        number = done.doubles[0].entry
        return _kept(done.job, number, f"Entry {number}: this photo was there already.", True, stamped.said)
    line = done.kept[0]
    sentence = f"Entry {line.entry}: photo. {line.taken}."
    return _kept(done.job, line.entry, sentence, False, stamped.said, line.notes)


def _as_meant(
    services: Services, job: str, texts: dict[str, str], phone: PhoneClock, said: str
) -> dict[str, str]:
    """The texts with their times as they were meant when they were typed, which may be a day ago."""
    since = typed(said, phone, services.clock())
    told = [key for key in ("at", "taken") if texts.get(key, "").strip()]
    if since is None or not told:
        return texts
    with services.log().reading() as log:
        zone = job_now.stand(log, services, job).zone
    return {**texts, **{key: job_now.as_meant(texts[key], since, zone) for key in told}}


async def _written(request: Request, path: Path) -> None:
    """The body on disk, piece by piece: several large ones at once take no memory."""
    with path.open("wb") as out:
        async for piece in request.stream():
            await run_in_threadpool(out.write, piece)


def _kept(
    job: str, number: int, sentence: str, was_there: bool, clock: str, warnings: tuple[str, ...] = ()
) -> Response:
    """Said only of what is on disk."""
    return JSONResponse({
        "kept": True, "job": job, "number": number, "sentence": sentence, "was_there": was_there,
        "clock": clock, "warnings": warnings,
    })  # fmt: skip


def _theirs(who: str, visitor: Visitor) -> Response | None:
    """What another person typed on this phone waits for that person."""
    if who == visitor.name:
        return None
    return JSONResponse({"said": f"Somebody else typed this; {visitor.name} came in."}, 409)


def _read(body: bytes) -> dict[str, Any]:
    try:
        given = json.loads(body)
    except (ValueError, RecursionError):
        given = None
    if not isinstance(given, dict):
        raise InputError("That is no entry.")
    return given


def _texts(given: object) -> dict[str, str]:
    if not isinstance(given, dict) or not all(isinstance(text, str) for text in given.values()):
        raise InputError("An entry's texts are texts.", where="texts")
    if sum(len(text) for text in given.values()) > LONGEST:
        raise InputError("That is too long for an entry.")
    return {str(key): text for key, text in given.items() if key not in ("csrf", "uid")}


def _uid(given: object) -> str:
    """Raises InputError for what is no identity: without one an entry sent twice would be kept twice."""
    if not isinstance(given, str) or not _UID.fullmatch(given):
        raise InputError("That is not an entry's identity.", where="uid", example="32 hexadecimal digits")
    return given


async def waiting(request: Request, site: Site, visitor: Visitor) -> Response:
    """What waits on this phone and what the log has; the script fills it in."""
    return site.page("waiting.html", visitor)


async def keep(request: Request, site: Site, visitor: Visitor) -> Response:
    """The pages that a phone keeps for where there is no signal."""
    pages = await site.ask(keeping.pages, site.services_of(visitor))
    return JSONResponse({"pages": pages})


async def worker(request: Request) -> Response:
    """The service worker: it stands at the root, as it may only keep what lies below it."""
    return FileResponse(_STATIC / "worker.js", media_type="text/javascript")


ROUTES = (
    Route("/token", told(token), methods=["GET"]),
    Route("/sent", told(sent), methods=["POST"]),
    Route(SENT_PHOTO + "{uid}", told(sent_photo), methods=["POST"]),
    Route("/keep.json", told(keep), methods=["GET"]),
    Route("/waiting", signed_in(waiting), methods=["GET"]),
    Route("/worker.js", worker, methods=["GET"]),
)
