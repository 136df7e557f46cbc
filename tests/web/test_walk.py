"""A crew member's walk over the page, without script: in by a link, what is due, a job found, a sweep logged."""

from __future__ import annotations

import re

import pytest

from finishlog.desk.due import today as due_today
from finishlog.desk.record import record
from finishlog.web.pages import today
from tests.web.conftest import Phone, Served

JOB = "larkspur-breakfast-patio"
FRONT = "bogglethwaite-front-yard"


def test_nobody_sees_anything_who_has_not_come_in(served: Served) -> None:
    phone = served.phone()
    for path in ("/", "/find?words=tumbel", f"/job/{FRONT}", f"/job/{FRONT}/log/sweep"):
        text = phone.get(path)
        assert "Come in" in text
        assert "Bogglethwaite" not in text
    phone.post(f"/job/{JOB}/log/sweep", note="dry")
    assert "sweep" not in served.kinds(JOB)


def test_a_link_lets_in_one_phone_once(served: Served) -> None:
    served.site.people.add("Bo", "crew")
    token = served.site.people.link("Bo")
    first, second = served.phone(), served.phone()
    first.get(f"/in/{token}")
    first.post(f"/in/{token}")
    assert "Today" in first.last.text
    assert "void" in second.post(f"/in/{token}")
    assert "Come in" in second.get("/")


def test_a_link_ends_and_so_does_who_came_by_it(served: Served) -> None:
    phone = served.phone_of("Bo")
    unused = served.site.people.link("Bo")
    served.seconds.at += 24 * 3600 - 1
    assert "Rinse" in phone.get("/")
    served.seconds.at += 2
    assert "Rinse" not in phone.get("/")
    assert "void" in served.phone().post(f"/in/{unused}")


@pytest.mark.parametrize(("role", "more"), [("crew", []), ("office", ["/screens"]), ("owner", ["/screens"])])
def test_every_page_is_linked_that_opens_and_no_other(served: Served, role: str, more: list[str]) -> None:
    phone = served.phone_of("Una", role)
    nav = phone.get("/").partition("<nav")[2].partition("</nav>")[0]
    links = re.findall(r'href="([^"]+)"', nav)
    assert links == ["/", "/find", "/waiting", *more]
    for link in links:
        phone.get(link)
        assert phone.status == 200
    assert "<nav" not in served.phone().get("/in")


def test_what_is_due_has_its_caution(crew: Phone) -> None:
    text = crew.get("/")
    assert re.search(r"Rinse due by \w+ \d+:\d+[ap]", text)
    assert "Stop while it still looks heavy: it cannot be put back." in text


def test_a_job_is_found_by_half_a_street(crew: Phone) -> None:
    assert f"/job/{FRONT}" in crew.get("/find?words=tumbel")
    assert "Final color" in crew.get(f"/job/{FRONT}")


def test_an_entry_is_logged_once_however_often_it_is_sent(served: Served, crew: Phone) -> None:
    crew.get(f"/job/{JOB}/log/sweep")
    form = crew.hidden()
    crew.post(f"/job/{JOB}/log/sweep", by="Bo", **form)
    assert crew.status == 200
    assert "swept" in crew.last.text
    crew.post(f"/job/{JOB}/log/sweep", by="Bo", **form)
    assert crew.status == 200
    assert served.kinds(JOB).count("sweep") == 1


def test_what_is_wrong_is_said_at_its_field_and_what_was_typed_stays(served: Served, crew: Phone) -> None:
    crew.get(f"/job/{JOB}/log/sweep")
    text = crew.post(f"/job/{JOB}/log/sweep", at="the day after never", by="Bo")
    assert crew.status == 422
    assert 'value="the day after never"' in text
    assert 'id="w-at"' in text
    assert "sweep" not in served.kinds(JOB)


def test_what_is_odd_is_asked_once(served: Served, crew: Phone) -> None:
    crew.get(f"/job/{JOB}/log/sweep")
    text = crew.post(f"/job/{JOB}/log/sweep", at="2026-05-01 7a")
    assert crew.status == 422
    assert "Because" in text
    crew.post(f"/job/{JOB}/log/sweep", at="2026-05-01 7a", because="the log had the wrong day")
    assert served.kinds(JOB).count("sweep") == 1


@pytest.mark.parametrize(
    "path", ["/job/nobody", "/job/nobody/log/sweep", f"/job/{FRONT}/log/nonsense", "/nothing"]
)
def test_what_is_not_there_is_said(crew: Phone, path: str) -> None:
    crew.get(path)
    assert crew.status == 404
    assert "Traceback" not in crew.last.text


def test_signed_out_is_out(served: Served, crew: Phone) -> None:
    cookie = dict(crew.client.cookies)
    crew.get("/")
    crew.post("/out")
    thief = served.phone()
    thief.client.cookies.update(cookie)
    assert "Come in" in thief.get("/")


def test_an_entry_is_by_who_came_in_unless_another_is_named(crew: Phone) -> None:
    text = crew.get(f"/job/{JOB}/log/sweep")
    assert re.search(r'name="by" value="Bo"', text)


def test_a_form_says_nothing_of_keys_that_a_phone_has_not(crew: Phone) -> None:
    text = crew.get(f"/job/{JOB}/log/rinse")
    assert 'placeholder="planned' in text
    assert "Enter" not in text


def test_a_long_list_shows_what_is_to_be_done_first(crew: Phone, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = crew.get("/")
    monkeypatch.setattr(today, "MOST", 1)
    short = crew.get("/")
    assert short.count('class="card"') == 4  # one of each state, and the rinse that the page begins with
    assert "Rinse due" in short
    assert "<strong>Rinse</strong>" in short
    assert re.search(r'href="/\?all=1">2 more<', short)
    assert "4 open" in short
    assert crew.get("/?all=1").count('class="card"') == whole.count('class="card"')


def test_after_an_entry_today_is_made_anew_before_anybody_asks(
    served: Served, crew: Phone, monkeypatch: pytest.MonkeyPatch
) -> None:
    sweep = f"/job/{JOB}/log/sweep"
    assert sweep in crew.get("/")
    crew.get(sweep)
    crew.post(sweep, by="Bo")

    def asked(*_: object, **__: object) -> None:
        raise AssertionError("it was made when it was asked for")

    monkeypatch.setattr(due_today, "today", asked)
    assert sweep not in crew.get("/")
    assert crew.status == 200


def test_what_another_program_logs_is_on_the_next_page(served: Served, crew: Phone) -> None:
    sweep = f"/job/{JOB}/log/sweep"
    assert sweep in crew.get("/")
    record.record(served.services, JOB, "sweep", {"at": "now", "by": "Ada"})
    assert sweep not in crew.get("/")
