"""Writes reminders: calendar, table, letters, e-mail drafts. All or nothing, never overwriting.

All come from one list (`finishlog.desk.due.care_list`) and are logged as sent once the files are in place.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from finishlog.desk.due import care, care_list, reminders
from finishlog.desk.due.care_list import Going, Mailing, Wish
from finishlog.desk.said import sent_by
from finishlog.desk.words import listed
from finishlog.errors import InputError
from finishlog.papers import files
from finishlog.papers.reminders import draft_folder
from finishlog.papers.reminders.wording import reminder
from finishlog.plain import visible_lines
from finishlog.records.care import Book, How, Reseal
from finishlog.records.shop_texts import TEXTS
from finishlog.units import count

if TYPE_CHECKING:
    from finishlog.desk.services import Services

COLUMNS = ("customer", "street", "town", "phone", "email", "job", "area", "state", "due_from", "due_to", "booked_on",
           "sealed_on", "wipe", "strip", "subject", "greeting", "text", "closing", "letter", "note", "said",
           "written_on", "written_by")  # fmt: skip

NOT_KEPT = "The log is read-only, so it has no record of this calendar: the next export may not update it."
HOWS: Mapping[str, How] = {"csv": "table", "letters": "letter", "mail": "mail"}
"""Mailings to customers by option, and their means."""
SENDER = {"letters": ("shop_name", "shop_street"), "mail": ("shop_name", "shop_email")}
"""Shop facts required before the first letter or draft."""


class NoSender(InputError):
    """The shop's letterhead is incomplete; `missing` are the keys of its texts."""

    def __init__(self, missing: Sequence[str], where: str) -> None:
        titles = {text.key: text.title.lower() for text in TEXTS} | {"shop_name": "name"}
        super().__init__(
            f"A letter needs a sender: the shop's {listed(titles[key] for key in missing)} "
            f"{'is' if len(missing) == 1 else 'are'} not known.",
            where=where,
            example=" ".join(["finishlog shop", *(f"--{_OPTION[key]} {_LIKE[key]}" for key in missing)]),
        )
        self.missing = tuple(missing)


class Nobody(InputError):
    """All on the list are left out."""


