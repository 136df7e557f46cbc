"""The words of a reminder, from the shop's own texts: for letters, drafts and tables alike."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from finishlog.desk.words import month
from finishlog.records.care import Reseal
from finishlog.records.shop import TEXTS
from finishlog.units import write_weekday


@dataclass(frozen=True, slots=True)
class Reminder:
    """What a customer reads: a subject and paragraphs, with the holes filled; a blank line parts those of `body`."""

    subject: str
    greeting: str
    body: str
    closing: str

    @property
    def paragraphs(self) -> tuple[str, ...]:
        return tuple(text for text in (self.greeting, *self.body.split("\n\n"), self.closing) if text)


def reminder(line: Reseal, texts: Mapping[str, str], today: date) -> Reminder:
    """The reminder of a reseal in the shop's words; `texts` as the log has them."""
    known = {text.key: text for text in TEXTS}

    holes = {
        "customer": line.customer.name,
        "street": line.street,
        "due": due_words(line, today),
        "shop": texts.get("shop_name", "").strip(),
        "phone": texts.get("shop_phone", "").strip(),
    }

    def said(key: str) -> str:
        return known[key].filled(texts.get(key, "").strip(), **holes).strip(" ,")

    greeting = known["letter_greeting"].filled(texts.get("letter_greeting", "").strip(), **holes)
    body = "\n\n".join(text for text in (said("letter_body"), said("letter_more")) if text)
    return Reminder(said("letter_subject"), greeting, body, said("letter_closing"))


def due_words(line: Reseal, today: date) -> str:
    """When, as it stands in a sentence: `from Aug 2026 on`, `by Aug 2027`, `on Fri Aug 14`, `now`."""
    if line.state == "booked" and line.on is not None:
        return f"on {write_weekday(line.on)}"
    if today < line.due_from:
        return f"from {month(line.due_from)} on"
    return f"by {month(line.due_to)}" if today <= line.due_to else "now"
