"""The rinse helper: what the three dried spots tell, and how more or less would look."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from finishlog.desk.jobs import page as job_page
from finishlog.errors import InputError, naming
from finishlog.inputs.rinse import read_share
from finishlog.web.gate.people import Visitor
from finishlog.web.pages.entry import wrongs_of
from finishlog.web.site import Site, signed_in

if TYPE_CHECKING:
    from finishlog.desk.rinse.rinse import RinseAnswer
    from finishlog.desk.services import Services

LONGEST = 200
TO_DO = (
    "Dry three hand-sized spots with a towel and a cool blower, and give them hours: one in the field, and on the kept "
    "sample or a hidden edge one fully rinsed and one unrinsed.",
    "Get all three and the color card in one picture, in even light, and have it read at the desk.",
    "Type their colors here as L,a,b.",
)


@dataclass(frozen=True, slots=True)
class Rung:
    """A line of the ladder: how much is left, in words, and the color of the field now and later, as sRGB hex."""

    left: str
    name: str
    marks: str
    now: str
    then: str


async def page(request: Request, site: Site, visitor: Visitor) -> Response:
    """Asks nothing of the log but what it knows; changes nothing."""
    texts = {name: text[:LONGEST] for name, text in request.query_params.items()}
    services, wrongs = site.services_of(visitor), {}
    job = (await site.ask(job_page.lay_open, services, request.path_params["handle"])).job
    try:
        found = await site.ask(_answer, services, job.handle, texts)
    except InputError as wrong:
        wrongs = wrongs_of(wrong)
        found = await site.ask(_answer, services, job.handle, {})
    rungs, facts = await site.ask(_shown, found)
    return site.page(
        "rinse.html", visitor, status=422 if wrongs else 200, job=job, found=found, texts=texts, wrongs=wrongs,
        rungs=rungs, facts=facts, to_do=TO_DO, measured=bool(texts.get("field")) and not wrongs,
    )  # fmt: skip


def _answer(services: Services, handle: str, texts: dict[str, str]) -> RinseAnswer:
    from finishlog.desk.rinse import rinse

    with naming("target"):
        target = read_share(texts["target"]) if texts.get("target", "").strip() else None
    return rinse.answer(
        services, handle, rinse.of_texts(texts), area=texts.get("area") or None, target=target
    )


def _shown(found: RinseAnswer) -> tuple[list[Rung], list[tuple[str, str]]]:
    from finishlog.color.notation.space import lab_to_hex
    from finishlog.desk.rinse import words

    names = words.names([rung.left for rung in found.ladder])
    rungs = [
        Rung(
            f"{rung.left * 100:.0f} %",
            name,
            ", ".join(rung.marks),
            lab_to_hex(rung.now) if rung.now else "",
            lab_to_hex(rung.settled.field.lab) if rung.settled else "",
        )
        for rung, name in zip(found.ladder, names, strict=True)
    ]
    return rungs, words.facts(found)


ROUTES = (Route("/job/{handle}/rinse", signed_in(page), methods=["GET"]),)
