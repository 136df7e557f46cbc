"""The text of a reminder, from the shop's own texts, for letters, drafts and tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from finishlog.desk.words import month
from finishlog.plain import visible, visible_lines
from finishlog.records.care import Reseal, Sends
from finishlog.records.shop_texts import TEXTS
from finishlog.units import write_weekday


@dataclass(frozen=True, slots=True)
class Reminder:
    """A customer's letter: subject and paragraphs with placeholders filled; blank lines separate `body`."""

    subject: str
    greeting: str
    body: str
    closing: str

    @property
    def paragraphs(self) -> tuple[str, ...]:
        """Non-empty paragraphs from greeting to closing."""
        return tuple(text for text in (self.greeting, *self.body.split("\n\n"), self.closing) if text)


_TEXTS: Mapping[Sends, tuple[str, tuple[str, ...]]] = {
    "remind": ("letter_subject", ("letter_body", "letter_more")),
    "confirm": ("booked_subject", ("booked_body",)),
    "thank": ("done_subject", ("done_body",)),
}
"""The shop's texts of each kind of letter: its subject and its paragraphs."""


def reminder(line: Reseal, texts: Mapping[str, str], today: date, what: Sends | None = None) -> Reminder:
    """A reseal's letter in the shop's words; `texts` from the log. None: by its state. Nothing raw is in it."""
    known = {text.key: text for text in TEXTS}
    subject, paragraphs = _TEXTS[what or fits(line)]

    texts = {key: visible_lines(text) for key, text in texts.items()}
    holes = {
        "customer": visible(line.customer.name),
        "street": visible(line.known_street or line.town or "your place"),
        "due": due_words(line, today),
        "day": write_weekday(line.on, today) if line.on else "",
        "shop": texts.get("shop_name", "").strip(),
        "phone": texts.get("shop_phone", "").strip(),
    }

    def said(key: str) -> str:
        return known[key].filled(texts.get(key, "").strip(), **holes).strip(" ,")

    greeting = known["letter_greeting"].filled(texts.get("letter_greeting", "").strip(), **holes)
    body = "\n\n".join(text for key in paragraphs if (text := said(key)))
    return Reminder(said(subject), greeting, body, said("letter_closing"))


def fits(line: Reseal) -> Sends:
    """The kind of letter for a reseal's state."""
    if line.state == "booked" and line.on is not None:
        return "confirm"
    return "thank" if line.state == "done" else "remind"


def due_words(line: Reseal, today: date) -> str:
    """The due time for a sentence: `from Aug 2026 on`, `by Aug 2027`, `now`.

    A window that opens off season starts with the season.
    """
    if today < line.due_from:
        opens = line.due_from.replace(day=1)
        season = date(*line.month, 1) if line.on is None and line.month[0] else opens
        return f"from {month(max(opens, season))} on"
    return f"by {month(line.due_to)}" if today <= line.due_to else "now"
