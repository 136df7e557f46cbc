"""Add photos: a file or a folder, with shared facts asked once. Screens stay usable meanwhile."""

from __future__ import annotations

import gc
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType

from finishlog.errors import InputError
from finishlog.tui import actions
from finishlog.tui.desks.photo import BETWEEN
from finishlog.tui.forms.fields import Button, Field, asks
from finishlog.tui.forms.form import FormScreen
from finishlog.tui.running.work import seldom
from finishlog.tui.screens.failure import Failure
from finishlog.tui.screens.frame import Frame

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from finishlog.desk.photo.photos import Added, Asked, Progress

"""Show progress, at most ten times a second."""
YES_NO = ("yes", "no")


def _plainly(_text: str) -> str:
    return ""


def specs(areas: tuple[str, ...]) -> list[Field]:
    """What a batch shares; `areas` are the job's."""
    light = ("sun", "open shade", "overcast", "indoors")
    return [
        asks("path", "File or folder", hint="Enter lists the folder; or type ~/phone/june"),
        asks("damp", "Damp", hint="yes, no", choices=YES_NO, strict=True, gap=True),
        asks("sealed", "Sealed", hint="yes, no", choices=YES_NO, strict=True),
        asks("light", "Light", hint="Down shows them", choices=light, strict=True),
        asks("area", "Area", hint=", ".join(areas), choices=areas, gap=True),
        asks("taken", "When", hint="Jun 4 9a, if they say none"),
        asks("by", "Who", hint="who took them"),
        asks("note", "Note"),
    ]


class AddScreen(FormScreen):
    """Stays open while photos come in and counts them; leaving does not stop them."""

    SCOPE = "add"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("add")
    VERB = "Add"
    NOTE = "blank: unknown"

    def __init__(
        self, handle: str, title: str, areas: tuple[str, ...], under: Callable[[str], object] = _plainly
    ) -> None:
        super().__init__()
        self._handle, self._title, self._areas, self._under = handle, title, areas, under
        self._sofar = ""
        self._over = False
        self._folder = ""
        self._chosen: tuple[Path, ...] = ()
        self._chosen_as = ""

    @property
    def name_of_it(self) -> str:
        return f"Add photos · {self._title}"

    @property
    def fact(self) -> str:
        return self._sofar

    @property
    def sentence(self) -> str:
        return "What they share, asked once for all."

    def begin(self) -> None:
        self.call_after_refresh(self.build, specs(self._areas), None)

    # choosing

    @property
    def path(self) -> Field:
        """The field for the file or folder."""
        return self.fields[0]

    @on(Field.Next)
    def _on_from_path(self, event: Field.Next) -> None:
        """Enter on a blank path opens the file list."""
        if self.focused is self.path.entry and not self.path.value.strip():
            event.prevent_default()
            self.action_choose()

    def action_choices(self) -> None:
        if self.focused is self.path.entry:
            self.action_choose()
        else:
            super().action_choices()

    def action_choose(self) -> None:
        from finishlog.tui.photo.choose import ChooseScreen

        if not self._sent:
            typed = "" if self._is_chosen else self.path.value.strip()
            self.app.push_screen(ChooseScreen(typed or self._folder, self._take))

    def _take(self, folder: Path, chosen: tuple[Path, ...]) -> None:
        """Show the choice in the box; the button adds it."""
        self._folder = str(folder)
        self._choose(chosen)
        self.query_one(Button).focus()

    def _choose(self, chosen: tuple[Path, ...]) -> None:
        names = ", ".join(path.name for path in chosen)
        self._chosen = chosen
        self.path.fill(str(chosen[0]) if len(chosen) == 1 else f"{len(chosen)} photos: {names}")
        self._chosen_as = self.path.value

    @property
    def _is_chosen(self) -> bool:
        """Whether the box still shows the choice: a path typed over it wins."""
        return bool(self._chosen) and self.path.value == self._chosen_as

    def _remember(self) -> None:
        """Remember the chosen photos' folder on this machine, unless its name is not printable."""
        folder = self._folder if self._is_chosen else ""
        if folder and folder.isprintable() and folder != self.house.machine.last_photos:
            self.house.settle_in(replace(self.house.machine, last_photos=folder))

    def send(self, texts: dict[str, str], because: str | None) -> None:
        """Write through the base screen: the result is reported even if the user left.

        A full garbage collection stops the screens for a tenth of a second, so freeze what exists first.
        """
        if not texts["path"].strip():
            self._sent = False
            self.action_choose()
            return
        if self._is_chosen:
            texts["path"] = BETWEEN.join(str(path) for path in self._chosen)
        self._remember()
        gc.collect()
        gc.freeze()
        first, call = self.app.screen_stack[0], self._call(texts, because)
        (first if isinstance(first, Frame) else self).put(call, self._added, self._stopped)

    def _call(self, texts: dict[str, str], because: str | None) -> Callable[[], Added]:
        desks, progress = self.desks, self._progress(self.app.call_later)
        return lambda: desks.add_photos(self._handle, texts, because, progress)

    def _progress(self, later: Callable[..., object]) -> Progress:
        return seldom(lambda done, total: later(self._tell_sofar, f"{done} of {total} files…"))

    def _tell_sofar(self, sofar: str) -> None:
        self._sofar = sofar
        self._under(sofar)
        if self.is_running:
            self.query_one("#title").refresh()

    def step_back(self) -> bool:
        """Leaving the form does not stop the import."""
        return False if self._sent else super().step_back()

    def on_screen_resume(self) -> None:
        if self._over:
            self.app.pop_screen()

    def _close(self) -> None:
        """Close, if another place or a dialog is shown once the form is on top again."""
        self._over = True
        if self.app.screen is self:
            self.app.pop_screen()

    def _stopped(self, error: Exception) -> None:
        self._tell_sofar("")
        if self.is_running:
            self.refused(error)
        else:
            self.app.push_screen(Failure(error))

    def _added(self, done: Added) -> None:
        self._tell_sofar("")
        self.house.changed()
        if done.asked and self.is_running:
            self._ask_about(done)
            return
        if self.is_running:
            self._close()
        asked = [f"{one.name}: {' '.join(one.doubts)}" for one in done.asked[:3]]
        left_out = [f"{left.name}: {left.why}" for left in done.left_out[:3]]
        self.house.done(" ".join([done.sentence, *asked, *left_out]))

    def _ask_about(self, done: Added) -> None:
        """Keep only photos with open questions in the form; a missing time comes first."""
        self._sent = False
        self._choose(tuple(one.path for one in done.asked))
        if timeless := [one for one in done.asked if one.needs_time]:
            self._ask_when(timeless)
        if odd := [one for one in done.asked if not one.needs_time]:
            self._ask_why([f"{one.name}: {' '.join(one.doubts)}" for one in odd[:5]])
        self._tell(done.sentence)
        self.repaint()

    def _ask_when(self, timeless: list[Asked]) -> None:
        first, more = timeless[0], len(timeless) - 1
        who = first.name if not more else f"{first.name} and {more} more"
        taken = next(field for field in self.fields if field.asked.key == "taken")
        taken.blame(InputError(f"{who}: {' '.join(first.doubts)}", example="Jun 4 9a, or unknown"))
        taken.entry.focus()
        self.call_after_refresh(taken.scroll_visible, animate=False)
