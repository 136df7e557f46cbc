"""What is logged from a line of Today is of that line: its area, and that it is a reseal."""

from __future__ import annotations

import json
import re

import pytest

from finishlog.desk.jobs import edit
from finishlog.desk.record import record
from finishlog.records.log import Entry
from tests.web.conftest import Phone, Served
from tests.web.test_photos import photo
from tests.web.test_queue import token

JOB = "ottoline-quillfeather-back-patio"
SECOND = "side & strip"


def add_two_areas(served: Served) -> None:
    """A slab whose second area was poured yesterday, long after the first: each is rinsed by itself."""
    job = {"customer": "Ottoline Quillfeather", "job": "back patio", "street": "12 Teakettle Lane"}
    edit.new_job(served.services, {**job, "areas": f"field 24x18 4in, {SECOND} 76 ft2"})
    for day, area in ((9, "field"), (15, SECOND)):
        texts = {"at": f"2026-06-{day:02} 06:20", "area": area, "by": "Mo"}
        record.record(served.services, JOB, "pour", texts)


@pytest.fixture
def two_areas(served: Served) -> Served:
    add_two_areas(served)
    return served


def last(served: Served) -> tuple[Entry, str | None]:
    """The entry logged last, and the name of its area."""
    with served.services.log().reading() as log:
        job = log.job(JOB)
    entry = job.entries[-1]
    return entry, next((area.name for area in job.areas if area.uid == entry.area), None)


def links(phone: Phone, page: str, title: str) -> list[str]:
    """Where the lines of Today with that title lead, of the job."""
    cards = re.findall(rf'href="(/job/{JOB}/{page}[^"]*)">\s*<span[^>]*><strong>{title}<', phone.get("/"))
    assert cards, phone.last.text
    return cards


def the_second(phone: Phone, page: str, title: str) -> str:
    (link,) = [link for link in links(phone, page, title) if "strip" in link]
    return link


def chosen(page: str, field: str) -> list[str]:
    select = page.partition(f'name="{field}"')[2].partition("</select>")[0]
    return re.findall(r"<option selected>([^<]*)<", select)


def fields(page: str) -> dict[str, str]:
    """What the script reads off the form: each field with what it shows."""
    inputs = dict(re.findall(r'<input id="f-(\w+)" name="\w+" value="([^"]*)"', page))
    selects = re.findall(r'<select id="f-\w+" name="(\w+)"', page)
    return inputs | {name: one for name in selects for one in chosen(page, name)}


def test_a_rinse_from_the_line_of_the_second_area_is_of_the_second(two_areas: Served, crew: Phone) -> None:
    link = the_second(crew, "log/rinse", "Rinse")
    page = crew.get(link)
    assert chosen(page, "area") == [SECOND]
    crew.post(link, **fields(page), because="dry and loose")
    assert crew.status == 200, crew.last.text
    entry, area = last(two_areas)
    assert (entry.kind, area) == ("rinse", SECOND)
    assert len(links(crew, "log/rinse", "Rinse")) == 1


def test_by_script_it_is_so_too(two_areas: Served, crew: Phone) -> None:
    page = crew.get(the_second(crew, "log/rinse", "Rinse"))
    texts = {**fields(page), "at": "2026-06-16T07:38-05:00", "because": "dry and loose"}
    item = {"uid": "ab" * 16, "who": "Bo", "job": JOB, "kind": "rinse", "texts": texts, "off_s": 0}
    heads = {**crew.heads, "x-csrf": token(crew)["csrf"]}
    crew.last = crew.client.post("/sent", content=json.dumps(item), headers=heads)
    assert crew.status == 200, crew.last.text
    assert last(two_areas)[1] == SECOND


def test_a_photo_from_the_line_of_the_second_area_is_of_the_second(two_areas: Served, crew: Phone) -> None:
    link = the_second(crew, "photos", "Photo, day 1")
    page = crew.get(link)
    crew.last = crew.client.post(
        link, data={**crew.hidden(), "area": chosen(page, "area")[0]}, headers=crew.heads,
        files=[("file", ("a.jpg", photo(70), "image/jpeg"))],
    )  # fmt: skip
    assert crew.status == 200
    assert (last(two_areas)[0].kind, last(two_areas)[1]) == ("photo", SECOND)


def test_an_area_that_the_job_has_not_is_none(two_areas: Served, crew: Phone) -> None:
    for page in ("log/rinse", "photos"):
        text = crew.get(f"/job/{JOB}/{page}?area=%3Cb%3Eattic")
        assert crew.status == 200
        assert "attic" not in text


def test_a_reseal_that_is_due_is_logged_as_one(two_areas: Served, crew: Phone) -> None:
    old = {
        "area": SECOND,
        "at": "2019-08-01 09:00",
        "number": "2",
        "product": "Test Guard",
        "because": "an old job",
    }
    for kind, texts in (("pour", {**old, "at": "2019-06-15 06:20"}), ("seal", old)):
        keep = {key: text for key, text in texts.items() if key in ("area", "at") or kind == "seal"}
        keep.pop("because", None)
        record.record(two_areas.services, JOB, kind, keep, because="an old job")
    (link,) = links(crew, "log/seal", "Reseal")
    page = crew.get(link)
    crew.post(link, **{**fields(page), "product": "Test Guard", "because": "as it was"})
    assert crew.status == 200, crew.last.text
    entry, area = last(two_areas)
    assert entry.coat is not None
    assert (entry.coat.reseal, entry.coat.number, area) == (True, 1, SECOND)


def test_all_that_today_leads_to_is_kept_for_no_signal(two_areas: Served, crew: Phone) -> None:
    pages = crew.client.get("/keep.json").json()["pages"]
    for link in (the_second(crew, "log/rinse", "Rinse"), the_second(crew, "photos", "Photo, day 1")):
        assert link in pages
    jobs = {page.split("/")[2] for page in pages if page.startswith("/job/")}
    leading = set(re.findall(r'<a class="card" href="(/job/([^/"]+)/[^"]*)"', crew.get("/")))
    assert {link for link, job in leading if job in jobs} <= set(pages)
