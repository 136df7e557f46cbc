"""Photos straight from the camera: kept byte for byte, their day matched by the camera's own clock."""

from __future__ import annotations

import re
import shutil
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from finishlog.desk.jobs import page as job_page
from finishlog.desk.photo import photos
from finishlog.desk.photo import small as smalls
from finishlog.desk.photo.files import Named
from finishlog.desk.photo.photos import PhotoFacts
from finishlog.errors import InputError
from finishlog.inputs import photos as pictures
from finishlog.plain import visible
from finishlog.web.gate.people import Visitor
from finishlog.web.pages.entry import wrongs_of
from finishlog.web.site import Site, signed_in, texts_of

ONE_MOST = 40 * 2**20
"""Bytes of a photo: four times what a phone makes today."""
ALL_MOST = 200 * 2**20
"""Bytes of a form with photos."""
FACTS = ("area", "damp", "sealed", "light", "taken", "by", "note")
LARGE_SIDE = 1600
_SHA = re.compile(r"[0-9a-f]{64}")


async def page(request: Request, site: Site, visitor: Visitor) -> Response:
    """A job's photos, and the camera."""
    texts = {"by": visitor.name, "area": request.query_params.get("area", "")}
    return await _shown(site, visitor, request.path_params["handle"], texts)


async def _shown(
    site: Site, visitor: Visitor, handle: str, texts: dict[str, str], *, status: int = 200, said: str = "",
    asked: Sequence[tuple[str, str]] = (), wrongs: dict[str, str] | None = None,
) -> Response:  # fmt: skip
    services = site.services_of(visitor)
    laid = await site.ask(job_page.lay_open, services, handle)
    kept = await site.ask(photos.of_job, services, laid.job.handle)
    return site.page(
        "photos.html", visitor, status=status, job=laid.job, photos=kept[::-1], texts=texts, said=said,
        asked=asked, wrongs=wrongs or {}, areas=[area.name for area in laid.job.areas], most=ONE_MOST,
    )  # fmt: skip


async def added(request: Request, site: Site, visitor: Visitor) -> Response:
    """Keep photos of a form without script."""
    form, handle = await request.form(max_files=50), request.path_params["handle"]
    texts = texts_of(form)
    uploads = [one for one in form.getlist("file") if isinstance(one, UploadFile) and one.filename]
    because = texts.pop("because", "").strip() or None
    facts = PhotoFacts(**{name: texts.get(name, "") for name in FACTS})
    if not uploads:
        return await _shown(
            site, visitor, handle, texts, status=422, wrongs={"file": "Choose a photo first."}
        )
    try:
        with held() as folder:
            named = [
                await run_in_threadpool(_written, folder, number, one) for number, one in enumerate(uploads)
            ]
            done = await site.ask(
                photos.add, site.services_of(visitor), handle, named, facts, because=because, lookers=1
            )
    except InputError as wrong:
        return await _shown(site, visitor, handle, texts, status=422, wrongs=wrongs_of(wrong))
    asked = [(one.name, " ".join(one.doubts)) for one in done.asked]
    asked += [(one.name, one.why) for one in done.left_out]
    return await _shown(
        site, visitor, handle, texts, status=422 if asked else 200, said=done.sentence, asked=asked
    )


@contextmanager
def held() -> Iterator[Path]:
    """A private folder for what came in, until it is in the log."""
    folder = Path(tempfile.mkdtemp(prefix="finishlog-"))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _written(folder: Path, number: int, upload: UploadFile) -> Named:
    """The upload in a file of our own naming; its name is only what the photo is kept under."""
    path = folder / str(number)
    with path.open("wb") as out:
        shutil.copyfileobj(upload.file, out)
    return Named(path, name_of(upload.filename or ""))


def name_of(said: str) -> str:
    """What a phone calls a photo, without folders and whatever is not for the eye."""
    name = visible(said.replace("\\", "/").rpartition("/")[2]).strip()
    return name[-100:] or "photo"


async def small(request: Request, site: Site, visitor: Visitor) -> Response:
    """A photo of the log, small."""
    sha256, size = request.path_params["sha256"], request.query_params.get("size", "")
    if not _SHA.fullmatch(sha256):
        raise HTTPException(404, "There is no such photo.")
    services = site.services_of(visitor)
    side = LARGE_SIDE if size == "large" else pictures.SIDE
    path = await site.ask(smalls.thumbnail, services, sha256, side)
    return FileResponse(path, media_type="image/jpeg", headers={"cache-control": "private, max-age=86400"})


ROUTES = (
    Route("/job/{handle}/photos", signed_in(page), methods=["GET"]),
    Route("/job/{handle}/photos", signed_in(added), methods=["POST"]),
    Route("/photo/{sha256}", signed_in(small), methods=["GET"]),
)
