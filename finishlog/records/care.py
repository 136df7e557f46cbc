"""Care of finished slabs: reseals due, the week plan, sealer film. None means unknown."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Literal

from finishlog.records.log import Customer

CareState = Literal["due", "written", "contacted", "booked", "done", "declined", "ask_again"]
CARE_STATES: tuple[CareState, ...] = (
    "due",
    "written",
    "contacted",
    "booked",
    "done",
    "declined",
    "ask_again",
)
"""`written`: due, and a reminder went out this season; derived from the logged reminders."""
OPEN: tuple[CareState, ...] = ("due", "written", "contacted", "booked", "ask_again")
"""The states in which work remains."""
How = Literal["letter", "mail", "table", "phone"]
Sends = Literal["remind", "confirm", "thank"]
Prepare = Literal["nothing", "wipe", "strip"]
Fits = Literal["usual", "trial", "no", "unknown"]


@dataclass(frozen=True, slots=True)
class FilmNow:
    """The dry film on a slab in mil since the last strip, an estimate.

    `at_least`: part of it is not known (`unknown` coats, or what a wipe left). `since` is the day of the strip,
    wipe or measurement it counts from, None: from the first coat.
    """

    dry_mil: Fraction | None
    at_least: bool
    coats: int
    unknown: int
    since: date | None
    over: bool


@dataclass(frozen=True, slots=True)
class Compatible:
    """Whether a new sealer goes on an old one, in words."""

    old: str
    new: str
    fits: Fits
    words: str


@dataclass(frozen=True, slots=True)
class Sealing:
    """One sealing of a slab: first and last day, and whether it was a reseal."""

    first: date
    last: date
    reseal: bool


@dataclass(frozen=True, slots=True)
class Window:
    """When a reseal is due, from what is known of the slab. `number` 1 is the first reseal.

    `why` says what the days rest on: the last coat, the interval, the exposure, the condition that was seen.
    """

    area: str | None
    number: int
    sealed_on: date
    due_from: date
    due_to: date
    why: str
    prepare: Prepare
    prepare_why: str
    film: FilmNow
    worn: bool = False


NAMELESS = "unknown"
NO_STREET = f"street {NAMELESS} ("
"""Placeholder for an unknown customer, and the start of one for an unknown street."""


@dataclass(frozen=True, slots=True)
class Written:
    """A reminder that went out: when, how, to whom; `bounced`: it came back."""

    on: date
    how: str
    to: str
    what: str
    bounced: bool = False


@dataclass(frozen=True, slots=True)
class Reseal:
    """A reseal as the office sees it.

    `customer` is whose slab it is now. `on` is the day it is booked or planned for, was done, or is to be asked
    of again; `planned`: by the week plan, not by a person; `moved`: a person took it off the plan's day. `uid`
    stays the same over every export and `sequence` rises with each change. `gone`: a window that was taken
    back, known to calendars alone.
    `month` is the year and month under which the book has it. `said` is what was said before the last word of
    the office, like in a call; `wanted` and `weekday` (Monday is 0) the day that was asked for. `written` are
    the reminders of this season since that last word.
    """

    uid: str
    sequence: int
    job: str
    name: str
    customer: Customer
    street: str
    town: str | None
    areas: tuple[str, ...]
    number: int
    sealed_on: date
    due_from: date
    due_to: date
    state: CareState
    why: str
    prepare: Prepare = "nothing"
    prepare_why: str = ""
    film: FilmNow | None = None
    worn: bool = False
    on: date | None = None
    planned: bool = False
    moved: bool = False
    note: str | None = None
    left_alone: bool = False
    gone: bool = False
    month: tuple[int, int] = (0, 0)
    said: str | None = None
    wanted: date | None = None
    weekday: int | None = None
    written: tuple[Written, ...] = ()

    @property
    def known_street(self) -> str:
        """The street, blank if only a placeholder is saved."""
        street = self.street.strip()
        return "" if street.startswith(NO_STREET) else street

    @property
    def last_written(self) -> Written | None:
        """The newest reminder that went out."""
        return self.written[-1] if self.written else None

    @property
    def bounced(self) -> bool:
        """Whether the last reminder came back."""
        return bool(self.written) and self.written[-1].bounced

    @property
    def wipe(self) -> bool:
        """Whether the old film is wiped with solvent first."""
        return self.prepare == "wipe"

    @property
    def strip(self) -> bool:
        """Whether the old film comes off first."""
        return self.prepare == "strip"

    @property
    def open(self) -> bool:
        """Whether work on it remains."""
        return self.state in OPEN and not (self.left_alone or self.gone)

    @property
    def title(self) -> str:
        """`Puddlecombe · back patio`."""
        return f"{self.customer.name} · {self.name}"


MARKS_MOST = 12
"""Reseals of a month whose states are listed one by one."""


@dataclass(frozen=True, slots=True)
class MonthCount:
    """A month of the book: the states of its reseals in order; `closed`: off season.

    Of a month with more than MARKS_MOST all are `unlisted`: only counted.
    """

    year: int
    month: int
    states: tuple[CareState, ...]
    closed: bool
    unlisted: int = 0

    @property
    def count(self) -> int:
        """How many reseals it has."""
        return len(self.states) + self.unlisted


@dataclass(frozen=True, slots=True)
class Book:
    """Reseals due by a day, grouped by month, with a twelve-month overview.

    `lines` may be a part of the `total`, from `offset` on; `starts` is where each month of the whole begins.
    """

    today: date
    by: date
    sentence: str
    lines: tuple[Reseal, ...]
    months: tuple[MonthCount, ...]
    season: tuple[int, ...]
    total: int = 0
    offset: int = 0
    starts: tuple[tuple[tuple[int, int], int], ...] = ()

    def of_month(self, year: int, month: int) -> tuple[Reseal, ...]:
        """The lines of a month of the book."""
        return tuple(line for line in self.lines if line.month == (year, month))


@dataclass(frozen=True, slots=True)
class CareAsked:
    """The book of a day as a log is asked for it: what opens by `until`, what was done since `since`.

    Months are numbers (`finishlog.trade.upkeep.care_line`): this one, the next in season, this season's last.
    """

    today: date
    until: date
    since: date
    month: int
    open_month: int
    season: int


@dataclass(frozen=True, slots=True)
class CareCount:
    """How many reseals of a month have a state; `late`: of them, past their window."""

    month: int
    state: CareState
    count: int
    late: int


@dataclass(frozen=True, slots=True)
class Visit:
    """One job of the week plan on its day. `fixed`: a person set it; `outside`: the window does not hold the day."""

    job: str
    title: str
    street: str
    town: str | None
    on: date
    due_from: date
    due_to: date
    fixed: bool
    outside: bool
    why: str


@dataclass(frozen=True, slots=True)
class Week:
    """A week of the plan by its Monday; `full`: it holds all it can."""

    monday: date
    visits: tuple[Visit, ...]
    full: bool


@dataclass(frozen=True, slots=True)
class WeekPlan:
    """The week plan: `how` it was decided; `left`, the jobs without a place, each with a reason."""

    weeks: tuple[Week, ...]
    left: tuple[tuple[str, str], ...]
    how: tuple[str, ...]
    cost: float
    per_week: int
