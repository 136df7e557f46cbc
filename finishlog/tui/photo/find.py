"""Find by photo: box a slab's color, list the jobs closest to it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui.paint.text import plain
from finishlog.tui.photo import places
from finishlog.tui.photo.hand import PhotoHand
from finishlog.tui.photo.table import bindings

if TYPE_CHECKING:
    from finishlog.desk.photo.measured import Measured
    from finishlog.tui.desks.photo import Shot


class FindScreen(PhotoHand):
    """Nothing of the photo is saved."""

    SCOPE = "shot"
    BINDINGS: ClassVar[list[BindingType]] = bindings("shot")

    def __init__(self, shot: Shot) -> None:
        super().__init__(places.spots(("base",))[:1])
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
