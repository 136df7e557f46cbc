"""Photos come in: a file or a folder, what they share asked once. The screens stay awake meanwhile."""

from __future__ import annotations

import gc
from time import monotonic
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.forms import Spec
from finishlog.tui.screens.failure import Failure
from finishlog.tui.screens.form import FormScreen
from finishlog.tui.screens.frame import Frame

if TYPE_CHECKING:
    from collections.abc import Callable

    from finishlog.desk.photos import Added, Progress

EVERY_S = 0.1
"""Progress is said ten times a second at most."""
YES_NO = ("yes", "no")


def _plainly(_text: str) -> str:
    return ""


def specs(areas: tuple[str, ...]) -> list[Spec]:
    needed = "A file or a folder is needed, like ~/phone/june."
    light = ("sun", "open shade", "overcast", "indoors")
    return [
        Spec("path", "File or folder", _plainly, required=needed, hint="~/phone/june"),
        Spec("damp", "Damp", _plainly, hint="yes, no", choices=YES_NO, strict=True, gap=True),
        Spec("sealed", "Sealed", _plainly, hint="yes, no", choices=YES_NO, strict=True),
        Spec("light", "Light", _plainly, hint="Down shows them", choices=light, strict=True),
        Spec("area", "Area", _plainly, hint=", ".join(areas), choices=areas, gap=True),
        Spec("taken", "When", _plainly, hint="Jun 4 9a, where they say none"),
        Spec("by", "Who", _plainly, hint="who took them"),
        Spec("note", "Note", _plainly),
    ]


class AddScreen(FormScreen):
    SCOPE = "add"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("add")
    VERB = "Take in"
    NOTE = "a blank is unknown"

    def __init__(
        self, handle: str, title: str, areas: tuple[str, ...], under: Callable[[str], object] = _plainly
    ) -> None:
        super().__init__()
        self._handle, self._title, self._areas, self._under = handle, title, areas, under
        self._sofar = ""
        self._over = False

    @property
    def name_of_it(self) -> str:
        return f"Add photos · {self._title}"

    @property
    def fact(self) -> str:
        return self._sofar

    @property
    def sentence(self) -> str:
        return "What they share is asked once for all of them."

    def begin(self) -> None:
        self.call_after_refresh(self.build, specs(self._areas), None)

    def send(self, texts: dict[str, str], because: str | None) -> None:
        """By the first screen of this place: one may leave meanwhile, and is told all the same.

        Looking for garbage among all that the program is made of stops everything for a tenth of a second, and
        would come again and again while they come in: what is there now is looked through once, here.
        """
        gc.collect()
        gc.freeze()
        first, call = self.app.screen_stack[0], self._call(texts, because)
        (first if isinstance(first, Frame) else self).put(call, self._added, self._stopped)

    def _call(self, texts: dict[str, str], because: str | None) -> Callable[[], Added]:
        desks, progress = self.desks, self._progress(self.app.call_later)
        return lambda: desks.add_photos(self._handle, texts, because, progress)

    def _progress(self, later: Callable[..., object]) -> Progress:
        last = 0.0

        def tell(done: int, total: int) -> None:
            nonlocal last
            if monotonic() - last >= EVERY_S:
                last = monotonic()
                later(self._tell_sofar, f"{done} of {total} files…")

        return tell

    def _tell_sofar(self, sofar: str) -> None:
        self._sofar = sofar
        self._under(sofar)
        if self.is_running:
            self.query_one("#title").refresh()

    def step_back(self) -> bool:
        """They come in without this form as well."""
        return False if self._sent else super().step_back()

    def on_screen_resume(self) -> None:
        if self._over:
            self.app.pop_screen()

    def _close(self) -> None:
        """Where another place is shown, or a dialog is over it, as soon as it is seen again."""
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
        self._sent = False
        self._ask_why([f"{one.name}: {' '.join(one.doubts)}" for one in done.asked[:5]])
        self._tell(done.sentence)
        self.repaint()
