"""A shop without a log: invented jobs behind the screens' own border."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from threading import Event
from typing import Any, NamedTuple
from unittest.mock import patch
from zoneinfo import ZoneInfo

import pytest
from textual._compositor import Compositor
from textual.css.model import RuleSet
from textual.css.stylesheet import CSSLocation, Stylesheet
from textual.events import Paste
from textual.notifications import Notification
from textual.pilot import Pilot

from finishlog.desk.bench import yards as bench
from finishlog.desk.match.plan import Measures
from finishlog.desk.plan import days as plan_days
from finishlog.desk.plan import differences, materials
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.records.log import Area, Buried, Customer, Job, JobLine, Page, Reading, Recipe, Site
from finishlog.records.page import Doing, JobPage
from finishlog.records.placed import AsPlaced, PlacedCoat, PlacedPigment
from finishlog.records.plan import Caution, Plan, PlanRequest
from finishlog.records.quantities.order import YardsRequest
from finishlog.records.shop import Shop
from finishlog.trade.pour import takeoff
from finishlog.tui.app import FinishlogApp
from finishlog.tui.desks.views import JobView, Look, PlanView
from finishlog.tui.due import today
from finishlog.tui.forms.fields import Field
from finishlog.tui.running import type_ahead
from finishlog.tui.widgets import bars
from finishlog.units import read_depth_in

NOW = datetime(2026, 6, 16, 7, 40, tzinfo=UTC)
NASTY = "[/nope] \x1b[31mred\x1b[0m \x9b1m \u202egnp.exe"


def line(handle: str, customer: str, name: str, poured: date | None, **more: Any) -> JobLine:
    base = {
        "street": "12 Teakettle Walk",
        "town": "Lower Puddle",
        "state": "poured" if poured else "planned",
        "planned_on": None if poured else date(2026, 7, 1),
        "base": "Wet Biscuit",
        "release": "Otter Back",
        "pattern": "ashlar stamp",
        "base_hex": "#a9927a",
        "release_hex": "#6f5443",
        "color_name": "light grayish yellowish brown",
        "release_color_name": "grayish brown",
        "release_left_percent": 33.0,
    }
    return JobLine(handle=handle, name=name, customer=customer, poured_on=poured, **(base | more))


LINES = (
    line("puddlecombe-patio", "Puddlecombe", "back patio", date(2025, 5, 14)),
    line(
        "puddlecombe-walk",
        "Puddlecombe",
        "side walk",
        date(2025, 5, 20),
        pattern="broomed",
        release_left_percent=20.0,
    ),
    line(
        "quillfeather-steps",
        "Quillfeather",
        "teakettle garden steps",
        date(2024, 9, 3),
        base="Fox Ear",
        release="Toad Stone",
        pattern="slate stamp",
        base_hex="#be9f79",
        release_hex="#806659",
        color_name="light yellowish brown",
    ),
    line(
        "thistlewaite-guest",
        "Thistlewaite-Vandersploot-Okonjo Family Trust",
        "guest house entry and turnaround",
        date(2024, 6, 11),
        base="Kettle Smoke",
        release="Lamp Soot",
        pattern="cobble stamp",
        base_hex="#807a75",
        release_hex="#504946",
        color_name="light brownish gray",
    ),
    line(
        "marmot-walk",
        "Marmot & Daughters Bakery",
        "walk-up",
        date(2024, 4, 2),
        base_hex="#b08a74",
        release_hex="#806055",
        color_name="light brown",
        pattern="running bond",
    ),
    line(
        "gravelpit-drive",
        "Ottoline Gravelpit",
        "driveway",
        date(2023, 10, 9),
        base_hex=None,
        release_hex=None,
        color_name=None,
        release_color_name=None,
        release_left_percent=None,
    ),
    line(
        "nasty",
        NASTY,
        NASTY,
        date(2023, 7, 7),
        pattern=NASTY,
        base=NASTY,
        color_name="moderate yellowish brown",
        base_hex="#93644c",
        release_hex="#61483f",
    ),
    line("planned", "Bellweather", "courtyard", None, base_hex=None, release_hex=None, color_name=None),
)


def as_placed(area: Area) -> AsPlaced:
    return AsPlaced(
        area=area,
        poured_on=date(2025, 5, 14),
        poured_end=datetime(2025, 5, 14, 16, tzinfo=UTC),
        pigments=(PlacedPigment("Wet Biscuit", "Dunfold Colors", ("K-118",), Fraction(384, 100)),),
        dose_from="loads",
        dose_lb_per_yd3=Fraction(384, 100),
        dose_low=Fraction(375, 100),
        dose_high=Fraction(4),
        off_loads=(),
        over_limit=False,
        mixes=(),
        loads=2,
        balance_loads=0,
        delivered_yd3=5.75,
        placed_yd3=5.5,
        slump_in=(4.0, 4.5),
        release="Otter Back",
        release_maker="Dunfold Colors",
        release_lots=("0329",),
        release_lb=15.0,
        release_lb_per_100_ft2=3.4,
        release_reclaimed=False,
        pattern="ashlar stamp",
        stamp={"mats": 5},
        rinse={"pressure_psi": 1800},
        rinsed_at=None,
        rinse_age_h=None,
        release_left_percent=33.0,
        coats=(
            PlacedCoat(1, date(2025, 6, 20), "Pond Gloss", "Dunfold Colors", "solvent acrylic", False, 37),
        ),
        base_reading=Reading(62, 4.5, 16.0, 1.5),
        release_reading=None,
        base_read_on=date(2025, 6, 18),
        missing=("rinse age not logged",),
    )


def job_view(line: JobLine) -> JobView:
    area = Area("a1", "patio", area_ft2=443.6, depth_in=4.0, recipe=Recipe("r1", "Wet Biscuit ashlar"))
    job = Job(
        uid="u-" + line.handle,
        handle=line.handle,
        name=line.name,
        customer=Customer("c", line.customer, note=None),
        site=Site("s", line.street, line.town),
        areas=(area,),
        buried=(Buried("b", "gas line", "north edge", 8.0),),
        note="He half remembers a wet spring.",
    )
    days = (1, 3, 7, 28, 45)
    looks = tuple(
        Look(
            Reading(50 + 12 * d / 45, 4.5, 16.0, 1.5),
            d,
            date(2025, 5, 14) + timedelta(days=d),
            h,
            n,
            "9.5YR 6.4/2.4",
            stands=d == days[-1],
        )
        for d, h, n in zip(
            days,
            ("#8a7159", "#8f775f", "#957d65", "#a28b72", "#a9927a"),
            (
                "moderate yellowish brown",
                "moderate yellowish brown",
                "light grayish brown",
                "light grayish yellowish brown",
                "light grayish yellowish brown",
            ),
            strict=True,
        )
    )
    doings = (
        Doing(1, NOW, "May 14 2025, 7:10a", "load 4 yd³, ticket 40721", "Tam", None),
        Doing(4, NOW, "May 14 2025, 8:50a", "load 1.75 yd³, ticket 40722", "Tam", "second truck was late"),
        Doing(
            2, NOW, "May 14 2025, 8:50a", "load 2.75 yd³, ticket 40722", "Tam", None, under=4, current=False
        ),
        Doing(3, NOW, "May 15 2025, about 1:40p", "rinsed, 33 % left", "Mo", None),
    )
    page = JobPage(
        job,
        line,
        "Final color. 1 fact missing for a match.",
        (date(2026, 6, 16) - line.poured_on).days if line.poured_on else None,
        (as_placed(area),),
        doings,
        date(2026, 6, 16),
    )
    return JobView(page, looks if line.base_hex else ())


def plan_for(request: PlanRequest, view: JobView) -> Plan:
    """The plan as the desk makes it, from the invented area instead of a log."""
    placed, shop = view.page.placed[0], Shop.from_values({})
    if not request.shapes:
        raise InputError("The new area has no size.", where="--rect", example="--rect 20x12")
    flat = tuple(takeoff.read_shape(one.kind, one.dimensions, one.sign) for one in request.shapes)
    concrete = bench.yards(YardsRequest(flat, read_depth_in(request.depth)), shop)
    on = request.on or NOW.date()
    pigment = materials.pigment(request, placed, concrete.loads.loads_yd3)
    return Plan(
        request=request,
        on=on,
        title=f"Match · {view.page.job.customer.name} → {request.name or 'addition'}",
        sentence="Order 3.25 yd³ and 12 lb of pigment; 2 things to settle first.",
        reference=placed,
        reference_job=view.page.job,
        reference_line=view.page.line,
        concrete=concrete,
        pigment=pigment,
        pigment_advice="",
        release=materials.release(placed, concrete.take_off.area_ft2, shop),
        sealer=materials.sealer(placed, concrete.take_off.area_ft2, shop),
        stages=(),
        days=plan_days.days(on, placed, shop),
        differences=differences.differences(request, on, placed, pigment),
        cautions=(Caution("Rinse", "Stop while it still looks heavy."),),
        buried=("gas line, 8 in down, north edge",),
        missing=placed.missing,
        tell_customer=("It will be close, within normal variation.",),
    )


@dataclass
class FakeDesks:
    """Answers from the invented jobs; `gate` holds answers back until it is set."""

    lines: tuple[JobLine, ...] = LINES
    failing: Exception | None = None
    gate: Event | None = None
    asked: list[str] = field(default_factory=list)
    saved: list[str | None] = field(default_factory=list)
    requests: list[PlanRequest] = field(default_factory=list)

    def _pass(self, what: str) -> None:
        self.asked.append(what)
        if self.gate is not None:
            assert self.gate.wait(60)
        if self.failing is not None:
            raise self.failing

    def page(self, words: str, *, limit: int, offset: int, archived: bool = False) -> Page:
        self._pass(f"page {words!r} {offset}")
        wanted = words.casefold().split()
        fits = tuple(
            one
            for one in self.lines
            if all(w in f"{one.customer} {one.name} {one.base} {one.pattern}".casefold() for w in wanted)
        )
        near = () if fits else ("puddlecombe",)
        return Page(fits[offset : offset + limit], len(fits), len(self.lines), near)

    def job(self, handle: str) -> JobView:
        self._pass(f"job {handle}")
        return job_view(next(one for one in self.lines if one.handle == handle))

    def prepare(self, handle: str, area: str | None = None) -> Measures:
        self._pass(f"prepare {handle}")
        line = next(one for one in self.lines if one.handle == handle)
        return Measures(
            f"{line.customer} · {line.name}", ("patio",), "4 in", "Lower Puddle plant", "564", "", ("K-118",)
        )

    def make(self, request: PlanRequest) -> PlanView:
        self._pass("make")
        self.requests.append(request)
        view = job_view(self.lines[0])
        plan = plan_for(request, view)
        return PlanView(plan, view.looks[-1] if view.looks else None, None)

    def save(self, plan: Plan, name: str | None) -> str:
        self._pass("save")
        self.saved.append(name)
        return "puddlecombe-new"

    def shop(self) -> Shop:
        return Shop.from_values({})

    def may(self, act: str) -> bool:
        return True

    def past_errors(self) -> tuple[Fraction, ...]:
        return ()


def services(now: datetime = NOW) -> Services:
    def no_log(*_: object) -> Any:
        raise AssertionError("the screens asked for a log")

    return Services(
        open_log=no_log,
        has_log=lambda: False,
        make_log=no_log,
        clock=lambda: now,
        find_zone=lambda: ZoneInfo("UTC"),
    )


def many(count: int) -> tuple[JobLine, ...]:
    return tuple(replace(LINES[i % 3], handle=f"job-{i}", name=f"piece {i}") for i in range(count))


class Stage:
    """The app on a fake shop, driven and read as a person would."""

    def __init__(self, app: FinishlogApp, pilot: Pilot[None], desks: FakeDesks) -> None:
        self.app, self.pilot, self.desks = app, pilot, desks

    async def settle(self) -> None:
        """Wait until nothing typed is waiting, no worker is under way and no message stands in a queue.

        Before a frame and after it: what one message sets off is one of the next. By queues, not by the clock,
        so that a busy machine is waited for. Fails after a minute.
        """
        for _ in range(6000):
            self._works()
            if await self._quiet():
                self._paint()
                if await self._quiet() and not self._asks_for_a_frame():
                    return
            else:
                await asyncio.sleep(0.01)
        raise AssertionError(f"the screens did not come to rest: {self._why()}")

    def _why(self) -> str:
        pumps = (self.app, *self.app.screen.walk_children(with_self=True))
        return (
            f"keys wait {not self.app.ahead.resting}, work {self.app.work._open}, "
            f"messages {[pump for pump in pumps if not pump._message_queue.empty() or pump._next_callbacks]}"
        )

    async def until(self, there: Callable[[], bool]) -> None:
        """Wait until something is so, a busy machine too, and not until all rests. Fails after a minute."""
        for _ in range(6000):
            self._works()
            if there():
                return
            await asyncio.sleep(0.01)
        raise AssertionError(f"it did not come:\n{self.text}")

    def _works(self) -> None:
        """An app that broke off never comes to rest: not waited for."""
        if self.app._exception is not None:
            raise AssertionError("the screens broke off") from self.app._exception

    async def _calm(self, *_: object) -> None:
        """The same for one key of several: neither a rest in typing nor a frame is waited for."""
        for _ in range(6000):
            if await self._quiet(typing=True):
                return
            await asyncio.sleep(0.005)

    def _paint(self) -> None:
        """The next frame at once, as a terminal would have it: what is seen may ask for more."""
        if self.app.is_running:
            with self.app._context():
                self.app.screen._on_timer_update()
                self.app.screen._compositor.render_strips()

    def _asks_for_a_frame(self) -> bool:
        """Whether something is to be laid out, or waits until it is: a scroll to the mark, say."""
        screen = self.app.screen
        return screen._layout_required or screen._scroll_required or bool(screen._callbacks)

    async def _quiet(self, *, typing: bool = False) -> bool:
        for _ in range(2):
            for _ in range(8):
                await asyncio.sleep(0)
            if not self._rests(typing):
                return False
        return True

    def _rests(self, typing: bool) -> bool:
        frame = None if typing else self.app.frame
        if (
            not self.app.ahead.resting
            or not self.app.work.idle
            or (frame is not None and not (frame.is_mounted and frame.resting))
        ):
            return False
        pumps = (self.app, *self.app.screen.walk_children(with_self=True))
        return all(pump._message_queue.empty() and not pump._next_callbacks for pump in pumps)

    async def press(self, *keys: str) -> None:
        """Keys, each when the one before has done its work; the pilot would go by the processor's time instead."""
        for key in keys:
            with patch("textual.app.wait_for_idle", self._calm):
                await self.app._press_keys((key,))
        await self.settle()

    async def enter(self, text: str) -> None:
        """Text into the field that has the focus, at once: as pasted."""
        assert self.app.focused is not None
        self.app.focused.post_message(Paste(text))
        await self.settle()

    async def type(self, text: str) -> None:
        """Text key by key."""
        await self.press(*(_KEYS.get(c, c) for c in text))

    def field(self, key: str) -> Field:
        """The field of a form by its key."""
        return self.app.screen.query_one("#field-" + key.replace(".", "-"), Field)

    async def fill(self, key: str, text: str) -> None:
        """Text in place of what stands in a field."""
        await self.put(key, text)
        await self.settle()

    async def put(self, key: str, text: str) -> None:
        """The same, without waiting until it was understood."""
        entry = self.field(key).entry
        entry.focus()
        await self._calm()
        entry.post_message(Paste(text))

    def toast(self) -> str:
        return " ".join(note.message for note in self.app._notifications)

    async def clear(self) -> None:
        """Take the toasts away."""
        self.app.clear_notifications()
        await self.pilot.pause()

    @property
    def rows(self) -> list[str]:
        """The screen as text."""
        strips = self.app.screen._compositor.render_strips()
        return ["".join(segment.text for segment in strip) for strip in strips]

    @property
    def text(self) -> str:
        return "\n".join(self.rows)

    def row(self, needle: str) -> str:
        found = [row for row in self.rows if needle in row]
        assert found, f"{needle!r} is not on the screen:\n{self.text}"
        return found[0]


