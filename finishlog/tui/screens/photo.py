"""One photo: boxes over what is to be read, the card's corners, and the colors they show; typed places, keeping."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from textual import on

from finishlog.errors import InputError
from finishlog.tui import photo_places
from finishlog.tui.forms import said
from finishlog.tui.ink import Line
from finishlog.tui.screens.photo_table import PhotoTable, Table
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.entry import Entry

if TYPE_CHECKING:
    from finishlog.desk.photo_reading import Measured, Read


class PhotoScreen(PhotoTable):
    """Keeps one reading for each box, or hands over what they show."""

    # one line that is typed

    def _prompt(self, label: str, start: str, then: Callable[[str], None]) -> None:
        self._asks = then
        self.query_one("#number-label", Block).show(lambda width: [Line().bold(label).crop(width)])
        self.query_one("#number").styles.display = "block"
        entry = self.query_one(Entry)
        entry.value = start
        entry.focus()

    @on(Entry.Submitted)
    def _typed(self, event: Entry.Submitted) -> None:
        then = self._asks
        try:
            if then is not None:
                self._end_prompt()
                then(event.value)
        except InputError as wrong:
            self._prompt("Once more", event.value, then) if then else None
            self.say(said(wrong), 6)

    def _end_prompt(self) -> None:
        self._asks = None
        self.query_one("#number").styles.display = "none"
        self.query_one(Table).focus()

    def step_back(self) -> bool:
        if self._asks is None:
            return False
        self._end_prompt()
        return True

    def action_edit(self) -> None:
        """The marked box or corner by numbers, in pixels of the upright photo."""
        photo, corner = self._line.photo, self._on_corner
        size = photo.width, photo.height
        if corner is None:
            box = self._boxes[self._at]
            label = f"{box.shows}: left,top,width,height"
            self._prompt(
                label, box.pixels(*size), lambda text: self._put(photo_places.typed(box, text, *size))
            )
            return
        corners = self._shown_corners or photo_places.CARD
        x, y = corners[corner]
        start = f"{x * size[0]:.0f},{y * size[1]:.0f}"
        self._prompt(f"Corner {corner + 1}: x,y", start, lambda text: self._corner(
            photo_places.corner_put(corners, corner, *photo_places.typed_corner(text, *size))
        ))  # fmt: skip

    # keeping

    def action_save(self) -> None:
        measured = self._measured
        if measured is None or not measured.spots:
            self.say("there is nothing read yet")
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

    def _keep(self, because: str | None) -> None:
        handle, entry, boxes, facts = self._handle, self._line.entry, self.there, self._facts
        corners = photo_places.written(self._corners) if self._corners else ""
        self.put(
            lambda: self.desks.keep_readings(handle, entry, boxes, corners, facts, because),
            self._kept,
            self._refused,
        )

    def _refused(self, error: Exception) -> None:
        doubts = getattr(error, "doubts", ())
        if doubts:
            self._wrong = " ".join(doubts)
            self.repaint()
            self._prompt("Keep it, because", "", lambda text: self._keep(text.strip() or None))
            return
        self._facts = {}
        self.fail(error)

    def _kept(self, read: Read) -> None:
        from finishlog.desk.photo_reading_json import kept_sentence

        self.app.pop_screen()
        self.house.done(kept_sentence(read))
        self.house.changed()

    def action_like(self) -> None:
        """The jobs nearest in color to the marked box."""
        chosen = self._boxes[self._at].shows if self._on_corner is None else ""
        spots = self._measured.spots if self._measured else ()
        spot = next((one for one in spots if one.shows == chosen), spots[0] if spots else None)
        if spot is None:
            self.say("there is nothing read yet")
            return
        self.house.look_for(",".join(f"{value:.1f}" for value in spot.lab))
