"""Reminders as e-mail drafts: one file each, opened and sent by the shop's own mail program."""

from __future__ import annotations

from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime

from finishlog.errors import InputError
from finishlog.papers.reminders.wording import Reminder
from finishlog.plain import visible

EXAMPLE = "ottoline@example.com"


def draft(reminder: Reminder, to: str, name: str, made: datetime, sender: str = "", shop: str = "") -> bytes:
    """A draft in the Internet Message Format (RFC 5322). Raises InputError for an invalid address."""
    message = EmailMessage(policy=SMTP)
    message["Subject"] = visible(reminder.subject)
    if sender:
        message["From"] = _address(sender, shop)
    message["To"] = _address(to, name)
    message["Date"] = format_datetime(made)
    message["X-Unsent"] = "1"
    message.set_content("\n\n".join(reminder.paragraphs) + "\n")
    return bytes(message)


def _address(text: str, name: str) -> Address:
    kept = check_address(text)
    user, _, domain = kept.rpartition("@")
    return Address(visible(name), user, domain)


def check_address(text: str) -> str:
    """An e-mail address valid in a header, stripped. Raises InputError for any other."""
    kept = text.strip(" ")
    user, at, domain = kept.rpartition("@")
    if any(not mark.isprintable() for mark in kept):
        title = f"“{visible(kept)[:60]}” has a line break or a control character."
        raise InputError(title, "It could forge mail headers.", where="e-mail", example=EXAMPLE)
    if (
        not (at and user and "." in domain and kept.isascii())
        or set(kept) & set(' ,;:<>()[]"\\')
        or "@" in user
    ):
        raise InputError(f"“{visible(kept)[:60]}” is no e-mail address.", where="e-mail", example=EXAMPLE)
    return kept
