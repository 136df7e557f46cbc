"""A block of any height that paints only the rows in view."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.strip import Strip

from finishlog.tui.paint.ink import Line
from finishlog.tui.widgets.canvas import Block

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual import events
    from textual.geometry import Region, Size

    Height = Callable[[int], int]
    Row = Callable[[int, int], Line]


class Roll(Block):
    """Shows `row(y, width)` for each of `height(width)` rows; a scrolling pane around it has the scrollbar."""

    def roll(self, height: Height, row: Row) -> None:
        """Paint with these from now on."""
        self._height, self._row_at = height, row
        self.repaint()

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return self._height(width)

    def _set_dirty(self, *regions: Region) -> None:
        """Textual notes each row that is to be painted, also of 100,000; here none is remembered instead. Its own sets
        are changed, not replaced: a Textual without them fails here rather than leave rows unpainted."""
        if regions:
            super()._set_dirty(*regions)
            return
        self._styles_cache.clear()
        whole = self.outer_size.region
        for noted in (self._dirty_regions, self._repaint_regions):
            noted.clear()
        self._dirty_regions.add(whole)
        if whole:
            self._repaint_regions.add(whole)

    def render_line(self, y: int) -> Strip:
        width = self.size.width
        line = self._row_at(y, width).crop(width)
        strip = Strip(self.palette.segments(line), line.width).extend_cell_length(width)
        return strip.apply_style(self.rich_style)  # under the row's own: a heading stands on the ground too

    async def on_click(self, event: events.Click) -> None:
        row = self._row_at(event.y, self.size.width) if 0 <= event.y < self.size.height else Line()
        act = row.act_at(event.x) or row.pick
        if act:
            event.stop()
            await self.screen.run_action(act)
