"""The words of the shop on sheets and letters, each a setting of the log."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from finishlog import units
from finishlog.errors import InputError


@dataclass(frozen=True, slots=True)
class Text:
    """Shop wording, saved in the log under `key`; blank means `default`. `holes` are its {placeholders}."""

    key: str
    title: str
    default: str
    longest: int
    help: str
    holes: tuple[str, ...] = ()

    def read(self, text: str) -> str:
        """The text to save. Raises InputError for unprintable characters or unknown placeholders."""
        found = " ".join(text.split(" ")).strip()
        bad = next((mark for mark in found if unicodedata.category(mark) in ("Cc", "Cs", "Zl", "Zp")), None)
        if bad is not None:
            raise InputError(f"{self.title}: a control character cannot be printed.",
                             where=self.key, example=self.default or self.help)  # fmt: skip
        if len(found) > self.longest:
            raise InputError(f"{self.title}: {len(found):,} characters are too long, {self.longest:,} at most.",
                             where=self.key, example=self.default or self.help)  # fmt: skip
        self._check_holes(found)
        return found

    def _check_holes(self, text: str) -> None:
        if strange := [hole for hole in re.findall(r"\{([^{}]*)\}", text) if hole not in self.holes]:
            has = ", ".join(f"{{{hole}}}" for hole in self.holes) or "none"
            raise InputError(f"{self.title}: there is no {{{units.shown(strange[0])}}} to fill in.",
                             f"Use one of {has}.", where=self.key, example=self.default)  # fmt: skip

    def filled(self, text: str, **values: str) -> str:
        """The text with its placeholders filled; anything else in braces stays."""
        return re.sub(r"\{(\w+)\}", lambda hole: values.get(hole[1], hole[0]), text or self.default)


HOLES = ("customer", "street", "due", "shop", "phone")
DAY_HOLES = ("customer", "street", "day", "shop", "phone")
TEXTS: tuple[Text, ...] = (
    Text("shop_name", "Shop", "", 80, "printed on sheets and letters"),
    Text("shop_phone", "Phone", "", 40, "555-0142"),
    Text("shop_email", "E-mail", "", 120, "shop@example.com"),
    Text("shop_street", "Street", "", 160, "12 Upsidedown Lane, Wobbleton"),
    Text("letter_subject", "Subject", "Time to look at the sealer, {street}", 120,
         "for a reseal reminder", HOLES),
    Text("letter_greeting", "Greeting", "Dear {customer},", 120, "the opening of a reminder", HOLES),
    Text("letter_body", "Letter",
         "The concrete we finished for you at {street} is due for a new coat of sealer {due}. "
         "Resealing on time protects the color and saves stripping later. Shall we come and look at it?",
         400, "the body of a reminder", HOLES),
    Text("letter_more", "Second paragraph", "", 400, "more text; blank: none", HOLES),
    Text("booked_subject", "Subject, booked", "We reseal your concrete on {day}, {street}", 120,
         "of a letter that confirms a booking", DAY_HOLES),
    Text("booked_body", "Letter, booked",
         "Thank you for booking. We will come to {street} on {day} to put a new coat of sealer on the concrete. "
         "If that day does not work for you, please let us know.",
         400, "how a booking is confirmed", DAY_HOLES),
    Text("done_subject", "Subject, thank-you", "Thank you, {street}", 120,
         "of a thank-you for a reseal that is done", DAY_HOLES),
    Text("done_body", "Letter, thank-you",
         "Thank you for having us. The concrete at {street} got its new coat of sealer on {day}. "
         "We will let you know when the next one is due.",
         400, "the thank-you for a reseal that is done", DAY_HOLES),
    Text("letter_closing", "Closing", "Kind regards, {shop}", 120, "the closing of a reminder", HOLES),
)  # fmt: skip
"""The words of the shop on sheets and letters, as settings of the log."""
