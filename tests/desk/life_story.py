"""The life of one slab, moment by moment: what is done, and what Today, Care and the shelf say after it.

`tests/desk/test_life.py` lives it through the desks, `tests/tui/test_life.py` through the keys of the screens.
Every window is `finishlog.trade`'s with the shop's usual settings: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

from finishlog.desk.due import care, today
from finishlog.desk.jobs import edit
from finishlog.desk.match import plan
from finishlog.desk.photo import photos
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.desk.shelf import shelf
from finishlog.records.care import Book
from finishlog.records.due import Today
from finishlog.records.shelf import Shelf
from finishlog.store import Log
from finishlog.tui.due import care_paint
from finishlog.tui.shelf import paint
from finishlog.units import MONTHS

ZONE = ZoneInfo("America/Chicago")
JOB = "barnaby-puddlecombe-back-patio"
WHO = "Barnaby Puddlecombe · back patio"
NEW_JOB = {"customer": "Barnaby Puddlecombe", "job": "back patio", "street": "12 Teakettle Lane",
           "areas": "field 24x18 4in", "planned_on": "2026-06-04"}  # fmt: skip
BOUGHT = {"product": "Otter Back", "kind": "powder release", "lot": "0329", "amount": "50 lb"}
PIGMENT = {"product": "Wet Biscuit", "lot": "K-131"}
NONE_LEFT = {"returned_yd3": "0", "dumped_yd3": "0"}
BALANCE = {**PIGMENT, **NONE_LEFT, "yards": "0.75", "amount": "3 lb", "is_balance": "yes"}
RELEASE = {"product": "Otter Back", "lot": "0329", "amount": "15 lb"}
DAMP_AIR = {"slab_f": "60 F", "air_f": "75 F", "humidity_percent": "90"}
DRY_AIR = {"slab_f": "72 F", "air_f": "75 F", "humidity_percent": "40"}
SEALER = {"product": "Badger Coat", "amount": "2 gal"}
ADDITION = {"rect": "22x14", "depth": "4 in", "name": "side walk"}
GLYPHS = {"open": "●", "slipped": "!", "opens": "○"}


@dataclass(frozen=True)
class Moment:
    """At that time something is done (nothing: only looked at); after it the lists say this (None: as before).

    `short` moments make the short life.
    """

    at: str
    does: str = ""
    texts: Mapping[str, str] = field(default_factory=dict)
    today: Sequence[str] | None = None
    care: Sequence[str] | None = None
    shelf: Sequence[str] | None = None
    refused: str = ""
    because: str = ""
    short: bool = False

    @property
    def says(self) -> dict[str, list[str]]:
        """The lists that say something else now."""
        told = {"today": self.today, "care": self.care, "shelf": self.shelf}
        return {name: list(lines) for name, lines in told.items() if lines is not None}


def pouring(last_load: str, *, joints: str, rinse: str) -> list[str]:
    """What Today says from a load to the end of the pour: all counts from the load until then."""
    return [
        "Pour end not logged yet. 1 open.",
        f"● End of the pour | until tomorrow {last_load}",
        f"○ Joints | {joints}",
        "○ Photo, day 1 | tomorrow",
        f"○ Rinse | tomorrow {rinse}",
        f"○ Sweep | tomorrow {rinse}",
        "○ Photo, day 3 | Sun",
        "○ Photo, day 7 | Jun 11",
        "○ Dryness test | Jun 17",
        "○ Photo, day 14 | Jun 18",
    ]


LIFE: tuple[Moment, ...] = (
    Moment(
        "2026-06-01 07:00",
        today=["Nothing is due. Nothing coming up."],
        care=["No slab due in the next 12 months."],
        shelf=["The shelf is empty."],
    ),
    Moment(
        "2026-06-01 07:05",
        "new job",
        NEW_JOB,
        today=[
            f"Nothing is due. Next: pour, {WHO}, Thu.",
            "○ Pour | Thu",
        ],
    ),
    Moment(
        "2026-06-01 07:10",
        "buy",
        BOUGHT,
        shelf=[
            "Nothing runs out soon.",
            "● left | Otter Back · lot 0329 · powder release | 50 lb left",
        ],
    ),
    Moment(
        "2026-06-03 19:00",
        today=[
            f"Nothing is due. Next: pour, {WHO}, tomorrow.",
            "○ Pour | tomorrow",
        ],
    ),
    Moment(
        "2026-06-04 07:30",
        today=[
            "Pour: today. 1 open.",
            "● Pour | open all day",
        ],
    ),
    Moment(
        "2026-06-04 07:40",
        "load",
        {**PIGMENT, **NONE_LEFT, "yards": "3", "amount": "12 lb"},
        today=pouring("7:40a", joints="1:40p", rinse="1:40a"),
    ),
    Moment(
        "2026-06-04 08:50",
        "load",
        {**PIGMENT, **NONE_LEFT, "yards": "3", "amount": "12 lb"},
        today=pouring("8:50a", joints="2:50p", rinse="2:50a"),
    ),
    Moment("2026-06-04 10:30", "load", BALANCE, today=pouring("10:30a", joints="4:30p", rinse="4:30a")),
    Moment(
        "2026-06-04 10:50",
        "powder_release",
        RELEASE,
        shelf=[
            "Nothing runs out soon.",
            "● left | Otter Back · lot 0329 · powder release | 35 lb left",
        ],
    ),
    Moment(
        "2026-06-04 11:20",
        "pour",
        today=[
            f"Nothing is due. Next: joints, {WHO}, 5:20p.",
            "○ Joints | 5:20p",
            "○ Photo, day 1 | tomorrow",
            "○ Rinse | tomorrow 5:20a",
            "○ Sweep | tomorrow 5:20a",
            "○ Photo, day 3 | Sun",
            "○ Photo, day 7 | Jun 11",
            "○ Dryness test | Jun 17",
            "○ Photo, day 14 | Jun 18",
        ],
    ),
    Moment(
        "2026-06-04 20:00",
        today=[
            "Joints due within 9 h 20 min. 1 open.",
            "● Joints | 9 h 20 min left",
            "○ Photo, day 1 | tomorrow",
            "○ Rinse | tomorrow 5:20a",
            "○ Sweep | tomorrow 5:20a",
            "○ Photo, day 3 | Sun",
            "○ Photo, day 7 | Jun 11",
            "○ Dryness test | Jun 17",
            "○ Photo, day 14 | Jun 18",
        ],
    ),
    Moment(
        "2026-06-04 20:10",
        "joint",
        today=[
            f"Nothing is due. Next: photo, day 1, {WHO}, tomorrow.",
            "○ Photo, day 1 | tomorrow",
            "○ Rinse | tomorrow 5:20a",
            "○ Sweep | tomorrow 5:20a",
            "○ Photo, day 3 | Sun",
            "○ Photo, day 7 | Jun 11",
            "○ Dryness test | Jun 17",
            "○ Photo, day 14 | Jun 18",
        ],
    ),
    Moment(
        "2026-06-05 13:00",
        today=[
            "Rinse due by Mon 11:20a. 3 open.",
            "● Photo, day 1 | open all day",
            "● Rinse | until Mon 11:20a",
            "● Sweep | until Mon 11:20a",
            "○ Photo, day 3 | Sun",
            "○ Photo, day 7 | Thu",
            "○ Dryness test | Jun 17",
            "○ Photo, day 14 | Jun 18",
        ],
    ),
    Moment(
        "2026-06-05 13:10",
        "photo",
        today=[
            "Rinse due by Mon 11:20a. 2 open.",
            "● Rinse | until Mon 11:20a",
            "● Sweep | until Mon 11:20a",
            "○ Photo, day 3 | Sun",
            "○ Photo, day 7 | Thu",
            "○ Dryness test | Jun 17",
            "○ Photo, day 14 | Jun 18",
        ],
    ),
    Moment(
        "2026-06-05 13:20",
        "sweep",
        {"reclaimed_lb": "3"},
        today=[
            "Rinse due by Mon 11:20a. 1 open.",
            "● Rinse | until Mon 11:20a",
            "○ Photo, day 3 | Sun",
            "○ Photo, day 7 | Thu",
            "○ Dryness test | Jun 17",
            "○ Photo, day 14 | Jun 18",
        ],
        shelf=[
            "Nothing runs out soon.",
            "● left | Otter Back · lot 0329 · powder release | 35 lb left, 3 lb reclaimed",
        ],
    ),
    Moment(
        "2026-06-07 09:00",
        "photo",
        today=[
            "Rinse due by tomorrow 11:20a. 1 open.",
            "● Rinse | until tomorrow 11:20a",
            "○ Photo, day 7 | Thu",
            "○ Dryness test | Jun 17",
            "○ Photo, day 14 | Jun 18",
        ],
    ),
    Moment(
        "2026-06-08 12:00",
        today=[
            f"Nothing is open. 1 slipped. Next: photo, day 7, {WHO}, Thu.",
            "! Rinse | 40 min late",
            "○ Photo, day 7 | Thu",
            "○ Dryness test | Jun 17",
            "○ Photo, day 14 | Jun 18",
        ],
    ),
    Moment(
        "2026-06-08 12:20",
        "rinse",
        {"release_left_percent": "25"},
        today=[
            f"Nothing is due. Next: photo, day 7, {WHO}, Thu.",
            "○ Photo, day 7 | Thu",
            "○ Dryness test | Jun 17",
            "○ Photo, day 14 | Jun 18",
        ],
        short=True,
    ),
    Moment(
        "2026-06-11 09:00",
        "photo",
        today=[
            f"Nothing is due. Next: dryness test, {WHO}, Wed.",
            "○ Dryness test | Wed",
            "○ Photo, day 14 | Jun 18",
            "○ Photo, day 28 | Jul 2",
            "○ Seal | Jul 2",
            "○ Judge the color | Jul 2",
        ],
    ),
    Moment(
        "2026-06-18 09:00",
        "photo",
        today=[
            "Dryness test due by Jul 8. 1 open.",
            "● Dryness test | until Jul 8",
            "○ Photo, day 28 | Jul 2",
            "○ Seal | Jul 2",
            "○ Judge the color | Jul 2",
        ],
    ),
    Moment(
        "2026-07-02 09:00",
        today=[
            "Dryness test due by Wed. 4 open.",
            "● Photo, day 28 | until Sat",
            "● Dryness test | until Wed",
            "● Seal | until Jul 9",
            "● Judge the color | until Jul 19",
            "○ Photo, day 45 | Jul 19",
        ],
    ),
    Moment(
        "2026-07-02 09:10",
        "photo",
        today=[
            "Dryness test due by Wed. 3 open.",
            "● Dryness test | until Wed",
            "● Seal | until Jul 9",
            "● Judge the color | until Jul 19",
            "○ Photo, day 45 | Jul 19",
        ],
    ),
    Moment(
        "2026-07-02 09:20",
        "seal",
        {**SEALER, **DAMP_AIR},
        refused="dew point",
        short=True,
    ),
    Moment(
        "2026-07-03 09:00",
        "seal",
        {"at": "now", **SEALER, **DRY_AIR},  # yesterday's form is back, with the hour it was begun
        today=[
            "Second coat opens 11a. 1 open.",
            "● Judge the color | until Jul 19",
            "○ Second coat | 11a",
            "○ Photo, day 45 | Jul 19",
        ],
        short=True,
    ),
    Moment(
        "2026-07-03 13:00",
        "second coat",
        {"amount": "1.5 gal", **DRY_AIR},
        today=[
            "Color check due by Jul 19. 1 open.",
            "● Judge the color | until Jul 19",
            "○ Photo, day 45 | Jul 19",
        ],
    ),
    Moment(
        "2026-07-10 09:00",
        "judge color",
        {"color": "62,4,16", "sealed": "yes"},
        today=[
            f"Nothing is due. Next: photo, day 45, {WHO}, Jul 19.",
            "○ Photo, day 45 | Jul 19",
        ],
    ),
    Moment(
        "2029-01-10 09:00",
        today=["Nothing is due. Nothing coming up."],
        care=[
            "1 reseal is open in the next 12 months. 1 not contacted.",
            "Jul 2029 | ○ due | last Jul 2026 | Jul 3 2029 to Jul 3 2031",
        ],
    ),
    Moment(
        "2029-08-03 09:00",
        today=[
            "Nothing is due. Nothing coming up.",
        ],
        care=[
            "1 reseal is open in the next 12 months. 1 not contacted.",
            "Aug 2029 | ○ due | last Jul 2026 | Jul 3 2029 to Jul 3 2031",
        ],
    ),
    Moment(
        "2031-06-03 09:00",
        today=[
            "Reseal due by Jul 3. 1 open.",
            "● Reseal | until Jul 3",
        ],
        care=[
            "1 reseal is open in the next 12 months. 1 not contacted.",
            "Jun 2031 | ○ due | last Jul 2026 | Jul 3 2029 to Jul 3 2031",
        ],
    ),
    Moment(
        "2031-06-03 15:00",
        "reseal",
        DRY_AIR,
        today=["Nothing is due. Nothing coming up."],
        care=[
            "No slab due in the next 12 months.",
            "Jun 2031 | √ done | sealed Tue Jun 3 | Jul 3 2029 to Jul 3 2031",
        ],
        short=True,
    ),
    Moment(
        "2035-01-10 09:00",
        today=[
            "Nothing is due. Nothing coming up.",
        ],
        care=[
            "1 reseal is open in the next 12 months. 1 not contacted.",
            "Apr 2035 | ○ due | last Jun 2031 | Jun 3 2034 to Jun 3 2036",
        ],
    ),
    Moment(
        "2035-01-10 09:10",
        "contacted",
        care=[
            "1 reseal is open in the next 12 months. All contacted.",
            "Apr 2035 | ◊ contacted | last Jun 2031 | Jun 3 2034 to Jun 3 2036",
        ],
    ),
    Moment(
        "2035-01-10 09:20",
        "booked",
        {"on": "2035-08-03"},
        today=["Nothing is due. Nothing coming up."],
        care=[
            "1 reseal is open in the next 12 months. All contacted.",
            "Aug 2035 | ● booked | Fri Aug 3 | Jun 3 2034 to Jun 3 2036",
        ],
    ),
    Moment(
        "2035-08-03 09:00",
        today=[
            "Reseal, booked: today. 1 open.",
            "● Reseal, booked | open all day",
        ],
    ),
    Moment(
        "2035-08-03 15:00",
        "reseal",
        DRY_AIR,
        today=["Nothing is due. Nothing coming up."],
        care=[
            "No slab due in the next 12 months.",
            "Aug 2035 | √ done | sealed Fri Aug 3 | Jun 3 2034 to Jun 3 2036",
        ],
    ),
    Moment(
        "2040-06-04 09:00",
        today=[
            "Reseal due by Aug 3. 1 open.",
            "● Reseal | until Aug 3",
        ],
        care=[
            "1 reseal is open in the next 12 months. 1 not contacted.",
            "Jun 2040 | ○ due | last Aug 2035 | Aug 3 2038 to Aug 3 2040",
        ],
    ),
    Moment(
        "2040-06-04 15:00",
        "reseal",
        DRY_AIR,
        today=["Nothing is due. Nothing coming up."],
        care=[
            "No slab due in the next 12 months.",
            "Jun 2040 | √ done | sealed Mon Jun 4 | Aug 3 2038 to Aug 3 2040",
        ],
    ),
    Moment(
        "2045-05-03 09:00",
        today=[
            "Reseal due by Jun 4. 1 open.",
            "● Reseal | until Jun 4",
        ],
        care=[
            "1 reseal is open in the next 12 months. 1 not contacted.",
            "May 2045 | ○ due | last Jun 2040 | Jun 4 2043 to Jun 4 2045",
        ],
    ),
    Moment(
        "2045-05-03 15:00",
        "reseal",
        DRY_AIR,
        today=["Nothing is due. Nothing coming up."],
        care=[
            "No slab due in the next 12 months.",
            "May 2045 | √ done | sealed Wed May 3 | Jun 4 2043 to Jun 4 2045",
        ],
    ),
    Moment(
        "2050-01-10 09:00",
        today=[
            "Nothing is due. Nothing coming up.",
        ],
        care=[
            "1 reseal is open in the next 12 months. 1 not contacted.",
            "Apr 2050 | ○ due | ! wipe first last May 2045 | May 3 2048 to May 3 2050",
        ],
    ),
    Moment(
        "2050-04-20 09:00",
        today=[
            "Reseal due by May 3. 1 open.",
            "● Reseal | until May 3",
        ],
        care=[
            "1 reseal is open in the next 12 months. 1 not contacted.",
            "Apr 2050 | ○ due | ! wipe first last May 2045 | May 3 2048 to May 3 2050",
        ],
    ),
    Moment(
        "2050-04-20 15:00",
        "reseal",
        DRY_AIR,
        today=["Nothing is due. Nothing coming up."],
        care=[
            "No slab due in the next 12 months.",
            "Apr 2050 | √ done | sealed Wed Apr 20 | May 3 2048 to May 3 2050",
        ],
        because="the wipe was done by others",
    ),
    Moment(
        "2050-04-21 09:00",
        "match",
        ADDITION,
        today=[
            "Pour: today. 1 open.",
            "● Pour | Barnaby Puddlecombe · side walk | open all day",
        ],
    ),
)


class Clock:
    def __init__(self) -> None:
        self.set(LIFE[0].at)

    def __call__(self) -> datetime:
        return self.now

    def set(self, text: str) -> None:
        self.now = datetime.fromisoformat(text).replace(tzinfo=ZONE).astimezone(UTC)


@contextmanager
def life_shop(folder: Path, clock: Clock) -> Iterator[Services]:
    """A shop with an empty log in a folder."""
    uids = count(1)
    log = Log.create(folder / "l.finishlog", clock=clock, new_uid=lambda: f"u{next(uids)}")
    yield Services(open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=clock,
                   find_zone=lambda: ZONE)  # fmt: skip
    log.close()


def picture(folder: Path, now: datetime) -> str:
    """A photo as a phone takes it, with its time; its name in the folder."""
    from PIL import Image

    at = now.astimezone(ZONE)
    made, exif = Image.new("RGB", (64, 48), (at.month * 12, 100, at.day * 6)), Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = f"{at:%Y:%m:%d %H:%M:%S}"  # Exif 2.3: DateTimeOriginal
    made.save(folder / f"{at:%y%m%d}.jpg", exif=exif)
    return f"{at:%y%m%d}.jpg"


def by_desks(services: Services, folder: Path, moment: Moment) -> None:
    """A moment's doing through the desks. Raises Doubt where it is refused."""
    texts, does = dict(moment.texts), moment.does
    if does == "new job":
        edit.new_job(services, texts)
    elif does == "buy":
        shelf.move(services, "buy", texts)
    elif does == "photo":
        photos.add(services, JOB, [folder / picture(folder, services.clock())], photos.PhotoFacts())
    elif does in ("load", "powder_release", "pour"):
        record.record(services, JOB, does, texts)
    elif does == "contacted":
        care.set_state(services, JOB, "contacted")
    elif does == "booked":
        care.set_state(services, JOB, "booked", on=date.fromisoformat(texts["on"]))
    elif does == "match":
        request = plan.simple_request(JOB, texts["rect"], texts["depth"])
        plan.save(services, plan.make(services, request), texts["name"])
    elif does:
        today.log(services, today.line(services, JOB, does), texts, because=moment.because or None)


def today_says(found: Today) -> list[str]:
    """The sentence, then each line: state and what, whose where it is not this slab's, how long."""
    lines = [(f"{GLYPHS[line.state]} {line.title}", line.who, line.said) for line in found.lines]
    return [found.sentence, *(" | ".join(part for part in line if part != WHO) for line in lines)]


def care_says(book: Book) -> list[str]:
    """The sentence, then each line: month, state, remark, window with what comes first."""
    return [book.sentence, *(
        f"{MONTHS[line.month[1] - 1]} {line.month[0]} | {' '.join(care_paint.STATES[line.state][:2])} | "
        f"{care_paint.before(line)}{care_paint.remark(line)} | {care_paint.window(line)}"
        for line in book.lines
    )]  # fmt: skip


def shelf_says(found: Shelf) -> list[str]:
    """The sentence, then each line: state, lot, what is left."""
    return [found.sentence.removesuffix(" Start with finishlog shelf buy."), *(
        f"{' '.join(paint.STATES[line.state][:2])} | {paint.title_of(line.held)} · "
        f"{line.held.product.kind} | {line.said}"
        for line in found.lines
    )]  # fmt: skip
