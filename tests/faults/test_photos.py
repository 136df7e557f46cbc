"""Files that are no photos, or odd ones: each has its reason, nothing hangs, the rest of the batch comes in."""

from __future__ import annotations

import builtins
import os
import shutil
import socket
import struct
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, features

from finishlog.desk.photo import photos
from finishlog.desk.photo import small as smalls
from finishlog.desk.photo.photos import Added, PhotoFacts
from finishlog.desk.services import Services
from finishlog.inputs import photos as pictures
from finishlog.records.writing import NewArea, NewCustomer, NewEntry, NewJob, NewSite
from tests.desk.conftest import NOW, SheetShop
from tests.desk.photo_making import exif, jpeg, picture, png, scene, text_bomb

FACTS = PhotoFacts(taken="6a")
pytestmark = pytest.mark.filterwarnings("ignore::UserWarning:PIL", "ignore::RuntimeWarning:PIL")


@pytest.fixture(scope="module")
def poured(tmp_path_factory: pytest.TempPathFactory) -> Path:
    shop = SheetShop(tmp_path_factory.mktemp("poured"))
    log = shop.services.make_log(None)
    with log.writing() as writer:
        job = NewJob("patio", NewCustomer("Bo"), NewSite("s"), areas=(NewArea("field"),), handle="patio")
        writer.add_job(job)
        writer.add_entry("patio", NewEntry("pour", NOW.replace(day=15)))
    log.close()
    return shop.log


