"""What a person who came in, or one who did not, tries with the site itself."""

from __future__ import annotations

import struct
import zlib

import pytest
from starlette.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from finishlog.desk.record import record
from finishlog.web.app import make
from finishlog.web.gate import visits as visits_module
from finishlog.web.gate.proxy import Proxied
from tests.web.conftest import ORIGIN, Phone, Served
from tests.web.test_photos import send

JOB = "larkspur-breakfast-patio"
FRONT = "bogglethwaite-front-yard"
PRICE = "7319"


def test_a_crew_meets_no_price_and_logs_none(served: Served, crew: Phone) -> None:
    texts = {"at": "2026-06-15 10a", "price_added": PRICE, "asked_by": "customer", "note": "a wider border"}
    record.record(served.services, FRONT, "change", texts, because="as agreed")
    owner = served.phone_of("Ada", "owner")
    assert PRICE[1:] in owner.get(f"/job/{FRONT}?all=1")
    for path in (
        "/",
        f"/find?words={PRICE}",
        f"/job/{FRONT}?all=1",
        f"/job/{FRONT}/log",
        f"/job/{FRONT}/log/sweep",
    ):
        assert PRICE[1:] not in crew.get(path).replace(f'value="{PRICE}"', ""), path
    assert "/log/change" not in crew.get(f"/job/{FRONT}/log")
    before = served.kinds(FRONT)
    for kind in ("change", "recipe_joined"):
        crew.get(f"/job/{FRONT}/log/{kind}")
        assert crew.status == 403
        crew.get(f"/job/{FRONT}/log/sweep")
        crew.post(f"/job/{FRONT}/log/{kind}", price_added="1")
        assert crew.status == 403
    crew.get(f"/job/{FRONT}/log/sweep")
    crew.post(f"/job/{FRONT}/log/sweep", price_added=PRICE)
    assert crew.status in (403, 422)
    assert served.kinds(FRONT) == before


def test_a_crew_sees_other_customers_phones_only_where_the_owner_says_so(served: Served, crew: Phone) -> None:
    assert "tel:" not in crew.get(f"/job/{FRONT}")
    served.site.crew_sees_phones = True
    assert "tel:" in crew.get(f"/job/{FRONT}")


def test_no_search_of_a_crew_tells_a_phone_number_it_does_not_see(served: Served, crew: Phone) -> None:
    with served.services.log().reading() as log:
        phone = str(log.job(FRONT).customer.phone)
        name = log.job(FRONT).customer.name.split()[-1]
    last = phone.split("-")[1]
    owner = served.phone_of("Ada", "owner")
    for words in (phone, last, f'"{phone}"', f"{name} {last}"):
        assert f"/job/{FRONT}" in owner.get(f"/find?words={words}"), words
        right = crew.get(f"/find?words={words}").replace(words, "")
        wrong = words.replace(last, "9874")
        assert right == crew.get(f"/find?words={wrong}").replace(wrong, ""), words
    assert FRONT not in crew.get(f"/job/{phone}")
    assert f"/job/{FRONT}" in crew.get(f"/find?words={name}")
    served.site.crew_sees_phones = True
    assert f"/job/{FRONT}" in crew.get(f"/find?words={phone}")


@pytest.mark.parametrize("path", [
    "/static/../app.py", "/static/..%2fapp.py", "/static/%2e%2e/app.py", "/static//etc/passwd", "/static/..\\app.py",
    "/static/%00", "/job/..%2f..%2fetc", "/job/%2fetc%2fpasswd/photos", "//example.com/", "/in/..%2f..%2fetc",
    "/photo/..%2f..%2fetc%2fpasswd", "/calendar/../reseals.ics", "/worker.js/../../app.py",
])  # fmt: skip
def test_no_path_leads_to_a_file_of_the_machine(crew: Phone, path: str) -> None:
    answer = crew.client.get(ORIGIN + path, follow_redirects=False)
    assert answer.status_code in (200, 303, 307, 400, 404, 405)
    assert "root:" not in answer.text
    assert "import " not in answer.text
    assert "example.com" not in answer.headers.get("location", "")


def test_a_file_of_the_machine_is_not_taken_for_a_photo(served: Served, crew: Phone) -> None:
    before = served.kinds(JOB)
    crew.get(f"/job/{JOB}/log/sweep")
    crew.post(f"/job/{JOB}/log/photo", file="/etc/passwd", photo="/etc/passwd", name="/etc/passwd")
    assert crew.status in (403, 404, 422)
    assert served.kinds(JOB) == before