_KEYS = {
    " ": "space",
    "@": "at",
    ",": "comma",
    ".": "full_stop",
    "%": "percent_sign",
    "/": "slash",
    "-": "minus",
    "?": "question_mark",
    "[": "left_square_bracket",
    "]": "right_square_bracket",
    ";": "semicolon",
}


@pytest.fixture
def fake() -> Fake:
    """The invented shop's parts, for tests that build their own."""
    return Fake(FakeDesks, LINES, NASTY, NOW, job_view, plan_for, many, services)


class Fake(NamedTuple):
    desks: type[FakeDesks]
    lines: tuple[JobLine, ...]
    nasty: str
    now: datetime
    job_view: Callable[[JobLine], JobView]
    plan_for: Callable[[PlanRequest, JobView], Plan]
    many: Callable[[int], tuple[JobLine, ...]]
    services: Callable[..., Services]


@pytest.fixture
def open_app() -> Callable[..., AbstractAsyncContextManager[Stage]]:
    """`async with open_app(size=…) as stage`: the app at rest on its first screen."""

    @asynccontextmanager
    async def opened(
        size: tuple[int, int] = (80, 24), desks: Any = None, **more: Any
    ) -> AsyncIterator[Stage]:
        desks = desks or FakeDesks()
        app = FinishlogApp(services(), desks=desks, **more)
        async with app.run_test(size=size, notifications=True) as pilot:
            stage = Stage(app, pilot, desks)
            if getattr(desks, "gate", None) is None:
                await stage.settle()
            yield stage

    return opened


