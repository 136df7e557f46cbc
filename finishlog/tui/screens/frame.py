"""The base of every screen: top bar, body, footer; calls to the desks and their failures."""

from __future__ import annotations

from collections.abc import Callable
from inspect import isawaitable
from typing import TYPE_CHECKING, ClassVar, TypeVar, cast

from textual.containers import Vertical
from textual.screen import Screen

from finishlog.errors import ServerAway
from finishlog.tui.paint import layout
from finishlog.tui.paint.ink import Line, paragraph
from finishlog.tui.running.timers import once
from finishlog.tui.widgets.bars import Footer, Places
from finishlog.tui.widgets.canvas import Block

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.events import Resize
    from textual.geometry import Size

    from finishlog.tui.desks.whole import Desks
    from finishlog.tui.running.house import House
    from finishlog.tui.running.work import Answer

T = TypeVar("T")
LEAST = (60, 20)
WIDE = 110
HIGH = 30
OUTCOMES = {
    True: "It was written, just before the server went away.",
    False: "It was not written: the server went away before. Do it again.",
    None: "Whether it was written before the server went away cannot be told: look before you do it again.",
}


class Frame(Screen[None]):
    """A full screen. `SCOPE` selects its actions, `PLACE` its place in the top bar."""

    SCOPE: ClassVar[str]
    PLACE: ClassVar[str] = "jobs"
    FOLLOWS: ClassVar[bool] = False
    """Whether to load others' changes at once."""
    HORIZONTAL_BREAKPOINTS = [  # noqa: RUF012 (as Textual declares it)
        (0, "-narrow"),
        (70, "-normal"),
        (WIDE, "-wide"),
    ]
    VERTICAL_BREAKPOINTS = [(0, "-low"), (HIGH, "-high")]  # noqa: RUF012

    def __init__(self) -> None:
        super().__init__()
        self.busy = ""
        self.by_others = False
        """The next reload is for others' changes: keep the mark where it is."""
        self.unsure: ServerAway | None = None
        """A write of this screen of which it is not known whether it was written."""
        self._stale = False
        self._house: House | None = None

    def compose(self) -> ComposeResult:
        self._dress_for(self.app.size)  # or all would be dressed and laid out twice
        yield Places(self.PLACE)
        with Vertical(id="body"):
            yield from self.compose_body()
        yield Block(id="small")
        yield Footer(self.SCOPE)

    def compose_body(self) -> ComposeResult:
        """The widgets between top bar and footer."""
        yield from ()

    @property
    def house(self) -> House:
        """The app, also for a worker that outlives the screen."""
        if self._house is None:
            self._house = cast("House", self.app)
        return self._house

    @property
    def desks(self) -> Desks:
        """Call them in a worker only, through `ask` or `put`."""
        return self.house.desks

    @property
    def wide(self) -> bool:
        """Whether there is room for a second column (WIDE)."""
        return self.size.width >= WIDE

    @property
    def sentence(self) -> str:
        """The screen's answer in one sentence; all that shows in too small a window."""
        return ""

    @property
    def site_zone(self) -> str:
        """Time zone of the open job's site, for the top bar's clock; empty if none."""
        return ""

    @property
    def low(self) -> bool:
        """Whether the window has the least height supported, so every row counts."""
        return self.size.height <= LEAST[1]

    def head(self, name: str, fact: str, width: int, *notes: Line, tone: str = "text") -> list[Line]:
        """Title, fact, sentence, then notes; at most three rows on a low screen."""
        fact = self.busy or fact
        if not self.low:
            return [*layout.title(name, fact, self.sentence, width, tone), *notes, Line()]
        return [*layout.low_title(name, fact, self.sentence, width, 2 - len(notes), tone), *notes]

    def _dress_for(self, size: Size) -> None:
        """Set the classes of a size before there is anything to dress."""
        for at, points in (
            (size.width, self.HORIZONTAL_BREAKPOINTS),
            (size.height, self.VERTICAL_BREAKPOINTS),
        ):
            self.add_class(next(name for least, name in reversed(points) if at >= least), update=False)
        self.set_class(size.width < LEAST[0] or size.height < LEAST[1], "-small", update=False)

    def on_resize(self, event: Resize) -> None:
        self.set_class(event.size.width < LEAST[0] or event.size.height < LEAST[1], "-small")
        self.query_one("#small", Block).show(self._paint_small)
        self.resized(event.size.width)

    def resized(self, width: int) -> None:
        """Called on a new size, in cells; repaints."""
        self.repaint()

    def _paint_small(self, width: int) -> list[Line]:
        room = max(width - 2, 1)
        lines = paragraph(f"This needs {LEAST[0]} × {LEAST[1]}.", room, indent=1, bold=True)
        return [*lines, Line(), *paragraph(self.sentence, room, indent=1)] if self.sentence else lines

    def ask(
        self, slot: str, call: Callable[[], T], done: Callable[[T], object],
        failed: Callable[[Exception], None] | None = None,
    ) -> None:  # fmt: skip
        """Read in a thread. Old content stays; after 0.3 s the screen says it is reading."""
        number = self.house.work.read(self, slot, call, done, self._heeded(failed or self.unread))
        once(self, 0.3, lambda: self._still(slot, number, "reading…"))
        once(self, 2.0, lambda: self._still(slot, number, "still loading…"))

    def put(
        self, call: Callable[[], T], done: Callable[[T], object],
        failed: Callable[[Exception], None] | None = None,
    ) -> None:  # fmt: skip
        """Write in a thread, one at a time. The session notes which entries it kept."""
        session, place = self.house.session, self.house.current_mode

        def kept(value: T) -> object:
            session.note(place, value)
            return done(value)

        self.house.work.write(self, call, kept, self._heeded(failed or self.unwritten))

    def _heeded(self, failed: Callable[[Exception], object]) -> Callable[[Exception], None]:
        def told(error: Exception) -> None:
            if isinstance(error, ServerAway):
                self.house.others.lost()
            failed(error)

        return told

    def unread(self, error: Exception) -> None:
        """A read failed. Of a server that is away the top bar tells; once it is back, it is read again."""
        if not isinstance(error, ServerAway):
            self.fail(error)

    def unwritten(self, error: Exception) -> None:
        """A write failed: say so in a dialog over this screen. An unsure one is looked up once the server is back."""
        from finishlog.tui.screens.failure import Failure

        if isinstance(error, ServerAway) and error.written:
            self.outcome(True)
            return
        self.unsure = error if isinstance(error, ServerAway) and error.unsure else None
        self.app.push_screen(Failure(error, unwritten=True))

    def back(self) -> None:
        """The server is back; called once for each time that it was away."""
        error, services = self.unsure, self.house.services
        if error is not None:
            self.ask("outcome", lambda: services.log().was_written(error), self.outcome)

    def outcome(self, written: bool | None) -> None:
        """What became of a write in whose middle the server went away; None is not known."""
        self.unsure = None
        self.house.done(OUTCOMES[written])

    def _still(self, slot: str, number: int, word: str) -> None:
        if self.house.work.waiting(self, slot, number):
            self.busy = word
            self.repaint()

    async def on_answer(self, event: Answer) -> None:
        if event.slot and event.number != self.house.work.newest(self, event.slot):
            return
        self.house.work.take(self, event.slot, event.number)
        self.query_one(Footer).answered()
        if self.busy:
            self.busy = ""
            self.repaint()
        waited = event.deliver()
        if isawaitable(waited):
            await waited
        self.call_after_refresh(self.house.started)

    @property
    def resting(self) -> bool:
        """Whether every typed key has been acted on."""
        return True

    @property
    def stands(self) -> bool:
        """Whether it takes keys yet; earlier ones wait."""
        return self.is_mounted

    def repaint(self) -> None:
        """Paint every block again."""
        self.query(Places).refresh()
        for block in self.query(Block):
            block.repaint()

    def reread(self) -> None:
        """Read again after a write; keep the mark."""

    def follow(self, *, in_sight: bool) -> None:
        """Others wrote. Reload rows, now or when next shown; typed text stays."""
        if self.FOLLOWS and in_sight and self.is_mounted:
            self._stale, self.by_others = False, True
            self.reread()
        else:
            self._stale = self.FOLLOWS

    def on_unmount(self) -> None:
        """Esc ends what is still being read."""
        self.house.work.leave(self)

    def on_screen_resume(self) -> None:
        if self._stale:
            self.follow(in_sight=True)

    def fail(self, error: Exception) -> None:
        """Show the failure in a dialog over this screen."""
        from finishlog.tui.screens.failure import Failure

        self.app.push_screen(Failure(error))

    def not_begun(self, error: Exception) -> None:
        """Nothing to show: go back and say why."""
        self.app.pop_screen()
        self.fail(error)

    def say(self, note: str, seconds: float = 3.0) -> None:
        """Show a note in the footer for a moment."""
        self.query_one(Footer).say(note, seconds)

    def step_back(self) -> bool:
        """Go one step back within this screen; False if there is none left."""
        return False

    def action_next_field(self) -> None:
        self.focus_next()
