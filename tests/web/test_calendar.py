"""The calendar a phone follows: the same events as the file, by an address that can be taken back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import icalendar
import pytest
import recurring_ical_events

from finishlog.desk.due import care
from finishlog.errors import InputError
from finishlog.papers.reminders import send
from finishlog.web import running
from finishlog.web.gate import subscriptions
from tests.web.conftest import Served

YEARS = date(2020, 1, 1), date(2040, 1, 1)


def told(ics: bytes) -> dict[str, tuple[Any, ...]]:
    """Each event as a calendar app sees it."""
    events = recurring_ical_events.of(icalendar.Calendar.from_ical(ics)).between(*YEARS)
    names = ("SEQUENCE", "SUMMARY", "STATUS", "DESCRIPTION", "LOCATION")
    return {str(one["UID"]): (one["DTSTART"].dt, *(str(one[name]) for name in names)) for one in events}


def subscribed(served: Served, name: str = "Ada") -> str:
    served.site.people.add(name, "office")
    return subscriptions.address(subscriptions.make(served.site.people.book, name))


def booked(served: Served) -> str:
    line = next(line for line in care.book(served.services).lines if line.state == "due")
    care.set_state(served.services, line.job, "booked", on=date(2026, 8, 14))
    return line.uid


def test_it_is_the_file(served: Served, tmp_path: Path) -> None:
    path, phone = subscribed(served), served.phone()
    for change in (lambda _: "", booked):
        uid = change(served)
        phone.get(path)
        assert phone.status == 200
        assert phone.last.headers["content-type"].startswith("text/calendar")
        followed = told(phone.last.content)
        file = tmp_path / "reseals.ics"
        send.write(served.services, care.book(served.services), {"ics": str(file)}, force=True)
        assert followed == told(file.read_bytes())
        assert len(followed) > 3
    assert followed[f"{uid}@finishlog.example.com"][0] == date(2026, 8, 14)


def test_what_the_phone_has_is_not_sent_again_until_it_changes(
    served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, client = subscribed(served), served.phone().client
    first = client.get(path)
    tag, since = first.headers["etag"], first.headers["last-modified"]
    monkeypatch.setenv("FINISHLOG_NOW", "2026-06-16T09:00:00-05:00")
    for heads in ({"if-none-match": f'"x", W/{tag}'}, {"if-modified-since": since}):
        again = client.get(path, headers=heads)
        assert (again.status_code, again.content) == (304, b"")
    assert client.get(path).content == first.content
    booked(served)
    for heads in ({"if-none-match": tag, "if-modified-since": since}, {"if-modified-since": since}):
        changed = client.get(path, headers=heads)
        assert changed.status_code == 200
        assert changed.headers["etag"] != tag


def test_without_its_secret_it_is_not_there_and_it_can_be_taken_back(served: Served) -> None:
    path, phone = subscribed(served), served.phone()
    phone.get("/calendar/guess/reseals.ics")
    assert phone.status == 404
    assert "a calendar address" in served.visits()
    secret = path.split("/")[2]
    assert secret not in served.site.people.book.path.read_text()
    second = subscriptions.address(subscriptions.make(served.site.people.book, "ada"))
    for asked, status in ((path, 404), (second, 200)):
        phone.get(asked)
        assert phone.status == status
    assert phone.client.post(second, headers=phone.heads).status_code == 405
    served.site.people.put_out("Ada")
    phone.get(second)
    assert phone.status == 404


def test_the_crew_has_none(served: Served) -> None:
    served.site.people.add("Bo", "crew")
    with pytest.raises(InputError, match="Only the owner or the office may"):
        subscriptions.make(served.site.people.book, "Bo")
    path, phone = subscribed(served), served.phone()
    served.site.people.add("Ada", "crew")
    phone.get(path)
    assert phone.status == 404


def test_a_command_prints_the_address(
    finishlog: Callable[..., Any], served: Served, demo: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert finishlog("--log", demo, "people", "add", "Ada", "--as", "office").status == 0
    ran = finishlog("--log", demo, "people", "calendar", "Ada", "--at", "https://shop.example.com/")
    address = ran.out.strip().removeprefix("https://shop.example.com")
    book = running.people(served.services).book
    assert address.startswith("/calendar/"), ran.err
    assert (holder := subscriptions.holder(book, address.split("/")[2])) is not None
    assert holder.name == "Ada"
    assert finishlog("--log", demo, "people", "out", "Ada").status == 0
    assert subscriptions.holder(book, address.split("/")[2]) is None
