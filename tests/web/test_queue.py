"""What waited on a phone: kept once however often it is sent, for who typed it, the phone's clock beside it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime
from typing import Any

import pytest

from finishlog.errors import LogError
from finishlog.web.gate import guard
from finishlog.web.pages import photos, queue
from finishlog.web.phone_clock import PhoneClock
from tests.web.conftest import Phone, Served
from tests.web.test_photos import photo

JOB = "larkspur-breakfast-patio"
UID = "0123456789abcdef" * 2
NOW = "2026-06-16T07:38-05:00"


def token(phone: Phone) -> dict[str, Any]:
    phone.last = phone.client.get("/token", follow_redirects=False)
    return dict(phone.last.json())


def send(phone: Phone, uid: object = UID, csrf: str = "", **more: Any) -> dict[str, Any]:
    """An entry, as the script sends it."""
    texts = {"at": NOW, "by": "Bo", **more.pop("texts", {})}
    item = {"uid": uid, "who": "Bo", "job": JOB, "kind": "sweep", "texts": texts, "off_s": 2, **more}
    heads = {**phone.heads, "x-csrf": csrf or token(phone).get("csrf", "")}
    phone.last = phone.client.post("/sent", content=json.dumps(item), headers=heads)
    return dict(phone.last.json())


def send_photo(phone: Phone, data: bytes | Iterator[bytes], uid: str = UID, **facts: str) -> dict[str, Any]:
    heads = {**phone.heads, "x-csrf": token(phone).get("csrf", "")}
    given = {"job": JOB, "who": "Bo", "name": "shot.jpg", **facts}
    phone.last = phone.client.post(f"/sent/photo/{uid}", params=given, content=data, headers=heads)
    return dict(phone.last.json())


def happened(served: Served, number: int) -> datetime:
    with served.services.log().reading() as log:
        return next(entry.happened for entry in log.job(JOB).entries if entry.number == number)


def test_sent_twice_it_is_kept_once(served: Served, crew: Phone) -> None:
    first = send(crew)
    assert (crew.status, first["kept"], first["was_there"]) == (200, True, False)
    again = send(crew)  # the first answer was lost
    assert (crew.status, again["number"], again["was_there"]) == (200, first["number"], True)
    assert again["sentence"] == first["sentence"]
    assert served.kinds(JOB).count("sweep") == 1


def test_a_photo_sent_twice_is_kept_once_byte_for_byte(served: Served, crew: Phone) -> None:
    data, before = photo(70), served.kinds(JOB).count("photo")
    first = send_photo(crew, data, light="sun")
    assert (crew.status, first["kept"]) == (200, True)
    again = send_photo(crew, data, light="sun")
    assert (again["number"], again["was_there"]) == (first["number"], True)
    assert served.kinds(JOB).count("photo") == before + 1
    with served.services.log().reading() as log:
        entry = log.job(JOB).entries[-1]
    assert entry.facts["light"] == "sun"
    assert served.services.log().file_path(entry.files[0].sha256).read_bytes() == data
    other = send_photo(crew, data, "f" * 32)  # the same picture, chosen once more
    assert (crew.status, other["number"], other["was_there"]) == (200, first["number"], True)


@pytest.mark.parametrize("what", ["entry", "photo"])
def test_what_another_typed_is_not_sent_as_ours(served: Served, crew: Phone, what: str) -> None:
    before = served.kinds(JOB)
    said = send(crew, who="Ada") if what == "entry" else send_photo(crew, photo(70), who="Ada")
    assert (crew.status, said["said"]) == (409, "Somebody else typed this; Bo came in.")
    assert served.kinds(JOB) == before


def test_who_has_not_come_in_is_told_in_json(served: Served) -> None:
    phone = served.phone()
    for path in ("/token", "/keep.json", "/sent", f"/sent/photo/{UID}"):
        how = phone.client.post if path.startswith("/sent") else phone.client.get
        answer = how(path, headers=phone.heads, follow_redirects=False)
        assert (answer.status_code, answer.json()) == (401, {"said": "Come in again."})


def test_a_token_of_another_session_sends_nothing(served: Served, crew: Phone) -> None:
    before, other = served.kinds(JOB), token(served.phone_of("Ada"))["csrf"]
    for csrf in ("x", other):
        crew.last = crew.client.post("/sent", content="{}", headers={**crew.heads, "x-csrf": csrf})
        assert (crew.status, crew.last.json()["said"]) == (403, "The token is too old, or not ours.")
    assert crew.client.post("/sent", content="{}", headers={"x-csrf": token(crew)["csrf"]}).status_code == 403
    assert served.kinds(JOB) == before


def test_what_is_wrong_or_odd_is_asked_and_then_kept(served: Served, crew: Phone) -> None:
    wrong = send(crew, texts={"at": "the day after never"})
    assert (crew.status, list(wrong["wrongs"])) == (422, ["at"])
    odd = send(crew, texts={"at": "2026-05-01 7a"})
    assert crew.status == 422
    assert "before the pour" in odd["doubts"][0]
    assert "sweep" not in served.kinds(JOB)
    assert send(crew, texts={"at": "2026-05-01 7a", "because": "the log had the wrong day"})["kept"]


NO_FORMS: tuple[tuple[dict[str, Any], str], ...] = (
    ({"uid": "x"}, "identity"),
    ({"uid": None}, "identity"),
    ({"texts": {"at": 7}}, "texts"),
    ({"texts": {"note": "x" * 30_000}}, "too long"),
    ({"kind": "change"}, "not to be logged"),
    ({"kind": "photo"}, "not to be logged"),
    ({"kind": "nonsense"}, "nonsense"),
    ({"job": "nobody"}, "nobody"),
    ({"job": "../../etc"}, "etc"),
    ({"texts": {"price_added": "100"}}, "Prices"),
)


def test_what_no_form_of_ours_sends_is_refused(served: Served, crew: Phone) -> None:
    before, csrf = served.kinds(JOB), token(crew)["csrf"]
    for body, said in NO_FORMS:
        assert said in send(crew, csrf=csrf, **{"texts": {"at": NOW}, **body})["said"]
        assert crew.status == 422
    for content in (b"", b"[1]", b"\xff", b"[" * 60_000):
        crew.last = crew.client.post("/sent", content=content, headers={**crew.heads, "x-csrf": csrf})
        assert crew.status in (409, 422)
    assert served.kinds(JOB) == before


@pytest.mark.parametrize(
    ("off_s", "said"), [(-720, "12 min behind"), (720, "12 min ahead"), (3 * 86400, "3 days ahead")]
)
def test_a_clock_that_is_off_is_said_and_kept_beside(
    served: Served, crew: Phone, off_s: float, said: str
) -> None:
    done = send(crew, texts={"note": "dry"}, off_s=off_s)
    assert done["clock"] == f"This phone's clock is {said}."
    with served.services.log().reading() as log:
        entry = log.job(JOB).entries[-1]
    assert entry.note == f"dry Phone's clock {said}."
    assert entry.happened.isoformat() == "2026-06-16T12:38:00+00:00"  # the phone's, as it was


@pytest.mark.parametrize("off_s", [299, -300, None, "nan", "inf", 1e30, "x", [], {}])
def test_a_clock_that_is_right_is_not_mentioned(off_s: object) -> None:
    assert PhoneClock.told(off_s).said == ""


AHEAD = (
    ("07:52", 720, "07:40", "12 min ahead: it said 7:52a.", "is 12 min ahead. It is logged at 7:40a, by"),
    (
        "08:40",
        3 * 3600,
        "05:40",
        "3 h ahead: it said 8:40a.",
        "It is logged at 5:40a, by",
    ),  # it waited two hours
    (
        "23:10",
        3 * 3600,
        "07:40",
        "3 h ahead: it said 11:10p.",
        "It is logged at 7:40a, by",
    ),  # never after it came
    (
        "09:40",
        0,
        "07:40",
        "said 9:40a.",
        "clock said 9:40a. It is logged at 7:40a, by",
    ),  # set right meanwhile
)
"""What the phone said, how far it is ahead; what is logged, kept beside it and told. It is 7:40."""


@pytest.mark.parametrize(("at", "off_s", "kept", "beside", "told"), AHEAD)
def test_now_on_a_phone_that_is_ahead_is_logged_as_what_it_was(
    served: Served, crew: Phone, at: str, off_s: float, kept: str, beside: str, told: str
) -> None:
    said = f"2026-06-16T{at}-05:00"
    done = send(crew, texts={"at": said, "note": "dry"}, now=True, typed=said, off_s=off_s)
    assert crew.status == 200, done
    assert told in done["clock"]
    with served.services.log().reading() as log:
        entry = log.job(JOB).entries[-1]
    assert entry.note == f"dry Phone's clock {beside}"
    assert entry.happened == datetime.fromisoformat(f"2026-06-16T{kept}-05:00")


@pytest.mark.parametrize(("at", "typed", "meant"), [
    ("20m ago", "2026-06-15T18:00-05:00", "2026-06-15T17:40-05:00"),
    ("7:20a", "2026-06-15T18:00-05:00", "2026-06-15T07:20-05:00"),
    ("yesterday 4p", "2026-06-15T19:00-04:00", "2026-06-14T16:00-05:00"),  # a phone in another zone
    ("20m ago", "2026-06-16T07:55-05:00", "2026-06-16T07:20-05:00"),  # a phone that is ahead
    ("20m ago", "", "2026-06-16T07:20-05:00"),
    ("20m ago", "0001-01-01T00:00+00:00", "2026-06-16T07:20-05:00"),
    ("2026-06-14 16:00", "2026-06-15T18:00-05:00", "2026-06-14T16:00-05:00"),
])  # fmt: skip
def test_a_time_is_meant_as_of_when_it_was_typed_not_of_when_it_came(
    served: Served, crew: Phone, at: str, typed: str, meant: str
) -> None:
    off_s = 900 if "07:55" in typed else 0
    done = send(crew, kind="note", texts={"at": at, "note": "dry"}, typed=typed, off_s=off_s)
    assert crew.status == 200, done
    assert happened(served, done["number"]) == datetime.fromisoformat(meant)


def test_so_is_that_of_a_photo(served: Served, crew: Phone) -> None:
    done = send_photo(
        crew, photo(70, taken=""), taken="7:20a", typed="2026-06-15T18:00-05:00", because="so it is"
    )
    assert crew.status == 200, done
    assert happened(served, done["number"]) == datetime.fromisoformat("2026-06-15T07:20-05:00")


def test_a_time_to_come_that_somebody_typed_is_asked(served: Served, crew: Phone) -> None:
    for at in ("2026-06-16T07:52-05:00", "7:52a"):
        said = send(crew, texts={"at": at}, off_s=720)
        assert crew.status == 422
        assert "is in the future" in said["said"]
    assert "sweep" not in served.kinds(JOB)


def test_without_script_now_is_the_moment_it_comes(served: Served, crew: Phone) -> None:
    for n, at in enumerate(("", "now")):
        crew.get(f"/job/{JOB}/log/note")
        crew.post(f"/job/{JOB}/log/note", at=at, note=f"number {n}")
        assert crew.status == 200
        with served.services.log().reading() as log:
            assert log.job(JOB).entries[-1].happened == served.services.clock()


def test_a_photo_of_a_phone_that_is_ahead_was_taken_when_it_was(served: Served, crew: Phone) -> None:
    ahead = photo(70, taken="2026-06-16 07:50:30")
    assert "is in the future" in send_photo(crew, photo(71, taken="2026-06-16 08:50:30"))["said"]
    done = send_photo(crew, ahead, off_s="720")
    assert (crew.status, done["clock"]) == (200, "This phone's clock is 12 min ahead.")
    with served.services.log().reading() as log:
        entry = log.job(JOB).entries[-1]
    assert entry.happened == datetime.fromisoformat("2026-06-16T07:38:30-05:00")
    assert entry.note == "Phone's clock 12 min ahead."
    assert served.services.log().file_path(entry.files[0].sha256).read_bytes() == ahead


def test_the_token_says_who_and_what_time_it_is(served: Served, crew: Phone) -> None:
    said = token(crew)
    assert (said["who"], said["now"]) == ("Bo", served.services.clock().timestamp())


def test_a_file_is_judged_by_its_bytes(served: Served, crew: Phone) -> None:
    before = served.kinds(JOB)
    for data in (b"", b"#!/bin/sh\n", b"\xff\xd8\xff" + b"\0" * 100):
        assert send_photo(crew, data)["wrongs"][""]
        assert crew.status == 422
    assert served.kinds(JOB) == before


def test_a_photo_without_its_time_asks_for_it(served: Served, crew: Phone) -> None:
    bare = photo(70, taken="")
    assert send_photo(crew, bare)["needs_time"] is True
    assert send_photo(crew, bare, taken="unknown")["kept"] is True


def test_a_photo_beyond_the_cap_is_cut_off(
    served: Served, crew: Phone, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert photos.ONE_MOST == 40 * 2**20
    monkeypatch.setattr(photos, "ONE_MOST", 100_000)
    before = served.kinds(JOB)

    def pieces() -> Iterator[bytes]:  # no length is said beforehand
        for _ in range(50):
            yield b"\xff" * 10_000

    assert send_photo(crew, pieces())["said"] == "That is too large."
    assert crew.status == 413
    assert crew.client.post(
        f"/sent/photo/{UID}", content=b"x" * 100_001, headers=crew.heads
    ).status_code == 413  # fmt: skip
    assert served.kinds(JOB) == before


def test_a_log_that_is_away_keeps_it_waiting(
    served: Served, crew: Phone, monkeypatch: pytest.MonkeyPatch
) -> None:
    csrf = token(crew)["csrf"]

    def away(*_: object, **__: object) -> None:
        raise LogError("The server is away.")

    monkeypatch.setattr(queue.record, "record", away)
    assert send(crew, csrf=csrf)["said"] == "The server is away."
    assert crew.status == 503


def test_what_is_kept_for_no_signal_can_all_be_read(served: Served, crew: Phone) -> None:
    pages = crew.client.get("/keep.json").json()["pages"]
    assert pages[:3] == ["/", "/find", "/waiting"]
    assert f"/job/{JOB}/log/sweep" in pages
    assert not [page for page in pages if page.endswith("/change")]
    for page in pages[:8]:
        answer = crew.client.get(page, follow_redirects=False)
        assert (page, answer.status_code) == (page, 200)


def test_the_worker_stands_at_the_root(served: Served) -> None:
    answer = served.phone().client.get("/worker.js")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/javascript")
    assert answer.headers["cache-control"] == "no-store"
    assert answer.headers["content-security-policy"] == guard.POLICY
