"""What a page looks like and does in a hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.web.browser.conftest import Net
from tests.web.test_areas import JOB, SECOND, add_two_areas, last
from tests.web.test_photos import JOB as PATIO
from tests.web.test_photos import photo

IS_KEPT = f"""return (await (await caches.open('pages')).keys())
  .some((one) => one.url.includes('/job/{JOB}/log/rinse?area=side'))"""


@pytest.mark.long
def test_the_links_of_who_has_them_all_are_one_row_for_a_thumb(net: Net) -> None:
    net.served.site.people.add("Una", "office")
    phone = net.browser((360, 640))
    net.comes_in(phone, "Una")
    phone.fits()
    links = phone.driver.find_elements("css selector", "nav a")
    assert [link.text for link in links] == ["Today", "Find", "Waiting", "Screens"]
    assert len({link.rect["y"] for link in links}) == 1
    assert all(link.size["height"] >= 48 and link.size["width"] >= 48 for link in links)


@pytest.mark.long
@pytest.mark.parametrize("signal", [True, False])
def test_a_rinse_from_todays_line_of_the_second_area(net: Net, signal: bool) -> None:
    add_two_areas(net.served)
    phone = net.browser()
    net.comes_in(phone)
    if not signal:
        phone.until(lambda: phone.asked(IS_KEPT), "the form of the line")
        net.wire.off()
    phone.go("/")
    phone.press(f'a[href^="/job/{JOB}/log/rinse?area=side"]')
    assert phone.one("#f-area").get_attribute("value") == SECOND
    phone.press("form[data-wait] button.main")
    phone.until(lambda: phone.driver.current_url.endswith("/waiting"))
    net.wire.on()
    phone.reads("Nothing waits.", "rinse")
    assert last(net.served)[1] == SECOND


@pytest.mark.long
def test_photos_come_from_the_camera_and_from_the_pictures_in_one_go(net: Net, tmp_path: Path) -> None:
    phone, before = net.browser(), net.served.kinds(PATIO).count("photo")
    net.comes_in(phone)
    phone.go(f"/job/{PATIO}/photos")
    phone.press("form[data-wait] button.main")
    phone.reads("Choose a photo first.")
    files = []
    for shade in (60, 90, 120):
        files.append(tmp_path / f"shot {shade}.jpg")
        files[-1].write_bytes(photo(shade))
    phone.one("#f-camera").send_keys(str(files[0]))
    phone.one("#f-file").send_keys("\n".join(map(str, files[1:])))
    phone.press("form[data-wait] button.main")
    phone.until(lambda: phone.driver.current_url.endswith("/waiting"))
    phone.reads("Nothing waits.", "photo")
    assert net.served.kinds(PATIO).count("photo") == before + 3


@pytest.mark.long
def test_a_phone_that_is_ahead_logs_now_and_is_not_asked(net: Net) -> None:
    phone = net.browser(clock_off_s=20 * 60)
    net.comes_in(phone)
    phone.go(f"/job/{PATIO}/log/sweep")
    phone.press("form[data-wait] button.main")
    phone.reads(
        "Nothing waits.", "This phone's clock is 2", " min ahead. It is logged at 7:"
    )  # the log's stands still
    with net.served.services.log().reading() as log:
        entry = log.job(PATIO).entries[-1]
    assert entry.happened <= net.served.services.clock()
    assert " min ahead: it said " in (entry.note or "")


@pytest.mark.long
def test_a_time_that_is_mended_is_meant_as_of_then(net: Net) -> None:
    phone = net.browser()
    net.comes_in(phone)
    phone.go(f"/job/{PATIO}/log/note")
    phone.one("#f-at").send_keys("the day after never")
    phone.one("#f-note").send_keys("odd")
    phone.press("form[data-wait] button.main")
    phone.reads("1 to mend")
    aged = """const [item] = await queue.waiting(); await queue.put({ ...item, made: "2026-06-14T07:00-05:00" });"""
    phone.asked(aged)
    phone.one("#waiting input").clear()
    phone.one("#waiting input").send_keys("7:20a")
    phone.press("#waiting form button")
    phone.reads("Nothing waits.", "Jun 16 2026, 7:20a")
