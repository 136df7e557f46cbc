"""Who gets mail and which text: one list for table, letters, drafts and calendar."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from finishlog.desk.due import care
from finishlog.desk.words import listed
from finishlog.records.care import NAMELESS, Book, Reseal, Sends
from finishlog.units import count, write_date

Wish = Literal["new", "again", "thanks"]
"""Who to write to: not written to yet, written to as well, or thanks for finished work."""
SOON = timedelta(days=60)
"""How long before its window opens a customer is written to (ours)."""

NO_REMINDERS, DECLINED, ASKED_LATER = "no reminders wanted", "declined", "ask again later"
NOT_BOOKED = "contacted, not booked yet"
WRITTEN, CONFIRMED, THANKED = "already written to", "booking already confirmed", "already thanked"
NO_NAME = "no name known"
CAME_BACK, GONE_BY, DONE = "the last one came back", "booked for a past day", "done"


@dataclass(frozen=True, slots=True)
class Going:
    """A reseal whose customer gets mail, and which text."""

    line: Reseal
    what: Sends


@dataclass(frozen=True, slots=True)
class Mailing:
    """Every line of the book once: those that get mail, and the others with the reason."""

    going: tuple[Going, ...]
    left: tuple[tuple[Reseal, str], ...]
    again: str = ""
    """How to ask for writing again."""

    @property
    def of(self) -> int:
        """Lines looked at, mailed or left out."""
        return len(self.going) + len(self.left)

    @property
    def already(self) -> int:
        """How many are left out because they were written to."""
        return sum(why in (WRITTEN, CONFIRMED, THANKED) for _, why in self.left)

    @property
    def sentence(self) -> str:
        """`2 of the 9 on the list. Left out: 4 open after Aug 15 2026, 3 contacted, not booked yet.`"""
        once_more = f" To write to them again: {self.again}." if self.already and self.again else ""
        return f"{len(self.going)} of the {self.of} on the list.{left_out(why for _, why in self.left)}{once_more}"


def left_out(whys: Iterable[str]) -> str:
    """` Left out: 2 done; 1 ask again later.`; empty where nobody is."""
    counted = Counter(whys)
    return (
        f" Left out: {'; '.join(f'{many} {why}' for why, many in counted.most_common())}." if counted else ""
    )


def mailing(held: Book, hows: Collection[str], wish: Wish = "new", again: str = "") -> Mailing:
    """Who in a book to write to, by these means. Mail sent today by other means does not count.

    Without a day named, nobody whose window opens later than `SOON`.
    """
    reach = held.by if held.by != care.usual_end(held.today) else held.today + SOON
    told = [(line, _told(line, held.today, reach, hows, wish)) for line in held.lines]
    return Mailing(
        tuple(Going(line, what) for line, (what, _) in told if what is not None),
        tuple((line, why) for line, (what, why) in told if what is None),
        again,
    )


def shut_out(line: Reseal) -> str:
    """Why nothing goes out about a reseal; empty if something may."""
    if line.left_alone or line.customer.leave_alone:
        return NO_REMINDERS
    if line.state == "declined":
        return DECLINED
    return ASKED_LATER if line.state == "ask_again" else ""


def _told(
    line: Reseal, today: date, reach: date, hows: Collection[str], wish: Wish
) -> tuple[Sends | None, str]:
    if why := shut_out(line):
        return None, why
    if line.customer.name.strip() in ("", NAMELESS):
        return None, NO_NAME
    if wish == "thanks":
        return _thanks(line, today, hows)
    if line.state == "done":
        return None, DONE
    if line.state == "contacted":
        return None, NOT_BOOKED
    if line.bounced and wish != "again":
        return None, CAME_BACK
    written = wish != "again" and _is_written(line, today, hows)
    if line.state == "booked":
        if line.on is None or line.on < today:
            return None, GONE_BY
        return (None, CONFIRMED) if written else ("confirm", "")
    if line.due_from > reach:
        return None, f"open after {write_date(reach)}"
    return (None, WRITTEN) if written else ("remind", "")


def _thanks(line: Reseal, today: date, hows: Collection[str]) -> tuple[Sends | None, str]:
    if line.state != "done":
        return None, "not done yet"
    return (None, THANKED) if _is_written(line, today, hows) else ("thank", "")


def _is_written(line: Reseal, today: date, hows: Collection[str]) -> bool:
    """One list sent on one day by several means, like a table and letters, is one mailing."""
    return any(one.on < today or one.how in hows for one in line.written if not one.bounced)


def named(lines: Sequence[Reseal], most: int = 6) -> str:
    """Whose they are, the first few by name: `Ottoline Quillfeather · patio and 2 more`."""
    titles = [line.title for line in lines]
    rest = len(titles) - most
    return listed(titles if rest <= 0 else [*titles[:most], f"{rest} more"])


def without(lines: Sequence[Reseal], what: str, so: str) -> list[str]:
    """`2 have no street: … and …. No letter.`; nothing where all have it."""
    if not lines:
        return []
    have = "has" if len(lines) == 1 else "have"
    return [f"{count(len(lines), 'customer')} {have} no {what}: {named(lines, len(lines))}. {so}"]