@pytest.fixture
def services(poured: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    shop = SheetShop(tmp_path)
    shutil.copy(poured, shop.log)
    yield shop.services
    shop.services.close()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "phone"
    made.mkdir()
    (made / "zz good.jpg").write_bytes(jpeg(seed=0))
    return made


def batch(services: Services, folder: Path) -> Added:
    """The folder, in which one photo is good: it comes in whatever the others are."""
    done = photos.add(services, "patio", [folder], FACTS)
    assert "zz good.jpg" in [line.name for line in done.kept]
    assert services.log().check().problems == ()
    return done


def heic() -> bytes:
    pytest.importorskip("pillow_heif", reason="the extra heic is not installed").register_heif_opener()
    return picture("HEIF", scene(64, 48), exif=exif("2026:06:16 06:42:10", orientation=6).tobytes())


JPEG = jpeg()
BAD: dict[str, tuple[bytes, str]] = {
    "cut short.jpg": (JPEG[: len(JPEG) * 2 // 3], "damaged or cut short"),
    "only its head.jpg": (JPEG[:30], "damaged or cut short"),
    "two bytes.jpg": (JPEG[:2], "no picture"),
    "nothing.jpg": (b"", "empty: 0 bytes"),
    "text.jpg": (b"tomorrow: rinse\n" * 40, "It is text"),
    "noise.jpg": (bytes(range(256)) * 40, "no picture"),
    "zeros.png": (bytes(5000), "no picture"),
    "gif.jpg": (b"GIF89a" + bytes(40), "a GIF"),
    "pdf.jpg": (b"%PDF-1.7\n" + bytes(40), "a PDF"),
    "film.jpg": (b"\0\0\0\x20ftypisom" + bytes(40), "a video"),
    "avif.jpg": (b"\0\0\0\x20ftypavif" + bytes(40), "an AVIF"),
    "bomb.png": (png(width=25_000, height=25_000), "million"),
    "large.png": (png(width=12_000, height=10_001), "12,000 × 10,001 pixels, 120 million is the limit"),
    "flat.png": (png(width=0, height=9), "starts as a picture"),
    "text bomb.png": (png((b"zTXt", text_bomb())), "unpacks to far too much"),
    "text bomb behind.png": (png((b"zTXt", text_bomb()), after=True), "unpacks to far too much"),
    "profile bomb.png": (png((b"iCCP", text_bomb())), "unpacks to far too much"),
    "cut short.png": (picture("PNG")[:-40], "cut short"),
    "cut short.tif": (picture("TIFF", scene(200, 200))[:60_000], "cut short"),
    "cut short.webp": (picture("WEBP", scene(200, 200))[:-200], "picture"),
    "no strips.tif": (b"II*\0" + struct.pack("<I", 8) + bytes(60), "picture"),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_no_photo_is_left_out_with_its_reason(services: Services, folder: Path, name: str) -> None:
    data, why = BAD[name]
    (folder / name).write_bytes(data)
    began = time.monotonic()
    [left] = batch(services, folder).left_out
    assert (left.name, why in left.why) == (name, True), left.why
    assert time.monotonic() - began < 20  # a guard against hanging, no measurement
    assert list((Path(f"{services.log().where}.files")).rglob("*.part")) == []


def tiff16() -> bytes:
    return picture("TIFF", scene(mode="I;16"))


GOOD: dict[str, tuple[Any, str, str]] = {
    "inks.jpg": (lambda: picture(image=scene(mode="CMYK")), "JPEG", "printing inks"),
    "gray.jpg": (lambda: picture(image=scene(mode="L")), "JPEG", "black and white"),
    "16 bit.png": (lambda: picture("PNG", scene(mode="I;16")), "PNG", "black and white"),
    "16 bit.tif": (tiff16, "TIFF", "black and white"),
    "seen through.png": (lambda: picture("PNG", scene(mode="RGBA")), "PNG", ""),
    "gray seen through.png": (lambda: picture("PNG", scene(mode="LA")), "PNG", "black and white"),
    "palette.png": (lambda: picture("PNG", scene(mode="P")), "PNG", "256 colors"),
    "two tones.png": (lambda: picture("PNG", scene(mode="1")), "PNG", "black and white"),
    "inks.tif": (lambda: picture("TIFF", scene(mode="CMYK")), "TIFF", "printing inks"),
    "deflated.tif": (lambda: picture("TIFF", compression="tiff_deflate"), "TIFF", ""),
    "web.webp": (lambda: picture("WEBP"), "WebP", ""),
    "seen through.webp": (lambda: picture("WEBP", scene(mode="RGBA")), "WebP", ""),
    "a jpeg.png": (jpeg, "JPEG", ""),
    "a png.jpg": (lambda: picture("PNG"), "PNG", ""),
    "no ending": (jpeg, "JPEG", ""),
    "progressive.jpg": (lambda: picture(progressive=True), "JPEG", ""),
    "more behind it.jpg": (lambda: JPEG + b"a phone's own trailer" * 50, "JPEG", ""),
    "one pixel.png": (lambda: picture("PNG", scene(1, 1)), "PNG", ""),
    "a line.png": (lambda: picture("PNG", scene(5000, 1)), "PNG", ""),
    "broken exif.jpg": (lambda: picture(exif=b"Exif\0\0MM\0*\xff\xff\xff\xff"), "JPEG", ""),
    "several.jpg": (
        lambda: picture("MPO", save_all=True, append_images=[scene(seed=2)]), "JPEG", ""
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", GOOD)
def test_odd_pictures_are_kept_as_they_are_and_shown(services: Services, folder: Path, name: str) -> None:
    make, form, remark = GOOD[name]
    data = make()
    (folder / name).write_bytes(data)
    [line] = [line for line in batch(services, folder).kept if line.name == name]
    assert line.photo.format == form
    assert services.log().file_path(line.sha256).read_bytes() == data
    assert remark in " ".join(line.notes)
    assert bool(line.notes) == bool(remark)
    with Image.open(smalls.thumbnail(services, line.sha256)) as small:
        assert (small.format, small.mode) == ("JPEG", "RGB")
        assert max(small.size) <= pictures.SIDE


def test_16_bits_are_brought_to_8_not_cut_off(services: Services, folder: Path) -> None:
    """A picture whose values were cut at 255 would be white nearly everywhere."""
    (folder / "a.png").write_bytes(picture("PNG", scene(mode="I;16")))
    [line] = [line for line in batch(services, folder).kept if line.name == "a.png"]
    expected = scene(mode="L")
    with Image.open(smalls.thumbnail(services, line.sha256)) as small:
        for place in ((3, 3), (60, 3), (30, 44)):
            assert small.convert("L").getpixel(place) == pytest.approx(expected.getpixel(place), abs=6)


def test_heic_is_kept_by_any_name(services: Services, folder: Path) -> None:
    """Trap 14: phones name HEIC files .jpg."""
    data = heic()
    for name in ("IMG_1.heic", "IMG_2.jpg"):
        (folder / name).write_bytes(data)
    done = photos.add(services, "patio", [folder / "IMG_2.jpg"], PhotoFacts())
    [line] = done.kept
    assert (line.photo.format, line.name) == ("HEIC", "IMG_2.jpg")
    assert line.photo.taken == "2026-06-16T06:42:10"
    assert {line.photo.width, line.photo.height} == {64, 48}
    with Image.open(smalls.thumbnail(services, line.sha256)) as small:
        assert small.size == (line.photo.width, line.photo.height)
    assert [double.name for double in photos.add(services, "patio", [folder], FACTS).doubles] == [
        "IMG_1.heic",
        "IMG_2.jpg",
    ]


def test_heic_without_its_reader_names_the_extra(
    services: Services, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + bytes(400)
    real = builtins.__import__

    def without(name: str, *rest: Any) -> Any:
        if name.startswith("pillow_heif"):
            raise ImportError(name)
        return real(name, *rest)

    monkeypatch.setattr(builtins, "__import__", without)
    for name in ("IMG_1.heic", "IMG_2.jpg"):
        (folder / name).write_bytes(data)
    left = batch(services, folder).left_out
    assert [each.name for each in left] == ["IMG_1.heic", "IMG_2.jpg"]
    assert all("finishlog[heic]" in each.why for each in left)


def test_damaged_heic_is_left_out(services: Services, folder: Path) -> None:
    (folder / "a.heic").write_bytes(heic()[:300])
    [left] = batch(services, folder).left_out
    assert "picture" in left.why


def test_links_loops_pipes_and_sockets(services: Services, folder: Path, tmp_path: Path) -> None:
    """Trap 14: a named pipe hangs an import that opens it."""
    outside = tmp_path / "secret.jpg"
    outside.write_bytes(jpeg(seed=9))
    (folder / "a link.jpg").symlink_to(outside)
    (folder / "loop").symlink_to(folder)
    (folder / "nowhere").symlink_to(tmp_path / "gone")
    os.mkfifo(folder / "pipe.jpg")
    (folder / "sub").mkdir()
    (folder / "sub" / "deep.jpg").write_bytes(jpeg(seed=5))
    home = os.getcwd()
    with socket.socket(socket.AF_UNIX) as plug:
        os.chdir(folder)
        try:
            plug.bind("plug")
        finally:
            os.chdir(home)
        done = batch(services, folder)
    assert [line.name for line in done.kept] == ["sub/deep.jpg", "zz good.jpg"]
    why = {left.name: left.why for left in done.left_out}
    assert set(why) == {"a link.jpg", "loop", "nowhere", "pipe.jpg", "plug"}
    assert all("link" in why[name] for name in ("a link.jpg", "loop", "nowhere"))
    assert all("pipe or a device" in why[name] for name in ("pipe.jpg", "plug"))


@pytest.mark.parametrize("name", ["gone.jpg", "pipe.jpg", "link.jpg", "nul\0.jpg"])
def test_a_file_named_by_itself_is_looked_at_as_carefully(
    services: Services, folder: Path, tmp_path: Path, name: str
) -> None:
    path = tmp_path / name
    if name == "pipe.jpg":
        os.mkfifo(path)
    if name == "link.jpg":
        path.symlink_to(folder / "zz good.jpg")
    done = photos.add(services, "patio", [path, folder], FACTS)
    assert [line.name for line in done.kept] == ["zz good.jpg"]
    assert len(done.left_out) == 1
    assert done.left_out[0].why


def test_odd_names_come_in_as_text(services: Services, folder: Path) -> None:
    names = [
        "=1+1.jpg",
        "\x1b[31mred.jpg",
        "new\nline.jpg",
        "\u202egpj.exe",
        "🙂.jpg",
        "[nope].jpg",
        "a" * 255,
    ]
    for number, name in enumerate(names):
        (folder / name).write_bytes(jpeg(seed=10 + number))
    (Path(os.fsdecode(os.fsencode(folder) + b"/bad \xff.jpg"))).write_bytes(jpeg(seed=30))
    (folder / " ").write_bytes(jpeg(seed=31))
    kept = {line.name for line in batch(services, folder).kept}
    assert kept >= {*names, "bad �.jpg", "photo"}


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads everything")
def test_what_may_not_be_read_is_said(services: Services, folder: Path) -> None:
    (folder / "closed.jpg").write_bytes(jpeg(seed=2))
    (folder / "closed.jpg").chmod(0)
    (folder / "sub").mkdir(mode=0)
    left = batch(services, folder).left_out
    assert [each.name for each in left] == ["closed.jpg", "sub/"]


def test_a_giant_file_is_refused_by_its_size(
    services: Services, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open(folder / "giant.jpg", "wb") as out:
        out.truncate(pictures.BYTES_MOST + 1)
    [left] = batch(services, folder).left_out
    assert "100 MB is the limit" in left.why


def test_pillow_s_warnings_do_not_reach_the_terminal(tmp_path: Path) -> None:
    """pytest has warning filters of its own, so in a clean interpreter."""
    for name, data in (("a.png", BAD["large.png"][0]), ("b.jpg", GOOD["broken exif.jpg"][0]())):
        (tmp_path / name).write_bytes(data)
        code = (
            "import sys; from pathlib import Path; from finishlog.errors import InputError\n"
            "from finishlog.inputs.photos import look\n"
            "try: look(Path(sys.argv[1]).read_bytes())\nexcept InputError: pass"
        )
        argv = [sys.executable, "-c", code, str(tmp_path / name)]
        assert subprocess.run(argv, capture_output=True, check=True).stderr == b""


def test_the_formats_that_are_promised_can_be_read() -> None:
    assert all(features.check(name) for name in ("jpg", "zlib", "webp", "libtiff"))