_OPTION = {"shop_name": "name", "shop_street": "street", "shop_email": "email"}
_LIKE = {"shop_name": '"Teakettle Slabs"', "shop_street": '"12 Teakettle Lane, Puddlecombe"',
         "shop_email": "shop@example.com"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Made:
    """A file or a folder's files, its message, and who it goes to."""

    files: Mapping[str, bytes]
    what: str
    more: Sequence[str] = ()
    going: Sequence[Going] = ()


def write(
    services: Services, held: Book, wanted: Mapping[str, str], *, paper: str = "letter", force: bool = False,
    wish: Wish = "new", again: str = "--again",
) -> list[str]:  # fmt: skip
    """Write the requested outputs: ics, csv, letters (files), mail (a new folder). Returns a message for each.

    `wish` is whom to write to, `again` how to request another letter. Raises InputError before writing
    anything if a target exists, NoSender if the shop's own data is missing.
    """
    _each_its_own(wanted)
    for option, name in wanted.items():
        draft_folder.check(name) if option == "mail" else files.check(name, force=force, where=f"--{option}")
    with services.log().reading() as log:
        texts = log.settings()
    _need_sender(wanted, texts)
    mailing = care_list.mailing(held, [HOWS[option] for option in wanted if option in HOWS], wish, again)
    said: list[str] = []
    sent: list[tuple[Going, How]] = []
    with ExitStack() as stack:
        for option, name in wanted.items():
            made = _made(option, services, held, mailing, texts, paper)
            if option == "mail":
                stack.enter_context(draft_folder.new_folder(name, made.files))
            else:
                stack.enter_context(files.new_file(name, made.files[""], force=force, where=f"--{option}"))
            said += [f"{made.what} in {name}.", *made.more]
            sent += [(one, HOWS[option]) for one in made.going]
    if set(wanted) & HOWS.keys():
        said.append(f"Written to {mailing.sentence}")
    return [*said, *reminders.keep(services, sent)]


def _need_sender(wanted: Mapping[str, str], texts: Mapping[str, str]) -> None:
    for option, keys in SENDER.items():
        missing = [key for key in keys if not texts.get(key, "").strip()]
        if option in wanted and missing:
            raise NoSender(missing, f"--{option}")


def _each_its_own(wanted: Mapping[str, str]) -> None:
    places: dict[str, str] = {}
    for option, name in wanted.items():
        first = places.setdefault(os.path.abspath(name.replace("\0", "")), option)
        if first != option:
            raise InputError(f"{name} is already used for --{first}.", "Give each its own name.",
                             where=f"--{option}", example=f"--{option} other-{os.path.basename(name)}")  # fmt: skip


def _made(
    option: str, services: Services, held: Book, mailing: Mailing, texts: Mapping[str, str], paper: str
) -> _Made:
    if option == "ics":
        return _calendar(services, held)
    if option == "csv":
        return _table(held, mailing, texts)
    return (
        _letters(services, mailing, texts, paper)
        if option == "letters"
        else _drafts(services, mailing, texts)
    )


# calendar


def _calendar(services: Services, held: Book) -> _Made:
    from finishlog.papers.reminders.reseals import reseals

    found = reseals(services, None if held.by == care.usual_end(held.today) else held.by)
    more = [_of_the_list(held, found.stands, len(found.lines) - len(found.stands))]
    what = count(len(found.stands), "reseal")
    return _Made({"": found.ics(services.now())}, what, more if found.kept else [*more, NOT_KEPT])


def _of_the_list(held: Book, stands: Sequence[Reseal], off: int) -> str:
    """Explains the calendar's count against the list's."""
    listed_here = {line.uid for line in stands} & {line.uid for line in held.lines}
    missing = [line for line in held.lines if line.uid not in listed_here]
    other = len(stands) - len(listed_here)
    parts = [f"{len(listed_here)} of the {len(held.lines)} on the list"]
    parts += [f"{other} later or done before"] if other else []
    parts += [f"{off} canceled, to take it off the calendar"] if off else []
    return f"{'; '.join(parts)}.{care_list.left_out(care_list.shut_out(line) for line in missing)}"


# table


def _table(held: Book, mailing: Mailing, texts: Mapping[str, str]) -> _Made:
    lines = [one.line for one in mailing.going]
    unreached = [line for line in lines if not line.known_street and not line.customer.email]
    more = care_list.without(unreached, "street and no e-mail", "They are in the table anyway.")
    return _Made(
        {"": table(mailing.going, texts, held.today)}, count(len(lines), "reseal"), more, mailing.going
    )


def table(going: Sequence[Going], texts: Mapping[str, str], today: date) -> bytes:
    """The mailing list as CSV for mail merge; no cell acts as a formula."""
    from finishlog.store.archive import csv_text

    rows = [[cell and visible_lines(cell) for cell in _row(one, texts, today)] for one in going]
    return b"\xef\xbb\xbf" + csv_text.write(COLUMNS, rows).encode()


def _row(one: Going, texts: Mapping[str, str], today: date) -> tuple[str | None, ...]:
    line, words, person = one.line, reminder(one.line, texts, today, one.what), one.line.customer
    booked = line.on.isoformat() if line.state == "booked" and line.on else None
    before = line.last_written
    return (
        person.name, line.known_street or None, line.town, person.phone, person.email, line.job,
        ", ".join(line.areas) or None, line.state, line.due_from.isoformat(), line.due_to.isoformat(), booked,
        line.sealed_on.isoformat(),
        "yes" if line.wipe else "no", "yes" if line.strip else "no", words.subject, words.greeting, words.body,
        words.closing or None, one.what, line.note, line.said, before.on.isoformat() if before else None,
        sent_by(before.how).removeprefix("by ") if before else None,
    )  # fmt: skip


# letters and drafts


def _letters(services: Services, mailing: Mailing, texts: Mapping[str, str], paper: str) -> _Made:
    from finishlog.papers.layout import style
    from finishlog.papers.layout.ink import Ink
    from finishlog.papers.reminders import letters

    ink = Ink(style.paper(paper))
    if (bad := letters.lacking_of_shop(ink, texts)) is not None:
        title = next(text.title for text in TEXTS if text.key == bad[0])
        raise InputError(f"The letter font has no {_glyphs(bad[1])} for “{title}” in the shop's words.",
                         "The table and drafts take any script.", where="--letters")  # fmt: skip
    to = [one for one in mailing.going if one.line.known_street]
    said = care_list.without(
        [one.line for one in mailing.going if not one.line.known_street], "street", "No letter."
    )
    lacks = letters.lacking(ink, to, texts, services.now())
    said += [
        f"The font has no {_glyphs(bad)} for {one.line.title}: no letter. The table and drafts take any script."
        for one, bad in zip(to, lacks, strict=True)
        if bad
    ]
    to = [one for one, bad in zip(to, lacks, strict=True) if not bad]
    if not to:
        raise _nobody(mailing, said, "--letters")
    return _Made({"": letters.letters(to, texts, services.now(), ink)}, count(len(to), "letter"), said, to)


def _glyphs(bad: str, most: int = 8) -> str:
    """The first few characters, spaced to search for: `田 中`."""
    return " ".join(bad[:most]) + (" …" if len(bad) > most else "")


def _nobody(mailing: Mailing, said: Sequence[str], where: str) -> Nobody:
    return Nobody(
        "Nobody to write to.", " ".join((mailing.sentence, *said)),
        where=where,
    )  # fmt: skip


def _free(job: str, made: Mapping[str, bytes]) -> str:
    """A file name after the job that is not taken, upper and lower case alike."""
    taken = {name.casefold() for name in made}
    names = (files.file_name(job, f"{end}.eml") for end in ("", *(f"-{n}" for n in range(2, len(made) + 3))))
    return next(name for name in names if name.casefold() not in taken)


def _drafts(services: Services, mailing: Mailing, texts: Mapping[str, str]) -> _Made:
    """Drafts by file name, and who gets none and why."""
    from finishlog.papers.reminders.mail import draft

    made: dict[str, bytes] = {}
    wrong: list[str] = []
    went = []
    sender, shop = texts.get("shop_email", ""), texts.get("shop_name", "")
    for one in mailing.going:
        line, to = one.line, one.line.customer.email
        if not to:
            continue
        try:
            words = reminder(line, texts, services.today(), one.what)
            made[_free(line.job, made)] = draft(words, to, line.customer.name, services.now(), sender, shop)
        except InputError as failure:
            wrong.append(f"{line.title}: {failure.title} No draft.")
        else:
            went.append(one)
    no_mail = [one.line for one in mailing.going if not one.line.customer.email]
    said = [*care_list.without(no_mail, "e-mail", "No draft."), *wrong]
    if not made:
        raise _nobody(mailing, said, "--mail")
    return _Made(made, count(len(made), "draft"), said, went)
