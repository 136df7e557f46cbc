"""The sign on a phone's home screen: all that the manifest names is there, and it stands any shape cut out of it."""

from __future__ import annotations

import io
import re

import pytest
from PIL import Image, ImageColor

from finishlog.web.pages import icon
from tests.web.conftest import Phone, Served

GROUND = ImageColor.getrgb(icon.GROUND)


def shown(phone: Phone, path: str) -> Image.Image:
    answer = phone.client.get(path)
    assert (answer.status_code, answer.headers["content-type"]) == (200, "image/png")
    assert len(answer.content) < 8_000
    return Image.open(io.BytesIO(answer.content))


def test_all_that_the_manifest_names_is_there(served: Served) -> None:
    phone = served.phone()
    icons = phone.client.get("/static/manifest.webmanifest").json()["icons"]
    pngs = [one for one in icons if one["type"] == "image/png"]
    assert [(one["sizes"], one["purpose"]) for one in pngs] == [
        ("192x192", "any"), ("512x512", "any"), ("512x512", "maskable"),
    ]  # fmt: skip
    for one in pngs:
        assert "{}x{}".format(*shown(phone, one["src"]).size) == one["sizes"]
    drawn = phone.client.get(next(one["src"] for one in icons if one not in pngs))
    assert drawn.headers["content-type"] == "image/svg+xml"
    assert drawn.text.count("<path") == len(icon.SHAPES)


def test_a_square_to_be_cut_is_whole_and_its_drawing_stays_within_the_cut(served: Served) -> None:
    image = shown(served.phone(), "/static/icon-maskable-512.png")
    assert image.mode == "RGB"
    half = image.width / 2
    far = [
        ((x - half) ** 2 + (y - half) ** 2) ** 0.5
        for x in range(0, image.width, 4)
        for y in range(0, image.height, 4)
        if image.getpixel((x, y)) != GROUND
    ]
    assert 0.3 < max(far) / image.width <= 0.4


@pytest.mark.parametrize("path", ["/in", "/"])
def test_a_phone_that_asks_for_its_own_size_finds_it(served: Served, crew: Phone, path: str) -> None:
    page = (served.phone() if path == "/in" else crew).get(path)
    (link,) = re.findall(r'rel="apple-touch-icon" href="([^"]+)"', page)
    image = shown(crew, link)
    assert (image.size, image.mode) == ((180, 180), "RGB")


def test_both_drawings_are_one(served: Served) -> None:
    image = shown(served.phone(), "/static/icon-512.png").convert("RGBA")
    assert image.getpixel((0, 0))[3] == 0
    assert image.getpixel((256, 4)) == (*GROUND, 255)
    for color, (x, y, _, _) in icon.SHAPES:
        assert image.getpixel((x * 8 + 4, y * 8 + 4)) == (*ImageColor.getrgb(color), 255)
