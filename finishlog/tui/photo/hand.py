"""A photo's boxes and corners by hand: dragged or typed; and jobs of a box's color."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from textual import on

from finishlog.errors import InputError
from finishlog.tui.forms.fields import said
from finishlog.tui.paint.ink import Line
from finishlog.tui.photo import drag, places
from finishlog.tui.photo.drag import Hold
from finishlog.tui.photo.picture import Picture
from finishlog.tui.photo.table import PhotoTable, Table
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.entry import Entry


class PhotoHand(PhotoTable):
    """The photo table with mouse and typed numbers."""

    _hold: Hold | None = None
    _changed = False
    _asks: Callable[[str], None] | None = None
    _label = ""

    @property
    def resting(self) -> bool:
        return self._hold is None and super().resting

    @on(Picture.Pointed)
    def _pointed(self, event: Picture.Pointed) -> None:
        if not self._grid or (event.what == "press") != (self._hold is None):
            return
        size = len(self._grid[0]), len(self._grid) // 2
        at = event.column, event.row
        if event.what == "press":
            self._take(at, size)
            return
        at = min(max(at[0], 0), size[0] - 1), min(max(at[1], 0), size[1] - 1)
        self._drag(at, size)
        if event.what == "release":
            self._let_go()

    def _take(self, at: tuple[int, int], size: tuple[int, int]) -> None:
        """Mark what is under the pointer."""
        if not (0 <= at[0] < size[0] and 0 <= at[1] < size[1]):
            return
        self._hold = hold = drag.taken(self._boxes, self._shown_corners, self._at, at, size)
        self._at = hold.at
        self.query_one(Table).focus()
        self._changed = self._moving is not None
        self.repaint()

    def _drag(self, at: tuple[int, int], size: tuple[int, int]) -> None:
        hold = self._hold
        if hold is None or (hold.how != "draw" and at == hold.last):
            return
        self._hold = replace(hold, last=at)
        self._changed = True
        if hold.box is not None:
            self._set_box(replace(drag.dragged(hold, hold.box, at, size), there=True))
        elif self._on_corner is not None:
            corners = self._shown_corners or places.CARD
            self._corners = places.corner_put(corners, self._on_corner, *drag.middle(at, size))
        self._measured = None
        self.repaint()

    def _let_go(self) -> None:
        """End the drag; read again if anything moved."""
        self._hold = None
        if self._changed:
            self._later()

    def step_back(self) -> bool:
        """Cancel a drag, or leave the typed line."""
        if self._asks is not None:
            self._end_prompt()
            return True
        hold = self._hold
        if hold is None:
            return super().step_back()
        self.query_one(Table).let_go()
        if hold.box is not None:
            self._set_box(hold.box)
        self._let_go()
        return True

    # the typed line

    def _prompt(self, label: str, start: str, then: Callable[[str], None]) -> None:
        self._asks, self._label = then, label
        self.query_one("#number-label", Block).show(lambda width: [Line().bold(label).crop(width)])
        self.query_one("#number").styles.display = "block"
        entry = self.query_one(Entry)
        entry.value = start
        entry.focus()
        entry.select_all()

    @on(Entry.Submitted)
    def _typed(self, event: Entry.Submitted) -> None:
        then = self._asks
        try:
            if then is not None:
                self._end_prompt()
                then(event.value)
        except InputError as wrong:
            self._prompt(self._label, event.value, then) if then else None
            self.say(said(wrong), 6)

    def _end_prompt(self) -> None:
        self._asks = None
        self.query_one("#number").styles.display = "none"
        self.query_one(Table).focus()

    def action_edit(self) -> None:
        """Type the marked box or corner, in pixels of the upright photo."""
        size, corner = self.pixels, self._on_corner
        if corner is None:
            box = self._boxes[self._at]
            label = f"{box.shows}: left,top,width,height"
            self._prompt(label, box.pixels(*size), lambda text: self._put(places.typed(box, text, *size)))
            return
        corners = self._shown_corners or places.CARD
        x, y = corners[corner]
        start = f"{x * size[0]:.0f},{y * size[1]:.0f}"
        self._prompt(f"{places.SIDES[corner].capitalize()} corner: x,y", start, lambda text: self._corner(
            places.corner_put(corners, corner, *places.typed_corner(text, *size))
        ))  # fmt: skip

    def action_like(self) -> None:
        """List the jobs closest in color to the marked box."""
        chosen = self._boxes[self._at].shows if self._on_corner is None else ""
        spots = self._measured.spots if self._measured else ()
        spot = next((one for one in spots if one.shows == chosen), spots[0] if spots else None)
        if spot is None:
            self.say("nothing read yet")
            return
        self.house.look_for(",".join(f"{value:.1f}" for value in spot.lab))
