"""What the pages are measured against: a Starlette route that fills in the page of Today from memory."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from types import SimpleNamespace

import uvicorn
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse
from starlette.routing import Route

import finishlog.web
from finishlog.web import nav
from finishlog.web.pages import keeping

LINES = int(os.environ.get("FLOOR_LINES", "140"))
_PAGES = Environment(
    loader=FileSystemLoader(Path(finishlog.web.__file__).parent / "templates"), autoescape=True,
    undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, auto_reload=False,
)  # fmt: skip
_PAGES.globals["links"] = nav.links
_LINE = SimpleNamespace(
    state="open", kind="sweep", job="larkspur-breakfast-patio", area="field", where="", title="Sweep",
    said="until Fri 10:20a", who="Cornelius Larkspur-Mudge · breakfast patio", before="", what="sweep",
    caution="Keep it dry, bag it, keep it off the neighbors.",
)  # fmt: skip


async def page(request: Request) -> HTMLResponse:
    """As many lines as the log's own page."""
    visitor = SimpleNamespace(name="Bo", role="crew")
    shown = _PAGES.get_template("today.html").render(
        visitor=visitor,
        csrf="",
        sentence="4 open",
        groups=[("Open", [_LINE] * LINES, 7)],
        link=keeping.link,
    )
    return HTMLResponse(shown)


if __name__ == "__main__":
    uvicorn.run(
        Starlette(routes=[Route("/", page)]),
        port=int(sys.argv[1]),
        http="h11",
        loop="asyncio",
        log_level="error",
        timeout_keep_alive=75,
    )
