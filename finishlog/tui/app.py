"""The app: places, going back, leaving. All else is in the screens."""

from __future__ import annotations

import gc
import os
from contextlib import suppress
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Any, ClassVar

from rich.text import Text
from textual.app import App
from textual.binding import BindingType
from textual.events import Event, Key, MouseDown, Paste
from textual.widget import Widget

from finishlog.errors import LogError
from finishlog.roles import OWNER
from finishlog.settings import Machine
from finishlog.tui import access, actions, places
from finishlog.tui.desks.whole import Desks
from finishlog.tui.jobs.finder import JobFinder
from finishlog.tui.paint.ink import Palette
from finishlog.tui.paint.text import plain
from finishlog.tui.paint.theme import FULL_SUN, SHADE, THEMES, Depth, Uncolored, depth_of, variables
from finishlog.tui.running import hangup, real_pictures
from finishlog.tui.running.errand import Errand
from finishlog.tui.running.others import Others
from finishlog.tui.running.session import Session
from finishlog.tui.running.type_ahead import TypeAhead
from finishlog.tui.running.waits import Said, Waits
from finishlog.tui.running.work import Work
from finishlog.tui.screens import open_ones
from finishlog.tui.screens.frame import Frame
from finishlog.units import count

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from textual.command import Provider
    from textual.screen import Screen

    from finishlog.desk.services import Services
    from finishlog.records.answers import DemoStart
    from finishlog.tui.running.house import House

READ_PER_S = 15
"""Reading speed in characters per second (ours)."""