def bomb(side: int = 30_000) -> bytes:
    """A PNG of a few kilobytes that unpacks to gigabytes."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows = zlib.compressobj(9)
    packed = rows.compress(b"\0" * (1 << 20)) + rows.flush()
    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")


def test_a_picture_that_would_fill_the_memory_is_left_out(served: Served, crew: Phone) -> None:
    before = served.kinds(JOB)
    text = send(crew, ("bomb.png", bomb()), taken="today 7a", light="sun")
    assert crew.status == 422
    assert "bomb.png" in text
    assert served.kinds(JOB) == before
    assert "Today" in crew.get("/")


@pytest.mark.parametrize("headers", [{"origin": ORIGIN}, {"origin": "http://example.com"}, {}])
def test_there_is_no_web_socket(crew: Phone, headers: dict[str, str]) -> None:
    for path in ("/", "/in", f"/job/{JOB}"):
        with pytest.raises(WebSocketDisconnect), crew.client.websocket_connect(path, headers=headers):
            pass


def test_what_was_refused_is_noted_without_secrets(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    served.site.people.add("Wilma", "owner", "four words said apart")
    phone = served.phone()
    token = served.site.people.link("Wilma")
    phone.post("/in", name="four words said apart", phrase="wilma")  # the two mixed up
    phone.post("/in", name="wilma", phrase="three words said apart")
    phone.post(f"/in/{token}")
    phone.post(f"/in/{token}")
    cookie = next(iter(dict(phone.client.cookies).values()))
    phone.client.get("/?csrf=said", headers={"host": "example.com"})
    noted = served.visits()
    for secret in ("words", token, cookie, served.site.people.secret()):
        assert secret not in noted
    assert "came in by a link" in noted
    assert noted.count("Wilma") >= 2  # who was guessed at, and who came in
    monkeypatch.setattr(visits_module, "MOST", 2000)
    for _ in range(200):
        phone.client.get("/", headers={"host": "example.com"})
    files = list(served.site.visits.path.parent.glob("visits*"))
    assert len(files) == 2
    assert sum(file.stat().st_size for file in files) < 6000
    assert all(file.stat().st_mode & 0o077 == 0 for file in files)


def test_a_session_ends_by_itself(served: Served) -> None:
    served.site.people.add("Wilma", "owner", "four words said apart")
    phone = served.phone()
    phone.post("/in", name="Wilma", phrase="four words said apart")
    served.seconds.at += 14 * 24 * 3600 - 1
    assert "Today" in phone.get("/")
    served.seconds.at += 2
    assert "Come in" in phone.get("/")


OUTSIDE = "https://log.example.com"


@pytest.mark.parametrize(("peer", "heads", "status", "noted"), [
    ("10.0.0.5", {"x-forwarded-proto": "https", "x-forwarded-for": "6.6.6.6, 203.0.113.9"}, 200, None),
    ("10.0.0.5", {"x-forwarded-proto": "https, http", "x-forwarded-for": "203.0.113.9"}, 403, "10.0.0.5"),
    ("10.0.0.5", {}, 403, "10.0.0.5"),
    ("10.0.0.6", {"x-forwarded-proto": "https", "x-forwarded-for": "203.0.113.9"}, 403, "10.0.0.6"),
])  # fmt: skip
def test_only_the_named_proxy_says_where_one_comes_from(
    served: Served, peer: str, heads: dict[str, str], status: int, noted: str | None
) -> None:
    served.site.secure = True
    served.site.people.add("Bo", "crew")
    app = Proxied(make(served.site, (OUTSIDE,)), "10.0.0.5", served.site.visits.refused)
    phone = TestClient(app, base_url=OUTSIDE, client=(peer, 5))
    assert phone.get("/in", headers=heads).status_code == status
    if noted is None:
        answer = phone.post(
            f"/in/{served.site.people.link('Bo')}",
            headers={**heads, "origin": OUTSIDE},
            follow_redirects=False,
        )
        assert "secure" in answer.headers["set-cookie"].lower()
        assert "strict-transport-security" in answer.headers
        noted = "203.0.113.9"
    assert noted in served.visits()
    assert "6.6.6.6" not in served.visits()
