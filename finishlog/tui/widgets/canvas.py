"""A widget that shows a painter's lines for its width. A click runs its piece's action."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

from finishlog.tui.paint.ink import Line, Palette

if TYPE_CHECKING:
    from textual import events

    from finishlog.tui.paint.theme import Depth
    from finishlog.tui.running.house import House


class Canvas(Widget):
    """Override `paint`. As high as its lines."""

    DEFAULT_CSS = """
    Canvas { width: 1fr; height: auto; text-wrap: nowrap; text-overflow: clip; }
    """

    def paint(self, width: int) -> list[Line]:
        """Its rows for a width in cells. Pure: it is called to measure as well."""
        raise NotImplementedError

    @property
    def house(self) -> House:
        """The app, typed as what widgets may ask of it."""
        return cast("House", self.app)

    @property
    def palette(self) -> Palette:
        """Tokens of the current theme."""
        return self.house.palette

    @property
    def depth(self) -> Depth:
        """How many colors the terminal shows."""
        return self.house.depth

    def repaint(self) -> None:
        """Call after a change; only where the height changes too is the whole screen laid out again."""
        if not all(node.display for node in self.ancestors_with_self if isinstance(node, Widget)):
            self.refresh()  # when it is shown all is laid out anyhow
            return
        room, width = self.container_size, self.size.width
        same = bool(width) and self.get_content_height(room, room, width) == self.size.height
        self.refresh(layout=not same)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return len(self.paint(width))

    def _size_updated(
        self, size: Size, virtual_size: Size, container_size: Size, layout: bool = True
    ) -> bool:
        """Its rows were counted for this size, and it does not scroll: no second layout is asked for."""
        return super()._size_updated(size, virtual_size, container_size, layout=False)

    def render(self) -> Content:
        return self.palette.content(line.crop(self.size.width) for line in self.paint(self.size.width))

    async def on_click(self, event: events.Click) -> None:
        lines = self.paint(self.size.width)
        row = lines[event.y] if 0 <= event.y < len(lines) else Line()
        act = row.act_at(event.x) or row.pick
        if act:
            event.stop()
            await self.screen.run_action(act)


class Block(Canvas):
    """Shows the painter given to `show`."""

    def __init__(self, *, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self._painter: Painter = nothing

    def show(self, painter: Painter) -> None:
        """Paint with this from now on."""
        self._painter = painter
        self.repaint()

    def paint(self, width: int) -> list[Line]:
        return self._painter(width)


class Along(Block):
    """Details beside a list: fills its pane, so that another line's details need no layout."""

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return max(super().get_content_height(container, viewport, width), container.height)


if TYPE_CHECKING:
    from collections.abc import Callable

    Painter = Callable[[int], list[Line]]


def nothing(_width: int) -> list[Line]:
    """A painter of no rows."""
    return []
