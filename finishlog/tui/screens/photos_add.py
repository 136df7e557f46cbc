"""Photos come in: a file or a folder, what they share asked once. The screens stay awake meanwhile."""

from __future__ import annotations

from time import monotonic
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType
from textual.message import Message

from finishlog.tui import actions
from finishlog.tui.forms import Spec
from finishlog.tui.screens.form import FormScreen

if TYPE_CHECKING:
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
        Spec("light", "Light", _plainly, hint="Down shows what there is", choices=light, strict=True),
        Spec("area", "Area", _plainly, hint=", ".join(areas), choices=areas, gap=True),
        Spec("taken", "When", _plainly, hint="only where they do not say: Jun 4 9a, unknown"),
        Spec("by", "Who", _plainly, hint="who took them"),
        Spec("note", "Note", _plainly),
    ]


class AddScreen(FormScreen):
    SCOPE = "add"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("add")
    VERB = "Take in"
    NOTE = "a blank is unknown; the files stay where they are"

    class Told(Message):
        def __init__(self, done: int, total: int) -> None:
            super().__init__()
            self.done, self.total = done, total

    def __init__(self, handle: str, title: str, areas: tuple[str, ...]) -> None:
        super().__init__()
        self._handle, self._title, self._areas = handle, title, areas
        self._sofar = ""

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
        self.keep(lambda: self.desks.add_photos(self._handle, texts, because, self._progress()), self._added)

    def _progress(self) -> Progress:
        last = 0.0

        def tell(done: int, total: int) -> None:
            nonlocal last
            if monotonic() - last >= EVERY_S:
                last = monotonic()
                self.post_message(self.Told(done, total))

        return tell

    def on_add_screen_told(self, event: Told) -> None:
        self._sofar = f"{event.done} of {event.total} files…"
        self.query_one("#title").refresh()

    def _added(self, done: Added) -> None:
        self._sofar = ""
        self.house.changed()
        if done.asked:
            self._sent = False
            self._ask_why([f"{one.name}: {' '.join(one.doubts)}" for one in done.asked[:5]])
            self._tell(done.sentence)
            self.repaint()
            return
        self.app.pop_screen()
        self.house.done(
            " ".join([done.sentence, *(f"{left.name}: {left.why}" for left in done.left_out[:3])])
        )
