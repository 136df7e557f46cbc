"""Every page at both sizes, light and dark: no fault that axe-core finds, no small target, nothing past the edge.

With FINISHLOG_PICTURES=FOLDER a picture of each is left there.
"""

from __future__ import annotations

import io
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from PIL import Image

from finishlog.web.pages.entry import kinds_of
from tests.web.browser import axe
from tests.web.browser.conftest import Browser, Net
from tests.web.browser.test_browser import JOB, SIZES, logs

OLD, PHOTOGRAPHED, PLANNED = "dapplegate-patio", "thrupp-button-back-step", "swizzlecote-carport"
SPOTS = "field=58,6.1,14.2&rinsed=63,5,13&unrinsed=41,7.5,12&dried=yes&target=20"
PAGES = {
    "today": "/",
    "find": "/find",
    "find-some": "/find?words=larksp",
    "find-none": "/find?words=zzyzx",
    "job": f"/job/{JOB}",
    "job-planned": f"/job/{PLANNED}",
    "job-all": f"/job/{OLD}?all=1&entry=41",
    "kinds": f"/job/{JOB}/log",
    "photos": f"/job/{PHOTOGRAPHED}/photos",
    "photos-none": f"/job/{JOB}/photos",
    "rinse": f"/job/{JOB}/rinse",
    "rinse-measured": f"/job/{JOB}/rinse?{SPOTS}",
    "rinse-wrong": f"/job/{JOB}/rinse?field=light",
    "refused": f"/job/{JOB}/log/change",
    "not-there": "/job/no-such-job",
    "no-page": "/nowhere",
}

SHOWN = "return [...document.images].every((one) => one.complete)"


def door(phone: Browser, net: Net) -> Iterator[str]:
    """Before anybody came in."""
    phone.go("/in")
    yield "door"
    phone.one("#name").send_keys("Bo")
    phone.one("#phrase").send_keys("not the phrase")
    phone.press("main button")
    phone.reads("is wrong")
    yield "door-wrong"
    net.served.site.people.add("Bo", "crew")
    phone.go(f"/in/{net.served.site.people.link('Bo')}")
    yield "link"
    phone.go("/in/gone")
    phone.press("main button")
    phone.reads("Ask the owner")
    yield "link-gone"


def reading(phone: Browser, net: Net) -> Iterator[str]:
    """What the crew can open."""
    crew = net.served.site.services.seen_by("crew")
    forms = {f"log-{key}": f"/job/{JOB}/log/{key}" for key, _ in kinds_of(crew)}
    for name, path in {**PAGES, **forms}.items():
        phone.go(path)
        phone.driver.execute_script(
            "document.querySelectorAll('details').forEach((one) => (one.open = true))"
        )
        yield name


def without_script(phone: Browser, net: Net) -> Iterator[str]:
    """What is said where a form is sent as it is."""
    send = "document.querySelector('form[data-wait]').submit()"
    phone.go(f"/job/{JOB}/log/sweep")
    phone.one("#f-at").clear()
    phone.one("#f-at").send_keys("the day after never")
    phone.driver.execute_script(send)
    phone.reads("not a clear time")
    yield "log-wrong"
    phone.go(f"/job/{JOB}/log/sweep")
    phone.one("#f-at").clear()
    phone.one("#f-at").send_keys("2026-05-01 7a")
    phone.driver.execute_script(send)
    phone.reads("Because")
    yield "log-doubt"
    phone.go(f"/job/{JOB}/photos")
    phone.driver.execute_script(send)
    phone.reads("Choose a photo first")
    yield "photos-wrong"


def waiting(phone: Browser, net: Net) -> Iterator[str]:
    """With signal and without."""
    phone.go("/waiting")
    phone.reads("Nothing waits.")
    yield "waiting-none"
    logs(phone, "sweep", "dry, no wind")
    phone.reads("Nothing waits.", "swept")
    yield "waiting-kept"
    phone.go(f"/job/{JOB}/log/note")
    phone.one("#f-at").clear()
    phone.one("#f-at").send_keys("the day after never")
    phone.press("form[data-wait] button.main")
    phone.reads("1 to mend", "not a clear time")
    yield "waiting-asks"
    net.wire.off()
    logs(phone, "sweep", "second")
    phone.reads("No signal.", "2 waiting on this phone")
    yield "waiting-two"
    phone.go("/")
    phone.reads("Today", "no signal, as of")
    yield "today-kept"
    phone.go(f"/job/{OLD}/log/note")
    phone.reads("No signal")
    yield "no-signal"
    net.wire.on()


def screens(phone: Browser, net: Net) -> Iterator[str]:
    """For the owner."""
    people = net.served.site.people
    people.add("Ada", "owner", "four words said apart")
    phone.driver.delete_all_cookies()
    phone.go(f"/in/{people.link('Ada')}")
    phone.press("main button")
    phone.reads("Today")
    phone.dots = 1  # what is only said to be finer is drawn too large
    phone.shaped(*phone.size)
    phone.go("/screens")
    begun = "return document.body.classList.contains('-first-byte')"
    phone.until(lambda: phone.driver.execute_script(begun) and colors(phone) > 30, "the screens")
    yield "screens"
    people.put_out("Ada")
    phone.reads("The screens are closed.")
    yield "screens-closed"


def colors(phone: Browser) -> int:
    """How many are on the screen."""
    seen = Image.open(io.BytesIO(phone.driver.get_screenshot_as_png())).convert("RGB")
    return len(seen.getcolors(seen.width * seen.height) or ())


@contextmanager
def whole(phone: Browser) -> Iterator[None]:
    """The page in one piece: what stays at the foot of the screen lies over nothing."""
    width, height = phone.size
    long = phone.driver.execute_script("return document.documentElement.scrollHeight")
    phone.shaped(width, max(height, long))
    yield
    phone.shaped(width, height)


def pictured(phone: Browser, name: str) -> None:
    """Left where it is asked for."""
    folder = os.environ.get("FINISHLOG_PICTURES")
    if folder:
        phone.until(lambda: phone.driver.execute_script(SHOWN), "its pictures")
        Path(folder).mkdir(parents=True, exist_ok=True)
        Path(folder, f"{name}.png").write_bytes(phone.driver.get_screenshot_as_png())


@pytest.mark.long
@pytest.mark.parametrize("look", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
def test_every_page_is_for_every_hand_and_eye(net: Net, size: tuple[int, int], look: str) -> None:
    phone = net.browser(size)
    phone.tell("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": look}])
    faults, seen = [], 0
    for part in (door, reading, without_script, waiting, screens):
        if part is reading:
            net.comes_in(phone)
        for name in part(phone, net):
            with whole(phone):
                pictured(phone, f"{name}-{size[0]}-{look}")
                faults += [f"{name}: {fault}" for fault in axe.faults(phone)]
            seen += 1
    print(f"{seen} pages at {size}, {look}: {len(faults)} faults")
    assert not faults, "\n".join(faults)
