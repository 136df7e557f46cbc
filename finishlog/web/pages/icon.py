"""The sign of the page on a phone's home screen: one drawing, as SVG and as PNG in the sizes that phones ask for."""

from __future__ import annotations

import io
from functools import cache

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

SIDE = 64
"""The drawing's own units."""
CORNER = 10
GROUND, STONE, MARK = "#1b1b1b", "#b79f7c", "#6f5a41"
_STONES = ((10, 12, 20, 18), (34, 12, 20, 26), (10, 34, 20, 18), (34, 42, 20, 10))
_MARKS = ((14, 16, 6, 4), (38, 30, 10, 4), (20, 44, 6, 4))
SHAPES = (*((STONE, one) for one in _STONES), *((MARK, one) for one in _MARKS))
"""Stamped stones, each with where the release stayed: color; left, top, width, height."""
PNGS = {
    "icon-192": (192, False, 1.0),
    "icon-512": (512, False, 1.0),
    "icon-maskable-512": (512, True, 0.8),
    "icon-touch-180": (180, True, 0.9),
}
"""Side in pixels, whether the ground fills the whole square (a phone cuts its own shape out of it), and the share of
it that the drawing takes: of a square to be cut, the middle four fifths are sure to be seen."""


@cache
def svg() -> bytes:
    """The drawing."""
    parts = "".join(f'<path fill="{color}" d="M{x} {y}h{w}v{h}h-{w}z"/>' for color, (x, y, w, h) in SHAPES)
    ground = f'<rect width="{SIDE}" height="{SIDE}" rx="{CORNER}" fill="{GROUND}"/>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {SIDE} {SIDE}">{ground}{parts}</svg>'.encode()
    )


@cache
def png(name: str) -> bytes:
    """The drawing in pixels, drawn larger first so that its edges are smooth."""
    from PIL import Image, ImageDraw

    side, fills, share = PNGS[name]
    finer = side * 4
    unit = finer / SIDE
    image = Image.new("RGB" if fills else "RGBA", (finer, finer), GROUND if fills else None)
    draw = ImageDraw.Draw(image)
    if not fills:
        draw.rounded_rectangle((0, 0, finer - 1, finer - 1), CORNER * unit, fill=GROUND)
    for color, (x, y, w, h) in SHAPES:
        left, top = (SIDE / 2 + (at - SIDE / 2) * share for at in (x, y))
        box = (left, top, left + w * share, top + h * share)
        draw.rectangle([round(at * unit) - (n > 1) for n, at in enumerate(box)], fill=color)
    out = io.BytesIO()
    image.reduce(4).save(out, "png", optimize=True)
    return out.getvalue()


async def as_svg(request: Request) -> Response:
    """For browsers that draw."""
    return Response(svg(), media_type="image/svg+xml")


async def as_png(request: Request) -> Response:
    """For home screens."""
    return Response(png(request.url.path.rpartition("/")[2].removesuffix(".png")), media_type="image/png")


ROUTES = (
    Route("/static/icon.svg", as_svg, methods=["GET"]),
    *(Route(f"/static/{name}.png", as_png, methods=["GET"]) for name in PNGS),
)
