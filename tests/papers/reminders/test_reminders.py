"""Letters, drafts and the table for mail merge: the shop's words, read back by what did not write them."""

from __future__ import annotations

import csv
import email
import email.policy
from dataclasses import replace
from datetime import UTC, date, datetime
from email.message import EmailMessage

import pytest

from finishlog.desk.due.care_list import Going
from finishlog.errors import InputError
from finishlog.papers.reminders import mail
from finishlog.papers.reminders.letters import letters
from finishlog.papers.reminders.send import COLUMNS, table
from finishlog.papers.reminders.wording import due_words, reminder
from finishlog.records.care import Reseal
from finishlog.store.archive import csv_text
from tests.papers import reading
from tests.papers.reminders.test_calendar import LINE

MADE = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
TODAY = MADE.date()
TEXTS = {
    "shop_name": "Teakettle Slabs",
    "shop_phone": "555-0100",
    "shop_email": "shop@example.com",
    "letter_subject": "Your slab at {street}",
    "letter_greeting": "Good morning {customer},",
    "letter_body": "it wants a coat {due}. Call {phone}. {strange} stays.",
    "letter_closing": "{shop}",
}


def draft(line: Reseal = LINE, to: str = "ottoline@example.com", name: str = "Ottoline") -> EmailMessage:
    data = mail.draft(reminder(line, TEXTS, TODAY), to, name, MADE, "shop@example.com", "Teakettle Slabs")
    found = email.message_from_bytes(data, policy=email.policy.default)
    assert isinstance(found, EmailMessage)
    return found


def body(message: EmailMessage) -> str:
    part = message.get_body(("plain",))
    assert part is not None
    return str(part.get_content()).replace("\r\n", "\n")


# words


def test_the_shops_own_words_are_filled_and_the_default_else() -> None:
    own = reminder(LINE, TEXTS, TODAY)
    assert own.subject == "Your slab at 12 Teakettle Lane"
    assert own.greeting == "Good morning Ottoline Quillfeather,"
    assert own.body == "it wants a coat from Jul 2026 on. Call 555-0100. {strange} stays."
    usual = reminder(LINE, {}, TODAY)
    assert "12 Teakettle Lane" in usual.body
    assert "{" not in " ".join((usual.subject, *usual.paragraphs))


def test_a_second_paragraph_stands_apart_in_letter_and_draft() -> None:
    own = reminder(LINE, {**TEXTS, "letter_more": "Or write to {shop}."}, TODAY)
    assert own.paragraphs[2] == "Or write to Teakettle Slabs."
    assert len(own.paragraphs) == len(reminder(LINE, TEXTS, TODAY).paragraphs) + 1
    data = mail.draft(own, "ottoline@example.com", "Ottoline", MADE, "shop@example.com", "Teakettle Slabs")
    message = email.message_from_bytes(data, policy=email.policy.default)
    assert isinstance(message, EmailMessage)
    assert "stays.\n\nOr write to Teakettle Slabs.\n\nTeakettle Slabs" in body(message)


@pytest.mark.parametrize(
    ("today", "words"),
    [(date(2026, 6, 16), "from Jul 2026 on"), (date(2026, 7, 3), "by Jul 2028"), (date(2028, 7, 4), "now")],
)
def test_when_is_said_as_it_stands(today: date, words: str) -> None:
    assert due_words(LINE, today) == words


def test_the_text_fits_the_state() -> None:
    booked = reminder(replace(LINE, state="booked", on=date(2026, 8, 14)), {}, TODAY)
    assert "Fri Aug 14" in booked.subject
    assert "We will come to 12 Teakettle Lane on Fri Aug 14" in booked.body
    assert "come and look" not in booked.body
    done = reminder(replace(LINE, state="done", on=date(2026, 6, 12)), {}, TODAY)
    assert done.body.startswith("Thank you for having us.")
    assert "Fri Jun 12" in done.body
    assert "come and look" in reminder(replace(LINE, state="written"), {}, TODAY).body


# drafts


def test_a_draft_is_read_back() -> None:
    message = draft()
    assert message["To"].addresses[0].addr_spec == "ottoline@example.com"
    assert message["From"].addresses[0].addr_spec == "shop@example.com"
    assert message["Subject"] == "Your slab at 12 Teakettle Lane"
    assert message["Date"].datetime == MADE
    assert message["X-Unsent"] == "1"
    assert "Good morning Ottoline Quillfeather,\n\nit wants a coat from Jul 2026 on." in body(message)
    assert not message.defects


def test_accents_come_back_whole() -> None:
    line = replace(
        LINE, customer=replace(LINE.customer, name="Étienne Müller 🪵"), street="3 Åkerstråle; Ünder"
    )
    message = draft(line, name="Étienne Müller 🪵")
    assert message["To"].addresses[0].display_name == "Étienne Müller 🪵"
    assert message["Subject"] == "Your slab at 3 Åkerstråle; Ünder"
    assert "Good morning Étienne Müller 🪵," in body(message)