class FinishlogApp(App[None]):
    """`demo` opens with the reference job under the mark and its addition filled in.

    `machine` holds this machine's settings, `keep` writes them; `units` from the command line overrides
    them; `notice` is shown at the start. `copy` makes the daily copy once the screens stand.
    """

    TITLE = "finishlog"
    CSS_PATH = Path(__file__).with_name("finishlog.tcss")
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("app")
    MODES: ClassVar[dict[str, str | Callable[[], Screen[Any]]]] = dict(places.PLACES)
    DEFAULT_MODE = "jobs"
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {places.commands}

    def __init__(
        self, services: Services, *, demo: DemoStart | None = None, desks: Desks | None = None,
        machine: Machine | None = None, keep: Callable[[Machine], None] | None = None,
        units: str | None = None, notice: str = "", copy: Callable[[], str] | None = None,
    ) -> None:  # fmt: skip
        self.machine = machine or Machine()
        self.DEFAULT_MODE = "jobs" if demo else self.machine.place  # type: ignore[misc]  # read by App's own start
        super().__init__()
        self.services = services
        self.demo = demo
        self.units = units or self.machine.units
        self.animation_level = "none"  # no animation: less to send over a slow line
        self._keep = keep
        self._notice = notice
        self._copy = copy
        self.typed: dict[str, dict[str, str]] = {}
        self._own_desks = desks is None
        self.desks: Desks = desks or Desks(services, self.units)
        self.waits = Waits(self._show_wait)
        services.on_wait = self.waits.wait
        services.on_learning = self._say_learning
        services.watches = True
        services.role_here = lambda: OWNER if self.demo else self.machine.who
        self.work = Work(self, self.waits.over)
        self.session = Session()
        self.others = Others(self, lambda: self.services.others_wrote(), self.others_wrote, self.server_away)
        self.errand = Errand(self, lambda: self.frame, lambda: self._stands() and self.work.idle)
        self.ahead = TypeAhead(self, self._hand_on, self._stands, lambda: self.errand.on)
        self._palette: tuple[str, Palette] | None = None
        self._leaving = False
        self.broken = False
        for dress in THEMES.values():
            self.register_theme(dress)
        self._dress_first(self.machine.dress)
        self.set_keymap(self.keys)
        if self.no_color:
            self._filters[-1] = Uncolored()

    def _dress_first(self, theme: str) -> None:
        """Set the first frame's theme without parsing the style sheet twice."""
        self.set_reactive(App.theme, theme)
        self.stylesheet.set_variables(self.get_css_variables())

    def _load_screen_css(self, screen: Screen[Any]) -> None:
        """A new screen is dressed as it is mounted. Textual takes it for one of an earlier theme: opening a place, and
        coming back to it, parsed the whole style sheet and dressed all screens again."""
        super()._load_screen_css(screen)
        if screen._css_update_count < 0:
            screen._css_update_count = self._css_update_count

    def run(self, **named: Any) -> None:
        """Run until the user quits. Garbage collection waits for the first rows: scanning the 100,000 objects made
        at start took a tenth of that time."""
        real_pictures.prepare(os.environ)
        os.umask(0o077)  # a picture of the screen that Textual saves shows customers too
        gc.disable()
        try:
            super().run(**named)
        finally:
            gc.enable()

    async def run_action(self, action: Any, default_namespace: Any = None, namespaces: Any = None) -> bool:
        """What the one who works here may not do is said instead."""
        scope, afar = getattr(default_namespace, "SCOPE", "app"), bool(self.services.guest)
        said = access.refused(self.services.role, scope, str(action), afar)
        if said and self.frame is not None:
            self.frame.say(said, 6)
            return True
        return await super().run_action(action, default_namespace, namespaces)

    async def on_event(self, event: Event) -> None:
        if isinstance(event, Key | Paste) and not event.is_forwarded:
            await self.ahead.take(event)
        elif isinstance(event, MouseDown):
            await self._hand_on(event)
        else:
            await super().on_event(event)

    async def _hand_on(self, event: Event) -> None:
        """What is pressed ends what was still to be done."""
        self.errand.drop()
        await super().on_event(event)

    def _stands(self) -> bool:
        """Whether the screen shown takes keys yet; a dialog always does."""
        stack = self._screen_stacks.get(self._current_mode, [])  # none while the app ends
        return bool(stack) and (not isinstance(stack[-1], Frame) or stack[-1].stands)

    def _show_wait(self, end: Callable[[], None]) -> Said:
        from finishlog.tui.screens.waiting import Waiting

        dialog = Waiting(end)
        self.push_screen(dialog)
        return dialog

    def on_mount(self) -> None:
        self.waits.start()
        hangup.watch(self, self.action_leave, lambda: self.work.writing)

    def started(self) -> None:
        """The first answer is on the screen: collect garbage again, but skip what exists by now, and start to
        watch for others' writes."""
        if self._own_desks:
            self.others.start()
        if not gc.isenabled():
            gc.freeze()
            gc.enable()
        if self._notice:
            notice, self._notice = self._notice, ""
            self._warn(notice)
        if self._copy is not None:
            copy, self._copy = self._copy, None
            Thread(target=self._make_copy, args=(copy,), daemon=True).start()  # quitting does not wait for it

    def _make_copy(self, copy: Callable[[], str]) -> None:
        told = copy()
        with suppress(RuntimeError):  # the screens are closed by now
            if told:
                self.call_from_thread(self._warn, told)

    def _warn(self, notice: str) -> None:
        self.notify(plain(notice), markup=False, severity="warning", timeout=12)

    def _say_learning(self, readings: int) -> None:
        """From a thread of its own: what is asked for takes a moment, once."""
        said = f"Learning from {count(readings, 'reading')}; this is kept."
        with suppress(RuntimeError):  # the screens are gone
            self.call_from_thread(self.done, said)

    def note(self, sentence: str) -> None:
        """What opening the log did, said with the answer that opened it. From any thread."""
        self._notice = f"{self._notice} {sentence}".strip()

    def get_theme_variable_defaults(self) -> dict[str, str]:
        return variables(SHADE if self.current_theme.dark else FULL_SUN)

    @property
    def palette(self) -> Palette:
        """Rebuilt when the theme changes."""
        if self._palette is None or self._palette[0] != self.theme:
            self._palette = (self.theme, Palette(self.theme_variables, self.machine.plain_glyphs))
        return self._palette[1]

    @property
    def keys(self) -> Mapping[str, str]:
        """The user's own keys, by action id."""
        return self.machine.keys

    @cached_property
    def depth(self) -> Depth:
        """Asked of the terminal once; NO_COLOR wins."""
        return depth_of(self.console, self.no_color)

    @property
    def frame(self) -> Frame | None:
        """The full screen shown, also under a dialog."""
        return next((screen for screen in reversed(self.screen_stack) if isinstance(screen, Frame)), None)

    def changed(self) -> None:
        """Something was written: every open screen reads again."""
        for screen in open_ones.frames(self):
            screen.reread()

    def others_wrote(self) -> None:
        """Another program wrote."""
        open_ones.follow(self)

    def server_away(self, away: bool) -> None:
        """Say so in the top bar; once it is back, go on."""
        if not away:
            self.done("The server is back.")
        open_ones.tell_away(self, away=away)

    def on_unmount(self) -> None:
        self.others.stop()

    def done(self, sentence: str) -> None:
        """A passing success message, up as long as it takes to read; it replaces the last one."""
        self.clear_notifications()
        self.notify(plain(sentence), markup=False,
                    timeout=max(self.NOTIFICATION_TIMEOUT, len(sentence) / READ_PER_S))  # fmt: skip

    def action_place(self, name: str) -> None:
        if self.current_mode == name:
            if len(self.screen_stack) == 1 and self.frame is not None:
                self.frame.reread()  # its key again starts a new visit
            while len(self.screen_stack) > 1:
                self.pop_screen()
        else:
            self.switch_mode(name)

    def action_find(self) -> None:
        self.action_place("jobs")
        if isinstance(self.screen, JobFinder):
            self.screen.find()

    def look_for(self, words: str) -> None:
        """Jobs, with these words in the find box."""
        self.action_find()
        if isinstance(self.screen, JobFinder):
            self.screen.box.value = words

    def action_help(self) -> None:
        from finishlog.tui.help import HelpScreen

        frame = self.frame
        if frame is not None and not isinstance(frame, HelpScreen):
            self.push_screen(HelpScreen(frame.SCOPE, frame.PLACE))

    def action_page(self, about: str) -> None:
        """A help page about no screen: what a plan knows, the commands, a server."""
        from finishlog.tui.help import HelpScreen

        frame = self.frame
        if frame is not None and getattr(frame, "about", "") != about:
            self.push_screen(HelpScreen(about, frame.PLACE))

    def action_bring_in(self) -> None:
        """Import a paper log; Jobs is under it, where the new jobs appear."""
        from finishlog.tui.exchange.file import ImportFile

        self.action_place("jobs")
        self.push_screen(ImportFile())

    def action_command_palette(self) -> None:
        from finishlog.tui.palette import Asking

        if not isinstance(self.screen, Asking):
            self.push_screen(Asking())

    def action_backup(self) -> None:
        """Back up the log, checked, and report the result."""
        frame = self.frame
        if frame is not None:
            frame.say("copying…", 60)

            def made(path: str) -> None:
                frame.say("")
                self.done(f"The copy is in {path}.")

            def failed(error: Exception) -> None:
                frame.say("")
                frame.fail(error)

            frame.put(self.desks.backup, made, failed)

    def action_settings(self) -> None:
        from finishlog.tui.settings.screen import SettingsScreen

        if not isinstance(self.frame, SettingsScreen):
            self.push_screen(SettingsScreen())

    def action_step_back(self) -> None:
        """One step toward home; at home say how to quit."""
        screen = self.screen
        if isinstance(screen, Frame) and screen.step_back():
            return
        if len(self.screen_stack) > 1:
            self.pop_screen()
        elif self.current_mode != self.DEFAULT_MODE:
            self.switch_mode(self.DEFAULT_MODE)
        elif isinstance(screen, Frame):
            screen.say("q quits")

    def action_dress(self, theme: str) -> None:
        """The dark theme also ends outdoor mode."""
        outdoors = self.machine.outdoors and theme == "full-sun"
        self.settle_in(replace(self.machine, theme=theme, outdoors=outdoors))

    def settle_in(self, machine: Machine) -> None:
        """Apply this machine's settings to every open screen, and save them."""
        before, self.machine = self.machine, machine
        self.DEFAULT_MODE = "jobs" if self.demo else machine.place  # type: ignore[misc]
        self.theme = machine.dress
        if machine.units != before.units:
            self.units = machine.units
            self.desks = Desks(self.services, self.units) if self._own_desks else self.desks
        self.set_keymap(machine.keys)
        self._palette = None
        self.paint_again()
        frame, keep = self.frame, self._keep
        if keep is not None and frame is not None and machine != before:
            frame.put(lambda: keep(machine), lambda _: None)

    def watch_theme(self) -> None:
        self.call_after_refresh(self.paint_again)

    def paint_again(self) -> None:
        """Repaint every widget of every open screen: painted lines keep their old colors."""
        for stack in self._screen_stacks.values():
            for screen in stack:
                for widget in screen.walk_children(Widget, with_self=True):
                    widget.refresh()

    def _fatal_error(self) -> None:
        """Report a crash. Textual's own trace prints values raw, escape bytes included."""
        from finishlog.tui.screens.failure import crash_text

        error = self._exception
        if error is not None:
            self._exit_renderables.append(Text(crash_text(error)))
        self._close_messages_no_wait()

    async def action_quit(self) -> None:
        self.action_leave()

    def action_leave(self) -> None:
        """Quit once every write is done."""
        if not self.work.writing:
            self._go()
            return
        if not self._leaving:
            self._leaving = True
            if self.frame is not None:
                self.frame.say("saving… quits when done", 60)
            self.set_interval(0.05, self._leave_when_written)

    def _leave_when_written(self) -> None:
        if not self.work.writing:
            self._go()

    def _go(self) -> None:
        """Exit with LogError's status if the log could not be used."""
        self.exit(return_code=LogError.exit_status if self.broken else 0)


if TYPE_CHECKING:

    def _as_house(app: FinishlogApp) -> House:
        """Makes the type checker prove that the app is a House."""
        return app
