"""A photo of a slab nobody remembers: box its color, and the jobs nearest in color are listed."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import photo_places
from finishlog.tui.screens.photo_hand import PhotoHand
from finishlog.tui.screens.photo_table import bindings
from finishlog.tui.text import plain

if TYPE_CHECKING:
    from finishlog.desk.photo_reading import Measured
    from finishlog.tui.desks_photo import Shot


class FindScreen(PhotoHand):
    """The photo stays where it is: nothing of it is kept."""

    SCOPE = "shot"
    BINDINGS: ClassVar[list[BindingType]] = bindings("shot")

    def __init__(self, shot: Shot) -> None:
        super().__init__(photo_places.spots(("base",))[:1])
        self._shot = shot

    def picture_of(self) -> bytes:
        return self._shot.small

    def measured_of(self, boxes: list[str], corners: str, gray: str) -> Measured:
        return self.desks.measure_file(self._shot.path, boxes, corners, gray)

    @property
    def pixels(self) -> tuple[int, int]:
        return self._shot.width, self._shot.height

    @property
    def heading(self) -> tuple[str, str]:
        return f"Find by a photo · {plain(self._shot.name)}", "not kept"