@pytest.fixture
def drive() -> Callable[[FinishlogApp, Any], Stage]:
    """An app opened elsewhere, driven and read the same way."""
    return lambda app, pilot: Stage(app, pilot, None)  # type: ignore[arg-type]


@pytest.fixture
async def open_log(demo: str) -> AsyncIterator[Callable[..., AbstractAsyncContextManager[Stage]]]:
    """The same on a fresh copy of the demo's log, through the real desks; it stays between openings."""
    from finishlog import wiring

    built = wiring.build(demo)
    built.clock = lambda: datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
    built.find_zone = lambda: ZoneInfo("America/Chicago")

    @asynccontextmanager
    async def opened(size: tuple[int, int] = (80, 24), **more: Any) -> AsyncIterator[Stage]:
        app = FinishlogApp(built, **more)
        async with app.run_test(size=size, notifications=True) as pilot:
            stage = Stage(app, pilot, None)  # type: ignore[arg-type]
            await stage.settle()
            yield stage

    yield opened
    built.close()


@pytest.fixture(autouse=True)
def unpainted(monkeypatch: pytest.MonkeyPatch) -> None:
    """No terminal looks on: what passes is not painted, what rests is, by `Stage.settle`."""

    def nothing(self: Compositor, *_some: object, **_more: object) -> None:
        self._dirty_regions.clear()

    monkeypatch.setattr(Compositor, "render_update", nothing)


