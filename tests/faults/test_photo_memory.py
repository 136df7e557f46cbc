"""No picture takes the command over 300 MB: what would is refused by its header, with the limit said."""

from __future__ import annotations

import os
import re
import struct
import subprocess
import sys
import tracemalloc
from io import BytesIO
from pathlib import Path
from threading import Event, Thread

import numpy as np
import pytest
from PIL import Image, ImageOps

from finishlog.errors import InputError
from finishlog.inputs import photos as pictures
from finishlog.inputs import unpacking
from tests.desk.photo_making import exif, picture, plain, plain_png, scene

MOST_MB = 300


WEBP = picture("WEBP")
WIDE_WEBP = WEBP[:26] + struct.pack("<HH", 4400, 3200) + WEBP[30:]
"""Its size stands in its frame's header (RFC 6386, section 9.1)."""
HUGE = {
    "RGBA.png": lambda: plain_png(12_000, 10_000),
    "16 bit.png": lambda: plain_png(12_000, 10_000, 2, 16),
    "lzw.tif": lambda: plain("TIFF", 12_000, 10_000, compression="tiff_lzw"),
    "progressive.jpg": lambda: plain("JPEG", 12_000, 9_000, progressive=True),
    "inks.jpg": lambda: plain("JPEG", 9_000, 9_000, "CMYK", progressive=True),
    "web.webp": lambda: plain("WEBP", 6_000, 5_000),
}
LARGE = {
    "gray.png": lambda: plain_png(12_000, 10_000, 0),
    "two tones.png": lambda: plain_png(12_000, 10_000, 0, 1),
    "palette.png": lambda: plain_png(12_000, 10_000, 3),
    "RGBA.png": lambda: plain_png(8_000, 5_500),
    "16 bit.png": lambda: plain_png(8_000, 5_500, 2, 16),
    "16 bit gray.png": lambda: plain_png(10_000, 8_000, 0, 16),
    "lzw.tif": lambda: plain("TIFF", 8_000, 5_500, compression="tiff_lzw"),
    "one strip.tif": lambda: plain("TIFF", 5_000, 4_500, compression="tiff_deflate", tiffinfo={278: 4_500}),
    "plain.jpg": lambda: plain("JPEG", 12_000, 9_000),
    "long.jpg": lambda: plain("JPEG", 40_000, 1_000),
    "progressive.jpg": lambda: plain("JPEG", 8_160, 6_120, progressive=True),
    "inks.jpg": lambda: plain("JPEG", 12_000, 9_000, "CMYK"),
    "web.webp": lambda: plain("WEBP", 4_000, 3_000),
}


@pytest.mark.parametrize(
    ("image", "said"),
    [
        (plain_png(12_000, 10_000, rows=1), "PNG"),
        (WIDE_WEBP, "WebP"),
    ],
    ids=["PNG", "WebP"],
)
def test_a_picture_that_takes_too_much_is_refused_by_its_header(image: bytes, said: str) -> None:
    tracemalloc.start()
    with pytest.raises(InputError) as refused:
        pictures.look(image)
    assert re.search(
        rf"As {said} its .* pixels take \d+ MB to open, 190 MB is the limit", refused.value.cause
    )
    assert tracemalloc.get_traced_memory()[1] < 20e6
    tracemalloc.stop()


def several_scans(data: bytes) -> bool:
    with Image.open(BytesIO(data)) as image:
        return unpacking._coefficients(image, data) > 0


def test_only_a_jpeg_in_several_scans_is_held_whole() -> None:
    plain_one = picture(image=scene(640, 480))
    assert not several_scans(plain_one)
    assert several_scans(picture(image=scene(640, 480), progressive=True))
    frame = plain_one.index(b"\xff\xda")
    one_layer = plain_one[: frame + 4] + b"\x01" + plain_one[frame + 5 :]
    assert several_scans(one_layer)


def test_layers_that_are_halved_take_a_quarter() -> None:
    """4:2:0: one and a half values a pixel, two bytes each; 4:4:4: three."""
    for sampling, each in ((2, 3), (0, 6)):
        data = picture(image=scene(640, 480), progressive=True, subsampling=sampling)
        with Image.open(BytesIO(data)) as image:
            assert unpacking._coefficients(image, data) == 640 * 480 * each


