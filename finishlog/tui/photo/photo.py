"""One photo of a job: boxes to read, the card's corners, the colors; saving them."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.errors import InputError
from finishlog.tui.photo import places
from finishlog.tui.photo.hand import PhotoHand
from finishlog.tui.photo.table import bindings

if TYPE_CHECKING:
    from finishlog.desk.photo.measured import Measured, Read
    from finishlog.desk.photo.photos import PhotoLine


STATES = {"damp": "Damp, yes or no", "sealed": "Sealed, yes or no"}
"""What is asked of a reading where the log speaks against dry and bare."""


class PhotoScreen(PhotoHand):
    """Saves one reading per box; with `done` it hands them over instead. `areas` are the job's."""

    SCOPE = "photo"
    BINDINGS: ClassVar[list[BindingType]] = bindings("photo")

    def __init__(
        self, handle: str, title: str, line: PhotoLine, areas: tuple[str, ...] = (),
        done: Callable[[Measured], None] | None = None,
    ) -> None:  # fmt: skip
        boxes = places.spots(("field", "rinsed", "unrinsed") if done else ("base",))
        super().__init__(boxes, 2 if done else 0)
        self._handle, self._title, self._line, self._areas, self._done = handle, title, line, areas, done
        self._facts: dict[str, str] = {}
        self._chip = ""

    def picture_of(self) -> bytes:
        return self.desks.picture(self._line.sha256)

    def measured_of(self, boxes: list[str], corners: str, gray: str) -> Measured:
        return self.desks.measure(self._line.sha256, boxes, corners, gray, self._chip)

    @property
    def pixels(self) -> tuple[int, int]:
        return self._line.photo.width, self._line.photo.height

    @property
    def heading(self) -> tuple[str, str]:
        light = (self._line.light or "").replace("_", " ")
        return f"Photo · {self._title}", ", ".join(part for part in (self._line.age, light) if part)

    def action_chip(self) -> None:
        """Type where a sample of known color lies beside the card, or nothing."""
        self._prompt("Chip: 12 or L,a,b = x,y,w,h", self._chip, self._of_chip)

    def _of_chip(self, text: str) -> None:
        from finishlog.inputs.boxes import read_chip

        if text.strip():
            read_chip(text)
        self._chip = text.strip()
        self._later()

    # keeping

    def action_save(self) -> None:
        measured = self._measured
        if measured is None or not measured.spots:
            self.say("nothing read yet")
        elif self._done is not None:
            self._hand_over(measured)
        elif self._line.area is None and len(self._areas) > 1 and not self._facts:
            self._prompt("Which area does it show", self._areas[0], self._of_area)
        else:
            self._keep(None)

    def _hand_over(self, measured: Measured) -> None:
        done = self._done
        self.app.pop_screen()
        self.app.pop_screen()
        if done is not None:
            done(measured)

    def _of_area(self, area: str) -> None:
        self._facts = {"area": area.strip()}
        self._keep(None)

    def _of_state(self, key: str, text: str) -> None:
        word = text.strip().casefold()
        if word not in ("y", "yes", "n", "no"):
            raise InputError("Answer yes or no.", where=key, example="yes")
        self._facts = {**self._facts, key: "yes" if word[0] == "y" else "no"}
        self._keep(None)

    def _keep(self, because: str | None) -> None:
        handle, entry, boxes, facts = self._handle, self._line.entry, self.there, self._facts
        corners, gray, chip = self._typed_corners, self._gray, self._chip
        self.put(
            lambda: self.desks.keep_readings(handle, entry, boxes, corners, facts, because, gray, chip),
            self._kept,
            self._refused,
        )

    def _refused(self, error: Exception) -> None:
        wrongs = getattr(error, "wrongs", ())
        if wrongs and wrongs[0].key in STATES:
            self._wrong = wrongs[0].what
            self.repaint()
            self._prompt(STATES[wrongs[0].key], "", lambda text: self._of_state(wrongs[0].key, text))
            return
        doubts = getattr(error, "doubts", ())
        if doubts:
            self._wrong = " ".join(doubts)
            self.repaint()
            self._prompt("Save it, because", "", lambda text: self._keep(text.strip() or None))
            return
        self._facts = {}
        self.fail(error)

    def _kept(self, read: Read) -> None:
        from finishlog.desk.photo.as_json import kept_sentence

        self.app.pop_screen()
        self.house.done(kept_sentence(read))
        self.house.changed()
