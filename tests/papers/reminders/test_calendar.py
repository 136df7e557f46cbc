"""The calendar of reseals, read back by rules of RFC 5545 written here and by a library that did not write it."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta

import icalendar
import pytest
import recurring_ical_events

from finishlog.papers.reminders.calendar import calendar, day_of
from finishlog.records.care import CareState, Reseal
from finishlog.records.log import Customer

MADE = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
SEASON = (4, 5, 6, 7, 8, 9, 10)
LINE = Reseal(
    uid="j1-a1-reseal-1", sequence=3, job="quillfeather-patio", name="back patio",
    customer=Customer("c1", "Ottoline Quillfeather", "555-0142"), street="12 Teakettle Lane", town="Nettlewick",
    areas=("field",), number=1, sealed_on=date(2023, 7, 3), due_from=date(2026, 7, 3), due_to=date(2028, 7, 3),
    state="due", why="Sealed Jul 3 2023.",
)  # fmt: skip


@dataclass
class Part:
    """A component as RFC 5545 has it: properties with their parameters, and components within."""

    name: str
    lines: list[tuple[str, str, str]] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)

    def values(self, name: str) -> list[str]:
        return [value for found, _, value in self.lines if found == name]

    def value(self, name: str) -> str:
        [only] = self.values(name)
        return only


def parsed(data: bytes) -> Part:
    """A calendar by RFC 5545 §3.1: CRLF, at most 75 octets a line, folded by a space, names and parameters."""
    text = data.decode("utf-8")
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    for line in data.split(b"\r\n"):
        assert len(line) <= 75, line
        line.decode("utf-8")  # a fold within a character would break it
    stack = [Part("")]
    for line in text.replace("\r\n ", "").split("\r\n")[:-1]:
        head, _, value = line.partition(":")
        name, _, parameters = head.partition(";")
        assert re.fullmatch(r"[A-Z-]+", name), line
        if name == "BEGIN":
            stack.append(Part(value))
        elif name == "END":
            done = stack.pop()
            assert done.name == value
            stack[-1].parts.append(done)
        else:
            stack[-1].lines.append((name, parameters, value))
    [whole] = stack[0].parts
    assert whole.name == "VCALENDAR"
    return whole


def plain(text: str) -> str:
    """A TEXT value by RFC 5545 §3.3.11."""
    return re.sub(r"\\([\\;,nN])", lambda mark: "\n" if mark[1] in "nN" else mark[1], text)


def events(*lines: Reseal, made: datetime = MADE) -> list[Part]:
    return parsed(calendar(lines, made, SEASON)).parts


def test_an_event_has_all_that_it_must_have() -> None:
    # RFC 5545 §3.6, §3.6.1: VERSION, PRODID, UID, DTSTAMP; all-day by VALUE=DATE with an exclusive DTEND.
    whole = parsed(calendar([LINE], MADE, SEASON))
    assert (whole.value("VERSION"), whole.value("METHOD")) == ("2.0", "PUBLISH")
    assert whole.value("PRODID")
    [event] = whole.parts
    assert ("DTSTART", "VALUE=DATE", "20260703") in event.lines
    assert ("DTEND", "VALUE=DATE", "20260704") in event.lines
    assert event.value("DTSTAMP") == "20260616T124000Z"
    assert event.value("UID").startswith("j1-a1-reseal-1@")
    assert event.value("SEQUENCE") == "3"
    assert plain(event.value("SUMMARY")) == "Reseal due: Ottoline Quillfeather · back patio"
    assert plain(event.value("LOCATION")) == "12 Teakettle Lane, Nettlewick"
    assert "555-0142" in plain(event.value("DESCRIPTION"))
    [alarm] = event.parts
    assert (alarm.name, alarm.value("ACTION"), alarm.value("TRIGGER")) == ("VALARM", "DISPLAY", "-P7D")
    assert alarm.value("DESCRIPTION")


def test_long_lines_with_accents_are_folded_at_octets_and_come_back_whole() -> None:
    name = "Étienne Müller-Åkerström · " * 8 + "señor 🪵 " * 12
    line = replace(LINE, name=name.strip(), note="première couche; à voir, c:\\dalle\nligne deux")
    [event] = events(line)
    assert plain(event.value("SUMMARY")) == f"Reseal due: Ottoline Quillfeather · {line.name}"
    assert "première couche; à voir, c:\\dalle\\x0aligne deux" in plain(event.value("DESCRIPTION"))


def test_no_text_can_write_a_line_of_its_own() -> None:
    evil = replace(LINE, name="patio\r\nEND:VEVENT\r\nBEGIN:VEVENT", street="x\x1b[31m\u202e\x00")
    [event] = events(evil)
    assert [name for name, _, _ in event.lines].count("SUMMARY") == 1
    assert "\\x0d\\x0aEND:VEVENT" in plain(event.value("SUMMARY"))
    assert not set(event.value("LOCATION")) & {"\x1b", "\x00", "\u202e"}


def test_the_second_calendar_has_the_same_names_and_rises_with_a_change() -> None:
    booked = replace(LINE, state="booked", on=date(2026, 8, 14), sequence=5)
    [first], [second] = events(LINE), events(booked, made=MADE + timedelta(days=3))
    assert first.value("UID") == second.value("UID")
    assert int(second.value("SEQUENCE")) > int(first.value("SEQUENCE"))
    assert second.value("DTSTART") == "20260814"
    assert second.parts[0].value("TRIGGER") == "-P1D"
    assert calendar([LINE], MADE, SEASON) == calendar([LINE], MADE, SEASON)


@pytest.mark.parametrize(
    ("line", "status", "alarms"),
    [
        (LINE, "TENTATIVE", 1),
        (replace(LINE, state="booked", on=date(2026, 8, 14)), "CONFIRMED", 1),
        (replace(LINE, state="done", on=date(2026, 6, 12)), "CONFIRMED", 0),
        (replace(LINE, state="declined"), "CANCELLED", 0),
        (replace(LINE, left_alone=True), "CANCELLED", 0),
        (replace(LINE, gone=True), "CANCELLED", 0),
    ],
)
def test_what_was_called_off_is_cancelled(line: Reseal, status: str, alarms: int) -> None:
    [event] = events(line)
    assert event.value("STATUS") == status
    assert len(event.parts) == alarms


@pytest.mark.parametrize(
    ("opens", "closes", "day"),
    [
        (date(2026, 7, 3), date(2028, 7, 3), date(2026, 7, 3)),
        (date(2026, 11, 20), date(2028, 11, 20), date(2027, 4, 1)),
        (date(2026, 11, 20), date(2027, 2, 1), date(2026, 11, 20)),
    ],
)
def test_the_day_is_the_first_of_the_window_on_which_we_seal(opens: date, closes: date, day: date) -> None:
    assert day_of(replace(LINE, due_from=opens, due_to=closes), SEASON) == day


def test_other_programs_find_each_on_its_day() -> None:
    states: tuple[CareState, ...] = ("due", "contacted", "booked", "ask_again")
    lines = [
        replace(LINE, uid=f"u{k}", state=state, on=date(2026, 8, 10 + k) if state != "due" else None)
        for k, state in enumerate(states)
    ]
    read = icalendar.Calendar.from_ical(calendar(lines, MADE, SEASON))
    found = recurring_ical_events.of(read).between((2026, 8, 1), (2026, 9, 1))
    assert sorted(str(event["UID"]).split("@")[0] for event in found) == ["u1", "u2", "u3"]
    assert sorted(event["DTSTART"].dt for event in found) == [
        date(2026, 8, 11),
        date(2026, 8, 12),
        date(2026, 8, 13),
    ]
    assert len(recurring_ical_events.of(read).at((2026, 8, 12))) == 1
    assert len(recurring_ical_events.of(read).at((2026, 7, 3))) == 1


def test_no_reseals_are_a_calendar_too() -> None:
    assert events() == []
