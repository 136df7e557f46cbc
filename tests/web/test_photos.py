"""Photos by a form without script: several at once, kept byte for byte, judged by their bytes."""

from __future__ import annotations

import io
import re
from datetime import datetime

import pytest
from PIL import Image

from finishlog.web.pages.photos import name_of
from tests.web.conftest import Phone, Served

JOB = "larkspur-breakfast-patio"
PAGE = f"/job/{JOB}/photos"


def photo(shade: int, taken: str = "2026-06-16 07:10:00") -> bytes:
    """A JPEG as a phone makes it, with the time it was taken and the offset."""
    image, out = Image.new("RGB", (64, 48), (shade, shade, shade)), io.BytesIO()
    exif = image.getexif()
    tags = exif.get_ifd(0x8769)
    tags[0x9003], tags[0x9011] = taken.replace("-", ":"), "-05:00"
    image.save(out, "jpeg", exif=exif)
    return out.getvalue()


def send(phone: Phone, *files: tuple[str, bytes], **texts: str) -> str:
    phone.get(PAGE)
    phone.last = phone.client.post(
        PAGE, data={**phone.hidden(), **texts}, headers=phone.heads,
        files=[("file", (name, data, "image/jpeg")) for name, data in files],
    )  # fmt: skip
    return str(phone.last.text)


def test_three_photos_come_in_with_their_day(served: Served, crew: Phone) -> None:
    photos = [photo(shade) for shade in (60, 90, 120)]
    before = served.kinds(JOB).count("photo")
    text = send(crew, *((f"shot {n}.jpg", data) for n, data in enumerate(photos)), light="sun", by="Bo")
    assert crew.status == 200
    assert "3 photos kept." in text
    with served.services.log().reading() as log:
        kept = [entry for entry in log.job(JOB).entries if entry.kind == "photo"][before:]
    assert [served.services.log().file_path(entry.files[0].sha256).read_bytes() for entry in kept] == photos
    assert {entry.happened for entry in kept} == {datetime.fromisoformat("2026-06-16T07:10-05:00")}
    assert {entry.facts["light"] for entry in kept} == {"sun"}
    small = crew.client.get(f"/photo/{kept[0].files[0].sha256}")
    assert small.headers["content-type"] == "image/jpeg"


def test_the_same_photo_twice_is_there_once(served: Served, crew: Phone) -> None:
    send(crew, ("one.jpg", photo(70)))
    kinds = served.kinds(JOB)
    assert "already there" in send(crew, ("another name.jpg", photo(70)))
    assert served.kinds(JOB) == kinds


@pytest.mark.parametrize(
    "data", [b"", b"#!/bin/sh\n", b"\xff\xd8\xff" + b"\0" * 100, b"<svg onload=alert(1)>"]
)
def test_what_is_no_photo_is_left_out_with_its_reason(served: Served, crew: Phone, data: bytes) -> None:
    before = served.kinds(JOB)
    text = send(crew, ("shot.jpg", data))
    assert crew.status == 422
    assert "shot.jpg" in text
    assert served.kinds(JOB) == before


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("../../etc/passwd", "passwd"),
        ("C:\\a\\b.jpg", "b.jpg"),
        ("/", "photo"),
        ("", "photo"),
        ("a" * 300, "a" * 100),
    ],
)
def test_a_name_is_never_a_path(said: str, name: str) -> None:
    assert name_of(said) == name


@pytest.mark.parametrize(
    "path", ["/photo/../../x", "/photo/" + "0" * 63, "/photo/" + "0" * 64, "/photo/%2e%2e%2fx"]
)
def test_only_photos_of_the_log_are_shown(crew: Phone, path: str) -> None:
    assert crew.client.get(path).status_code in (404, 503)


def test_the_camera_opens_straight_and_several_can_be_chosen(served: Served, crew: Phone) -> None:
    page = crew.get(PAGE)
    inputs = [
        dict(re.findall(r'([\w-]+)(?:="([^"]*)")?', one)) for one in re.findall(r"<input ([^>]*)>", page)
    ]
    files = [one for one in inputs if one.get("type") == "file"]
    assert [one["name"] for one in files] == ["file", "file"]
    assert [(one.get("capture"), "multiple" in one) for one in files] == [
        ("environment", False),
        (None, True),
    ]
    assert not [one for one in files if "required" in one]  # one of them is enough
    before = served.kinds(JOB).count("photo")
    for shots in ([photo(61), b""], [b"", photo(62), photo(63)], [photo(64), photo(65)]):
        send(crew, *((f"{len(data)}.jpg" if data else "", data) for data in shots))
        assert crew.status == 200, crew.last.text
    assert served.kinds(JOB).count("photo") == before + 5


def test_without_a_photo_it_is_said(served: Served, crew: Phone) -> None:
    before = served.kinds(JOB)
    assert "Choose a photo first." in send(crew, ("", b""), ("", b""))
    assert crew.status == 422
    assert served.kinds(JOB) == before