@pytest.mark.parametrize(
    "address",
    [
        "ottoline@example.com\nBcc: all@example.com",
        "ottoline@example.com\r\n\r\nbuy",
        "\rottoline@example.com",
        "ottoline@example.com\x00",
        "a@example.com, b@example.com",
        "a@b@example.com",
        "ottoline",
        "@example.com",
        "ottoline@",
        "otto line@example.com",
        "<ottoline@example.com>",
        "ottoline@exämple.com",
        "",
    ],
)
def test_what_is_no_address_is_refused(address: str) -> None:
    with pytest.raises(InputError) as failure:
        draft(to=address)
    assert "\n" not in failure.value.line()


def test_names_and_texts_write_no_headers() -> None:
    line = replace(LINE, street="12 Lane\r\nBcc: all@example.com")
    message = draft(line, name="Otto\nBcc: x@example.com")
    assert message["Bcc"] is None
    assert set(message.keys()) <= {
        "Subject", "From", "To", "Date", "X-Unsent", "Content-Type", "Content-Transfer-Encoding", "MIME-Version",
    }  # fmt: skip


# letters


def test_a_letter_for_each_with_head_address_and_words() -> None:
    other = replace(
        LINE, customer=replace(LINE.customer, name="Bertram Puddlecombe"), street="9 Gravelpit Road"
    )
    data = letters([Going(LINE, "remind"), Going(other, "remind")], TEXTS, MADE)
    assert data == letters([Going(LINE, "remind"), Going(other, "remind")], TEXTS, MADE)
    first, second = reading.pages(data)
    for part in ("Teakettle Slabs", "555-0100", "shop@example.com", "Ottoline Quillfeather", "12 Teakettle Lane",
                 "Nettlewick", "Jun 16 2026", "Your slab at 12 Teakettle Lane", "it wants a coat"):  # fmt: skip
        assert part in first
    assert "Bertram Puddlecombe" in second
    assert "Ottoline" not in second


def test_a_letter_without_the_shops_words_and_on_the_other_paper() -> None:
    data = letters([Going(LINE, "remind")], {}, MADE, "a4")
    [page] = reading.reader(data).pages
    assert (round(page.mediabox.width), round(page.mediabox.height)) == (595, 842)
    assert "Ottoline Quillfeather" in reading.text(data)
    with pytest.raises(InputError):
        letters([Going(LINE, "remind")], {}, MADE, "foolscap")


def test_a_very_long_letter_goes_on_and_says_everything() -> None:
    texts = {
        **TEXTS,
        "shop_name": "A very long name of a shop " * 5,
        "letter_body": "word " * 900 + "the end",
    }
    data = letters([Going(LINE, "remind")], texts, MADE)
    assert len(reading.pages(data)) == 2
    assert "the end" in reading.text(data)


# the table


def test_the_table_comes_back_and_holds_no_formula() -> None:
    evil = replace(LINE, customer=replace(LINE.customer, name='=HYPERLINK("x")', phone="+1 555-0142"), street="-1+1",
                   town='a "b", c\nd')  # fmt: skip
    booked = replace(LINE, state="booked", on=date(2026, 8, 14))
    data = table([Going(LINE, "remind"), Going(evil, "remind"), Going(booked, "confirm")], TEXTS, TODAY)
    assert data.startswith(b"\xef\xbb\xbf")
    rows = list(csv.reader(data.decode("utf-8-sig").splitlines(keepends=True)))
    assert tuple(rows[0]) == COLUMNS
    begun = {cell for row in rows[1:] for cell in row if cell and cell[0] in "=+-@\t\r"}
    assert begun == {"+1 555-0142"}  # for mail merge as it is; nothing in it calculates
    columns, back = csv_text.read(data.decode("utf-8-sig"), [str] * len(COLUMNS))
    told = dict(zip(columns, back[1], strict=True))
    assert (told["customer"], told["phone"], told["street"]) == ('=HYPERLINK("x")', "+1 555-0142", "-1+1")
    assert told["town"] == 'a "b", c\nd'
    assert back[2][COLUMNS.index("booked_on")] == "2026-08-14"


def test_a_window_that_opens_off_season_begins_with_the_season() -> None:
    winter = replace(LINE, state="due", due_from=date(2026, 12, 8), due_to=date(2028, 12, 8), on=None)
    assert "from Apr 2027 on" in reminder(replace(winter, month=(2027, 4)), {}, TODAY).body
    assert "from Dec 2026 on" in reminder(replace(winter, month=(2026, 12)), {}, TODAY).body
    planned = replace(winter, month=(2027, 9), on=date(2027, 9, 14), planned=True)
    assert "from Dec 2026 on" in reminder(planned, {}, TODAY).body
