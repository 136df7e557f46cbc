"""A crew's day with a real browser: with signal, and without, the phone dying meanwhile. Each thing arrives once."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image

from tests.web.browser.conftest import Browser, Net

JOB = "larkspur-breakfast-patio"
SIZES = [(390, 844), (360, 640)]


def shots(folder: Path, count: int, first: int = 0) -> list[Path]:
    """Photos of 12 MP as a phone's camera makes them."""
    made = []
    for number in range(first, first + count):
        image, out = Image.effect_noise((4000, 3000), 20 + number).convert("RGB"), io.BytesIO()
        exif = image.getexif()
        tags = exif.get_ifd(0x8769)
        tags[0x9003], tags[0x9011] = f"2026:06:16 07:1{number}:00", "-05:00"
        exif[0x0112] = 6
        image.save(out, "jpeg", exif=exif, quality=85)
        made.append(folder / f"shot {number}.jpg")
        made[-1].write_bytes(out.getvalue())
    return made


def kept(net: Net, kind: str) -> list[bytes | str]:
    """What the log has of a kind: the bytes of photos, the notes of others."""
    services = net.served.services
    with services.log().reading() as log:
        entries = [entry for entry in log.job(JOB).entries if entry.kind == kind]
    return [
        services.log().file_path(e.files[0].sha256).read_bytes() if e.files else e.note or "" for e in entries
    ]


def logs(phone: Browser, kind: str, note: str) -> None:
    phone.go(f"/job/{JOB}/log/{kind}")
    phone.fits()
    phone.one("#f-note").send_keys(note)
    phone.press("form[data-wait] button.main")
    phone.until(lambda: phone.driver.current_url.endswith("/waiting"))


def photographs(phone: Browser, files: list[Path]) -> None:
    phone.go(f"/job/{JOB}/photos")
    phone.fits()
    phone.one("#f-file").send_keys("\n".join(str(file) for file in files))
    phone.press("form[data-wait] button.main")
    phone.until(lambda: phone.driver.current_url.endswith("/waiting"), "the page of what waits")


def keeps(phone: Browser, *kinds: str) -> None:
    """Wait until these forms lie on the phone."""
    for kind in kinds:
        there = f"return !!(await (await caches.open('pages')).match('/job/{JOB}/log/{kind}'))"
        phone.until(lambda script=there: phone.asked(script), "the kept pages")


def test_a_short_walk(net: Net) -> None:
    phone = net.browser()
    net.comes_in(phone)
    logs(phone, "sweep", "by script")
    phone.reads("Nothing waits.", "In the log", "swept")
    assert "Send now" not in phone.text()
    assert kept(net, "sweep") == ["by script"]


@pytest.mark.long
@pytest.mark.parametrize("size", SIZES)
def test_a_day_with_signal(net: Net, size: tuple[int, int], tmp_path: Path) -> None:
    phone, before = net.browser(size), kept(net, "photo")
    net.comes_in(phone)
    phone.fits()
    phone.go("/find")
    phone.one("#words").send_keys("larksp")
    phone.press("main form button")
    phone.press(f'a[href="/job/{JOB}"]')
    phone.reads("Recipe", "Last entries", "Buried")
    phone.fits()
    logs(phone, "sweep", "dry, no wind")
    phone.reads("Nothing waits.", "swept")
    photos = shots(tmp_path, 3)
    photographs(phone, photos)
    phone.reads("Nothing waits.")
    phone.fits()
    assert kept(net, "sweep") == ["dry, no wind"]
    assert kept(net, "photo")[len(before) :] == [one.read_bytes() for one in photos]
    phone.go(f"/job/{JOB}/photos")
    phone.until(
        lambda: phone.driver.execute_script(
            "return [...document.images].filter(i => i.complete && i.naturalWidth).length"
        ),
        "a small picture",
    )


