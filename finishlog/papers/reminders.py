"""Reminders out: calendar, table, letters, e-mail drafts. Whole or not at all, never over what is there."""

from __future__ import annotations

import os
import secrets
import shutil
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from finishlog.desk import care, care_calendar
from finishlog.desk.words import count
from finishlog.errors import InputError
from finishlog.papers import files
from finishlog.papers.wording import reminder
from finishlog.records.care import Book, Reseal

if TYPE_CHECKING:
    from finishlog.desk.services import Services

COLUMNS = ("customer", "street", "town", "phone", "email", "job", "area", "state", "due_from", "due_to", "booked_on",
           "sealed_on", "wipe", "strip", "subject", "greeting", "text", "closing")  # fmt: skip

NOT_KEPT = (
    "The log cannot be written, so it does not know of this calendar: "
    "the next one may not bring it up to date."
)
SOON = timedelta(days=60)
"""How long before its window opens a customer is written to (ours)."""


def write(
    services: Services, held: Book, wanted: Mapping[str, str], *, paper: str = "letter", force: bool = False
) -> list[str]:
    """Write what is wanted: ics, csv, letters (files), mail (a new folder), by name. What to say of each.

    Raises InputError before anything is written where something is in the way.
    """
    _each_its_own(wanted)
    for option, name in wanted.items():
        _check_folder(name) if option == "mail" else files.check(name, force=force, where=f"--{option}")
    with services.log().reading() as log:
        texts = log.settings()
    said: list[str] = []
    with ExitStack() as stack:
        for option, name in wanted.items():
            if option == "mail":
                drafts, skipped = _drafts(services, held, texts)
                stack.enter_context(_folder(name, drafts))
                said += [f"{count(len(drafts), 'draft')} in {name}.", *skipped]
                continue
            data, words = _made(option, services, held, texts, paper)
            stack.enter_context(files.new_file(name, data, force=force, where=f"--{option}"))
            said += [f"{words[0]} in {name}.", *words[1:]]
    return said


def _each_its_own(wanted: Mapping[str, str]) -> None:
    places: dict[str, str] = {}
    for option, name in wanted.items():
        first = places.setdefault(os.path.abspath(name.replace("\0", "")), option)
        if first != option:
            raise InputError(f"{name} is meant for --{first} already.", "Each needs a name of its own.",
                             where=f"--{option}", example=f"--{option} other-{os.path.basename(name)}")  # fmt: skip


def _made(
    option: str, services: Services, held: Book, texts: Mapping[str, str], paper: str
) -> tuple[bytes, list[str]]:
    if option == "ics":
        return _calendar(services, held, texts)
    if option == "csv":
        return table(held.lines, texts, held.today), [count(len(held.lines), "reseal")]
    from finishlog.papers.letters import letters

    to, without = _with_street(to_remind(held))
    if not to:
        raise InputError("There is nobody to write to.", _why_nobody(held), where="--letters")
    return letters(to, texts, services.now(), paper), [count(len(to), "letter"), *without]


def _calendar(services: Services, held: Book, texts: Mapping[str, str]) -> tuple[bytes, list[str]]:
    from finishlog.papers.calendar import calendar, told

    lines = care_calendar.lines(services, None if held.by == care.usual_end(held.today) else held.by)
    says = {line.uid: told(line, held.season) for line in lines}
    numbered = care_calendar.number(services, lines, {uid: (one.mark, one.day) for uid, one in says.items()})
    shop = texts.get("shop_name", "").strip()
    made = calendar(numbered.lines, services.now(), held.season, f"Reseals, {shop}" if shop else "Reseals")
    return made, [count(len(lines), "reseal"), *([] if numbered.kept else [NOT_KEPT])]


def _why_nobody(held: Book) -> str:
    return f"Letters go to those who are due and not called yet. {held.sentence}"


def to_remind(held: Book) -> tuple[Reseal, ...]:
    """Those who are due and not called yet; nobody who said no. Without a day named, no earlier than `SOON`."""
    named = held.by != care.usual_end(held.today)
    until = held.by if named else held.today + SOON
    return tuple(line for line in held.lines if line.open and line.state == "due" and line.due_from <= until)


def _with_street(lines: Sequence[Reseal]) -> tuple[list[Reseal], list[str]]:
    to = [line for line in lines if line.street.strip()]
    without = [line.title for line in lines if not line.street.strip()]
    return to, [f"No street is known of {title}: no letter." for title in without]


def table(lines: Sequence[Reseal], texts: Mapping[str, str], today: date) -> bytes:
    """The reseals as CSV for mail merge; no cell is taken for a formula. Declined ones are in it as such."""
    from finishlog.store import archive_csv

    rows = [_row(line, texts, today) for line in lines]
    return b"\xef\xbb\xbf" + archive_csv.write(COLUMNS, rows).encode()


def _row(line: Reseal, texts: Mapping[str, str], today: date) -> tuple[str | None, ...]:
    words, person = reminder(line, texts, today), line.customer
    booked = line.on.isoformat() if line.state == "booked" and line.on else None
    return (
        person.name, line.street, line.town, person.phone, person.email, line.job, ", ".join(line.areas) or None,
        line.state, line.due_from.isoformat(), line.due_to.isoformat(), booked, line.sealed_on.isoformat(),
        "yes" if line.wipe else "no", "yes" if line.strip else "no", words.subject, words.greeting, words.body,
        words.closing or None,
    )  # fmt: skip


# drafts


def _drafts(services: Services, held: Book, texts: Mapping[str, str]) -> tuple[dict[str, bytes], list[str]]:
    """Drafts by the name of their file, and who gets none and why."""
    from finishlog.papers.mail import draft

    made, skipped = {}, []
    sender, shop = texts.get("shop_email", ""), texts.get("shop_name", "")
    for line in to_remind(held):
        if not line.customer.email:
            skipped.append(f"No e-mail is known of {line.title}: no draft.")
            continue
        try:
            words = reminder(line, texts, held.today)
            made[f"{line.job}.eml"] = draft(
                words, line.customer.email, line.customer.name, services.now(), sender, shop
            )
        except InputError as wrong:
            skipped.append(f"{line.title}: {wrong.title} No draft.")
    return made, skipped


def _check_folder(name: str) -> Path:
    target = Path(name)
    if not name.strip() or "\0" in name:
        raise InputError("The name of the folder is empty.", where="--mail", example="--mail drafts")
    if target.is_dir() and not target.is_symlink() and not any(target.iterdir()):
        return target
    if os.path.lexists(target):
        raise InputError(f"{name} is there already.", "Take the name of a new folder, or of an empty one.",
                         where="--mail", example="--mail drafts")  # fmt: skip
    if not target.absolute().parent.is_dir():
        raise InputError(
            f"{name} cannot be made.", "There is no such folder.", where="--mail", example="--mail drafts"
        )
    return target


@contextmanager
def _folder(name: str, drafts: Mapping[str, bytes]) -> Iterator[Path]:
    """A new folder with the drafts, built beside its place and put there when the block ends well."""
    target = _check_folder(name)
    part = target.absolute().parent / f".finishlog-{secrets.token_hex(6)}.part"
    try:
        part.mkdir()
        for file, data in drafts.items():
            (part / file).write_bytes(data)
        yield target
        os.rename(part, target)
    except OSError as failure:
        raise InputError(f"{name} cannot be written.", f"{failure.strerror or failure}.", where="--mail",
                         example="--mail drafts") from None  # fmt: skip
    finally:
        shutil.rmtree(part, ignore_errors=True)
