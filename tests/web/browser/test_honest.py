"""What a phone says when something other than the signal is in the way: never that it is in the log before it is."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from finishlog.errors import LogError
from finishlog.web.pages import queue
from tests.web.browser.conftest import Browser, Net
from tests.web.test_photos import JOB, photo

pytestmark = pytest.mark.long
NOTHING = "In the log\nNothing from this phone yet."


@pytest.fixture
def phone(net: Net) -> Browser:
    """One that came in, and keeps its pages."""
    made = net.browser()
    net.comes_in(made)
    there = f"return !!(await caches.match('/job/{JOB}/log/sweep'))"
    made.until(lambda: made.asked(there), "the kept pages")
    return made


def logs(phone: Browser, note: str) -> None:
    phone.go(f"/job/{JOB}/log/sweep")
    phone.one("#f-note").send_keys(note)
    phone.press("form[data-wait] button.main")


def sweeps(net: Net) -> int:
    return net.served.kinds(JOB).count("sweep")


def test_a_program_that_fails_keeps_it_and_sends_it_when_asked(net: Net, phone: Browser) -> None:
    with pytest.MonkeyPatch.context() as patch:

        def fails(*_: object, **__: object) -> None:
            raise RuntimeError("a bug")

        patch.setattr(queue.record, "record", fails)
        logs(phone, "first")
        phone.reads("1 to mend", "The program failed at this one. It is not in the log.", NOTHING)
    phone.press("#waiting form button")
    phone.reads("Nothing waits.", "swept")
    assert sweeps(net) == 1


def test_a_log_that_is_away_is_not_called_no_signal(net: Net, phone: Browser) -> None:
    with pytest.MonkeyPatch.context() as patch:

        def away(*_: object, **__: object) -> None:
            raise LogError("The server is away.")

        patch.setattr(queue.record, "record", away)
        logs(phone, "first")
        phone.reads("1 waiting on this phone", "The log cannot be used now", NOTHING)
        assert "signal" not in phone.text()
    phone.asked("await self.phone.flush()")  # as the button does; the page may have tried by itself meanwhile
    phone.reads("Nothing waits.", "swept")
    assert sweeps(net) == 1


def test_a_page_of_somebody_else_is_no_answer(net: Net, phone: Browser) -> None:
    net.wire.off()
    logs(phone, "first")
    phone.reads("No signal.")
    net.wire.on()
    portal = "self.fetch = async () => new Response('<h1>Pay to go on</h1>'); return await phone.flush()"
    assert phone.asked(portal) == "later"
    phone.reads("No signal.", "Not in the log yet.", NOTHING)
    assert sweeps(net) == 0


@pytest.mark.parametrize("signal", [True, False])
def test_a_full_store_is_said_and_what_was_typed_stays(
    net: Net, phone: Browser, tmp_path: Path, signal: bool
) -> None:
    large, before = tmp_path / "large.jpg", net.served.kinds(JOB).count("photo")
    large.write_bytes(photo(70) + random.Random(7).randbytes(6 * 2**20))
    phone.go(f"/job/{JOB}/photos")
    phone.tell("Storage.overrideQuotaForOrigin", origin=phone.origin, quotaSize=2_000_000)
    phone.one("#f-file").send_keys(str(large))
    phone.press("form[data-wait] button.main")
    phone.reads("Not kept on this phone: its store is full.", "still here")
    assert not phone.driver.current_url.endswith("/waiting")
    if not signal:
        net.wire.off()
    phone.press("[data-said] button")
    if signal:
        phone.reads("1 photo kept.")
    else:
        phone.reads("It is neither in the log nor kept on this phone.")
        net.wire.on()
        phone.press("[data-said] button")
        phone.reads("1 photo kept.")
    assert net.served.kinds(JOB).count("photo") == before + 1


def test_the_browser_sends_it_in_the_background(net: Net, phone: Browser) -> None:
    """Where it does that at all: no page of ours is open by then."""
    net.wire.off()
    logs(phone, "first")
    phone.reads("1 waiting on this phone", "No signal.")
    tags = "return await (await navigator.serviceWorker.ready).sync.getTags()"
    phone.until(lambda: "send" in phone.asked(tags), "the wish to send")
    phone.driver.get("about:blank")
    net.wire.on()
    assert sweeps(net) == 0
    phone.tell("ServiceWorker.enable")

    def sent() -> bool:
        given = {"origin": phone.origin, "tag": "send", "lastChance": False}
        phone.tell("ServiceWorker.dispatchSyncEvent", registrationId="0", **given)
        return sweeps(net) == 1

    phone.until(sent, "the entry")
    phone.go("/waiting")
    phone.reads("Nothing waits.", "swept")


def test_without_tls_it_waits_while_the_page_is_open_and_is_said_so(net: Net) -> None:
    phone = net.browser(plain=True)
    net.comes_in(phone)
    assert phone.asked("return [self.isSecureContext, 'serviceWorker' in navigator]") == [False, False]
    phone.go(f"/job/{JOB}/log/sweep")
    net.wire.off()
    phone.one("#f-note").send_keys("first")
    phone.press("form[data-wait] button.main")
    phone.reads("Waits on this phone, not in the log yet.", "Leave this page open", "1 waiting on this phone")
    assert sweeps(net) == 0
    net.wire.on()
    phone.reads("Nothing waits.", "swept")
    assert sweeps(net) == 1


def test_what_is_being_typed_stays_when_what_waited_is_sent(net: Net) -> None:
    phone = net.browser(plain=True)
    net.comes_in(phone)
    phone.go(f"/job/{JOB}/log/note")
    net.wire.off()
    for text in ("first", "second"):
        phone.one("#f-note").send_keys(text)
        phone.press("form[data-wait] button.main")
        phone.until(lambda: phone.one("#f-note").get_attribute("value") == "", "an empty form")
    phone.reads("Leave this page open", "2 waiting on this phone")
    phone.one("#f-note").send_keys("third")
    net.wire.on()
    phone.reads("What waited was sent.")
    assert phone.one("#f-note").get_attribute("value") == "third"
    with net.served.services.log().reading() as log:
        notes = [entry.note for entry in log.job(JOB).entries if entry.kind == "note"]
    assert notes[-2:] == ["first", "second"]


def test_without_tls_what_waited_is_sent_when_a_page_opens_again(net: Net) -> None:
    phone = net.browser(plain=True)
    net.comes_in(phone)
    phone.go(f"/job/{JOB}/log/sweep")
    net.wire.off()
    phone.press("form[data-wait] button.main")
    phone.reads("1 waiting on this phone")
    phone.close()
    net.wire.on()
    phone.open()
    assert sweeps(net) == 0
    phone.go("/waiting")
    phone.reads("Nothing waits.", "swept")
    assert sweeps(net) == 1
