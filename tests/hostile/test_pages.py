"""Hostile text in every field of a log: each page for a phone shows it as text."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

from starlette.testclient import TestClient

from finishlog.web.app import make
from finishlog.web.gate.book import BookFile
from finishlog.web.gate.people import People
from finishlog.web.gate.tries import Tries
from finishlog.web.gate.visits import Visits
from finishlog.web.site import Site
from finishlog.wiring import build
from tests.hostile import shop
from tests.hostile.test_read_back import base, hostile_log

__all__ = ["base", "hostile_log"]
TEXT = "\"><img src=x onerror=alert(1)><script>alert(1)</script>' onmouseover='alert(1) {{7*7}}"
ORIGIN = "http://127.0.0.1:8021"


class Page(HTMLParser):
    """What a browser would make of a page: what there is of script, where its links lead, its text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.bad: list[str] = []
        self.links: set[str] = set()
        self.text = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.bad += [f"{tag} {name}" for name in given if name.startswith("on") or name == "style"]
        source = given.get("src") or ""
        if tag in ("iframe", "object", "embed", "style", "base") or source == "x":
            self.bad.append(tag)
        if tag == "script" and not source.startswith("/static/"):
            self.bad.append(tag)
        target = given.get("href") or given.get("action") or ""
        if target and not target.startswith(("/", "#", "tel:", "?")):
            self.bad.append(f"{tag} to {target}")
        if tag == "a" and target.startswith("/"):
            self.links.add(target)

    def handle_data(self, data: str) -> None:
        self.text += data


def test_markup_in_every_field_is_text_on_every_page(
    hostile_log: Callable[[str], Path], clock: str, tmp_path: Path
) -> None:
    site = Site(
        build(str(hostile_log(TEXT))),
        People(BookFile(tmp_path / "people.json"), Tries(time.monotonic), time.time),
        Visits(tmp_path / "visits.log", build(None).now),
    )
    site.people.add("Ada", "owner")
    with TestClient(make(site, (ORIGIN,)), base_url=ORIGIN) as phone:
        phone.post(f"/in/{site.people.link('Ada')}", headers={"origin": ORIGIN})
        to_see, seen, shown = ["/", "/find", f"/job/{shop.JOB}?all=1", f"/find?words={TEXT}"], set[str](), 0
        while to_see:
            path = to_see.pop()
            answer = phone.get(path)
            assert answer.status_code in (200, 404, 422), path
            if not answer.headers["content-type"].startswith("text/html"):
                continue
            page = Page(answer.text)
            assert page.bad == [], path
            shown += "<script>alert(1)</script>" in page.text
            assert "{49}" not in page.text
            fresh = {link for link in page.links if _kind_of(link) not in seen}
            seen |= {_kind_of(link) for link in fresh}
            to_see += fresh
    site.close()
    assert shown >= 6
    assert {"/job/*/log", "/job/*/photos", "/find"} <= seen


def _kind_of(link: str) -> str:
    """Two jobs' pages are one kind; each kind of entry has its own form."""
    return re.sub(r"^/job/[^/?]+", "/job/*", link).partition("?")[0]