@pytest.mark.parametrize("orientation", range(1, 9))
def test_strips_are_turned_as_the_camera_was(orientation: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(unpacking, "STRIP_PIXELS", 700)
    data = picture("PNG", scene(90, 60), exif=exif(orientation=orientation))
    with Image.open(BytesIO(data)) as image:
        expected = np.asarray(ImageOps.exif_transpose(image).convert("RGB"))
    assert np.array_equal(pictures.pixels(data), expected)


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "LA", "P", "L", "1", "I;16", "CMYK"])
def test_a_small_picture_made_of_strips_is_the_same(mode: str, monkeypatch: pytest.MonkeyPatch) -> None:
    form = "TIFF" if mode == "CMYK" else "PNG"
    data = picture(form, scene(1500, 1100, mode))
    whole = pictures.make_small(data, 128)
    monkeypatch.setattr(unpacking, "STRIP_PIXELS", 20_000)
    in_strips = pictures.make_small(data, 128)
    one, other = (np.asarray(Image.open(BytesIO(each)).convert("RGB"), int) for each in (whole, in_strips))
    assert one.shape == other.shape == (94, 128, 3)
    assert abs(one - other).max() <= 8
    if mode != "1":  # what is averaged, not picked, is the scene again
        with Image.open(BytesIO(data)) as image:
            scaled = pictures._rgb(pictures._simple(image)).resize((128, 94), Image.Resampling.BOX)
        assert abs(one - np.asarray(scaled, int)).mean() < 3


def test_pictures_at_once_share_one_room() -> None:
    inside, go, second = Event(), Event(), Event()

    def first() -> None:
        with unpacking.room(unpacking.ROOM - 10):
            inside.set()
            go.wait(10)

    def then() -> None:
        with unpacking.room(20):
            second.set()

    threads = [Thread(target=first), Thread(target=then)]
    threads[0].start()
    assert inside.wait(10)
    with unpacking.room(10):  # as much as there is left
        threads[1].start()
        assert not second.wait(0.05)
    go.set()
    assert second.wait(10)
    for thread in threads:
        thread.join(10)


_CHILD = """
import resource, subprocess, sys
told = [sys.executable, "-m", "finishlog", *sys.argv[1:]]
ran = subprocess.run(told, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
sys.stdout.buffer.write(ran.stdout)
print(f"\\n{ran.returncode} {resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss}")
"""
"""A child begins with the memory of whoever starts it: a small program in between does."""


def measured(argv: list[str]) -> tuple[int, float, str]:
    """Exit status, the most memory it ever had in MB, and what it said."""
    environment = {**os.environ, "FINISHLOG_NOW": "2026-06-16T07:40:00-05:00"}
    ran = subprocess.run(
        [sys.executable, "-c", _CHILD, *argv], capture_output=True, text=True, env=environment
    )
    assert not ran.stderr
    said, _, last = ran.stdout.rstrip().rpartition("\n")
    status, most = last.split()
    return int(status), int(most) / 1024, said


@pytest.mark.long
@pytest.mark.parametrize("name", HUGE)
def test_a_huge_picture_is_refused_and_takes_little(name: str, demo: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(HUGE[name]())
    status, most, said = measured(
        ["--log", demo, "photo", "mumblethorpe-porch", str(tmp_path / name), "--taken", "unknown"]
    )
    assert (
        status,
        bool(re.search(r"pixels take \d+ MB to open, 190 MB is the limit\. Save a copy", said)),
    ) == (2, True)
    assert most < 100, most
    status, most, said = measured(
        ["read", str(tmp_path / name), "--gray", "1,1,30,30", "--box", "base=1,1,30,30"]
    )
    assert (status, most < 120) == (2, True), (most, said)


@pytest.mark.long
@pytest.mark.parametrize("name", LARGE)
def test_a_large_picture_comes_in_under_the_limit(name: str, demo: str, tmp_path: Path) -> None:
    """Twice: two are unpacked at once where they fit."""
    data = LARGE[name]()
    for one in ("a", "b"):
        (tmp_path / f"{one} {name}").write_bytes(data + one.encode())
    names = [str(tmp_path / f"{one} {name}") for one in ("a", "b")]
    status, most, said = measured(
        ["--log", demo, "photo", "mumblethorpe-porch", *names, "--taken", "unknown"]
    )
    print(f"\n{name}: {most:.0f} MB")
    assert (status, "2 photos kept" in said) == (0, True), said
    assert most < MOST_MB, most


@pytest.mark.long
@pytest.mark.parametrize("size", [(4000, 3000), (6000, 4400)])
def test_a_photo_is_read_under_the_limit(size: tuple[int, int], tmp_path: Path) -> None:
    path = tmp_path / "slab.jpg"
    path.write_bytes(picture(image=Image.new("RGB", size, (120, 120, 120))))
    status, most, said = measured(["read", str(path), "--gray", "1,1,30,30", "--box", "base=1,1,30,30"])
    print(f"\n{size}: {most:.0f} MB")
    assert status == 0, said
    assert most < MOST_MB, most