@pytest.mark.long
@pytest.mark.parametrize("size", SIZES)
def test_without_signal_and_killed_each_arrives_once(net: Net, size: tuple[int, int], tmp_path: Path) -> None:
    phone, before = net.browser(size), kept(net, "photo")
    net.comes_in(phone)
    keeps(phone, "sweep", "note")
    phone.close()  # in the yard, in the morning
    net.wire.off()
    phone.open()
    logs(phone, "sweep", "first")
    phone.reads("Sweep", "Not in the log yet.", "No signal.")
    logs(phone, "note", "second")
    photos = shots(tmp_path, 1)
    photographs(phone, photos)
    phone.fits()
    phone.reads("3 waiting on this phone", "no signal, as of")
    assert "In the log\nNothing from this phone yet." in phone.text()
    phone.kill()
    phone.open()
    phone.go("/waiting")
    phone.reads("3 waiting on this phone")
    assert kept(net, "sweep") == []
    net.wire.lose_answer_to(b"POST /sent ")
    net.wire.on()
    phone.until(net.wire.lost.is_set, "the first entry")
    assert kept(net, "sweep") == ["first"]
    phone.go("/waiting")
    phone.reads("3 waiting on this phone")  # the log has it, and has not said so
    net.wire.lose_answer_to(b"POST /sent/photo/")
    net.wire.on()
    phone.press("#again")
    phone.until(net.wire.lost.is_set, "the photo")
    assert len(kept(net, "photo")) == len(before) + 1
    net.wire.on()
    phone.go("/waiting")
    phone.reads("Nothing waits.", "swept", "photo")
    assert (kept(net, "sweep"), kept(net, "note")) == (["first"], ["second"])
    assert kept(net, "photo")[len(before) :] == [one.read_bytes() for one in photos]


@pytest.mark.long
def test_a_clock_that_is_off_is_said_and_what_is_odd_is_mended(net: Net) -> None:
    phone = net.browser(clock_off_s=-720)
    net.comes_in(phone)
    logs(phone, "sweep", "late")
    phone.reads("Nothing waits.", "This phone's clock is 12 min behind.")
    assert kept(net, "sweep") == ["late Phone's clock 12 min behind."]
    phone.go(f"/job/{JOB}/log/note")
    phone.one("#f-at").clear()
    phone.one("#f-at").send_keys("the day after never")
    phone.one("#f-note").send_keys("odd")
    phone.press("form[data-wait] button.main")
    phone.reads("1 to mend", "not a clear time")
    phone.one("#waiting input").clear()
    phone.one("#waiting input").send_keys("today 7:20a")
    phone.press("#waiting form button")
    phone.reads("Nothing waits.")
    assert len(kept(net, "note")) == 1


@pytest.mark.long
def test_what_another_typed_waits_and_kept_pages_go_with_who_leaves(net: Net) -> None:
    phone = net.browser()
    net.comes_in(phone)
    keeps(phone, "sweep")
    net.wire.off()
    logs(phone, "sweep", "Bo's")
    net.wire.on()
    net.served.site.people.put_out("Bo")
    phone.press("#again")
    phone.reads("Come in again")
    phone.until(lambda: not phone.asked("return await caches.has('pages')"), "an empty store")
    net.comes_in(phone, "Ada")
    phone.go("/waiting")
    phone.reads("Waits for Bo to come in.")
    assert kept(net, "sweep") == []
    net.comes_in(phone, "Bo")
    phone.go("/waiting")
    phone.reads("Nothing waits.")
    assert kept(net, "sweep") == ["Bo's"]


@pytest.mark.long
def test_smaller_only_where_it_is_ticked_and_with_the_cameras_facts(net: Net, tmp_path: Path) -> None:
    phone, before = net.browser(), kept(net, "photo")
    net.comes_in(phone)
    phone.go(f"/job/{JOB}/photos")
    phone.one("#f-file").send_keys(str(shots(tmp_path, 1)[0]))
    phone.one("input[name=smaller]").click()
    phone.press("form[data-wait] button.main")
    phone.reads("Nothing waits.", "photo")
    (data,) = kept(net, "photo")[len(before) :]
    assert isinstance(data, bytes)
    image = Image.open(io.BytesIO(data))
    assert image.size == (1536, 2048)  # upright: its pixels were turned
    exif = image.getexif()
    assert exif[0x0112] == 1
    assert exif.get_ifd(0x8769)[0x9003] == "2026:06:16 07:10:00"