@pytest.fixture(autouse=True)
def toasts_stay(monkeypatch: pytest.MonkeyPatch) -> None:
    """What was said in passing stays until the next is said: a busy machine takes longer than a toast."""
    monkeypatch.setattr(Notification, "time_left", property(lambda _: 86_400.0))


@pytest.fixture(autouse=True)
def no_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    """A test types faster than any hand and a busy machine works slower than any: neither changes a key's effect.

    No Enter counts as held down, no key gives up waiting for a screen, and what the footer says for a moment stays.
    Tests of the first two set them again.
    """
    monkeypatch.setattr(bars, "once", lambda *_: None)
    monkeypatch.setattr(today, "HELD", -1.0)
    monkeypatch.setattr(type_ahead, "LONGEST", 3600.0)


@pytest.fixture(autouse=True)
def parsed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each style sheet is parsed once for all the apps of a run that have the same theme."""
    parse = Stylesheet._parse_rules

    def parsed(self: Stylesheet, css: str, read_from: CSSLocation, *rest: Any, **more: Any) -> list[RuleSet]:
        key = (tuple(self._variables.items()), css, read_from, rest, tuple(more.items()))
        if key not in _PARSED:
            _PARSED[key] = parse(self, css, read_from, *rest, **more)
        return _PARSED[key]

    monkeypatch.setattr(Stylesheet, "_parse_rules", parsed)
    monkeypatch.setattr(RuleSet, "__hash__", object.__hash__)  # the same, not by a call for each of a million


_PARSED: dict[tuple[object, ...], list[RuleSet]] = {}
