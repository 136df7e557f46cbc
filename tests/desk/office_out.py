"""What the office sent out of a folder, read back by person with code that did not write it."""

from __future__ import annotations

import csv
import email
import email.policy
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import icalendar

from finishlog.records.care import Reseal
from tests.papers import reading


@dataclass
class Out:
    """By person: rows of the table, text of letter and draft, event; and what was said of the writing."""

    table: dict[str, dict[str, str]]
    letters: dict[str, str]
    drafts: dict[str, str]
    events: dict[str, Any]
    said: str


def table(file: Path) -> dict[str, dict[str, str]]:
    with file.open(encoding="utf-8-sig", newline="") as opened:
        return {row["customer"]: row for row in csv.DictReader(opened)}


def letters(file: Path, names: Collection[str]) -> dict[str, str]:
    pages = [" ".join(page.split()) for page in reading.pages(file.read_bytes())]
    found = {next(name for name in names if f"Dear {name}," in page): page for page in pages}
    assert len(found) == len(pages)
    return found


def drafts(folder: Path) -> dict[str, str]:
    found = {}
    for file in folder.iterdir():
        message: Any = email.message_from_bytes(file.read_bytes(), policy=email.policy.default)
        found[message["To"].addresses[0].display_name] = " ".join(
            message.get_body(("plain",)).get_content().split()
        )
    return found


def events(file: Path) -> dict[str, Any]:
    read = icalendar.Calendar.from_ical(file.read_bytes())
    live = [event for event in read.walk("VEVENT") if event["STATUS"] != "CANCELLED"]
    found: dict[str, Any] = {}
    for event in sorted(live, key=lambda event: event["DTSTART"].dt):  # the nearest of a person stands
        found.setdefault(str(event["SUMMARY"]).split(": ")[1].split(" · ")[0], event)
    return found


def agree(out: Out, before: Mapping[str, Reseal], after: Mapping[str, Reseal]) -> None:
    """Person by person, by what the book said before it was written and what it says after."""
    assert f"Written to {len(out.table)} of the {len(before)} on the list." in out.said
    no_street = {name for name in out.table if not out.table[name]["street"]}
    no_mail = {name for name in out.table if not out.table[name]["email"]}
    assert out.letters.keys() == out.table.keys() - no_street
    assert out.drafts.keys() == out.table.keys() - no_mail
    assert out.table.keys() <= out.events.keys()
    for name in (*no_street, *no_mail):
        assert name in out.said
    for name, line in before.items():
        _person(out, name, line)
    for name in out.table:
        assert after[name].last_written is not None
        assert after[name].state == ("booked" if before[name].state == "booked" else "written")


def _person(out: Out, name: str, line: Reseal) -> None:
    if line.state in ("declined", "ask_again"):
        assert name not in out.table.keys() | out.letters.keys() | out.drafts.keys() | out.events.keys()
    elif line.state == "booked" and name in out.table:
        assert line.on is not None
        day = f"{line.on:%a %b} {line.on.day}"
        texts = (out.table[name]["text"], out.letters.get(name, day), out.drafts.get(name, day))
        for text in texts:
            assert day in text
            assert "come and look" not in text
        assert out.table[name]["booked_on"] == line.on.isoformat()
        assert out.events[name]["DTSTART"].dt == line.on
        assert (line.said or line.note or "") in str(out.events[name]["DESCRIPTION"])
        assert (line.said or line.note or "") in out.table[name]["said"] + out.table[name]["note"]
    elif line.state == "due" and not line.bounced:
        assert "come and look" in out.table[name]["text"]
        assert name in out.events
    elif line.state != "booked":
        assert name not in out.table
