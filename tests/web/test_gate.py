"""What is refused at the gate: foreign hosts and origins, forms that are not ours, guessed phrases, large bodies."""

from __future__ import annotations

from pathlib import Path

import pytest

from finishlog.web.gate.book import BookFile
from finishlog.web.gate.people import People
from finishlog.web.gate.tries import Tries
from tests.web.conftest import ORIGIN, Phone, Seconds, Served

SWEEP = "/job/larkspur-breakfast-patio/log/sweep"


@pytest.mark.parametrize("host", ["example.com", "127.0.0.1:9", "127.0.0.1:8021.example.com", ""])
def test_a_foreign_host_is_refused(crew: Phone, host: str) -> None:
    assert crew.client.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize(
    "origin", ["http://example.com", "null", "https://127.0.0.1:8021", f"{ORIGIN}.example.com"]
)
def test_a_foreign_origin_changes_nothing(served: Served, crew: Phone, origin: str) -> None:
    crew.get(SWEEP)
    crew.heads = {"origin": origin}
    crew.post(SWEEP)
    assert crew.status == 403
    crew.heads = {}
    crew.post(SWEEP)
    assert crew.status == 403
    assert "sweep" not in served.kinds("larkspur-breakfast-patio")
    assert "another site" in served.visits()


@pytest.mark.parametrize("token", ["", "x", "of another"])
def test_a_form_that_is_not_ours_changes_nothing(served: Served, crew: Phone, token: str) -> None:
    other = served.phone_of("Ada")
    other.get(SWEEP)
    crew.get(SWEEP)
    crew.post(SWEEP, csrf=other.hidden()["csrf"] if token == "of another" else token)
    assert crew.status == 403
    assert "sweep" not in served.kinds("larkspur-breakfast-patio")


def test_twenty_guesses_are_slowed(served: Served) -> None:
    served.site.people.add("Wilma", "owner", "four words said apart")
    phone, asked = served.phone(), []
    for guess in range(20):
        phone.post("/in", name="wilma", phrase=f"guess number {guess}")
        asked.append(phone.status)
    assert asked[:4] == [403] * 4
    assert asked[4:] == [429] * 16
    assert int(phone.last.headers["retry-after"]) >= 1
    phone.post("/in", name="Wilma", phrase="four words said apart")
    assert phone.status == 429
    served.seconds.at += 2
    phone.post("/in", name="Wilma", phrase="four words said apart")
    assert phone.status == 200
    assert "Today" in phone.last.text


def test_a_large_form_is_refused(crew: Phone) -> None:
    crew.get(SWEEP)
    crew.post(SWEEP, note="x" * 70_000)
    assert crew.status == 413


def test_the_cookie_is_for_us_alone(served: Served) -> None:
    served.site.people.add("Bo", "crew")
    phone = served.phone()
    answer = phone.client.post(
        f"/in/{served.site.people.link('Bo')}", headers=phone.heads, follow_redirects=False
    )
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert "max-age=" in cookie


def test_another_role_puts_their_phones_out(served: Served, crew: Phone) -> None:
    assert "Rinse" in crew.get("/")
    served.site.people.add("Bo", "office")
    assert "Rinse" not in crew.get("/")


def test_each_answer_forbids_foreign_script(crew: Phone) -> None:
    for path in ("/", "/in", "/static/style.css", "/nothing"):
        policy = crew.client.get(path).headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy


def test_a_pass_phrase_is_kept_only_as_a_slow_hash(tmp_path: Path) -> None:
    people = People(BookFile(tmp_path / "people.json"), Tries(Seconds()), Seconds())
    people.add("Wilma", "owner", "four words said apart")
    kept = (tmp_path / "people.json").read_text("utf-8")
    assert "$argon2id$v=19$m=65536,t=3," in kept
    assert "four words" not in kept
    assert (tmp_path / "people.json").stat().st_mode & 0o077 == 0
