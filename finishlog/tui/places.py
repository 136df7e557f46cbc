"""The places of the program and what opens each; all but Jobs are imported when first gone to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.tui.jobs.jobs import JobsScreen
from finishlog.tui.screens.frame import Frame

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.command import Provider


def _today() -> Frame:
    from finishlog.tui.due.today import TodayScreen

    return TodayScreen()


def _care() -> Frame:
    from finishlog.tui.due.care import CareScreen

    return CareScreen()


def _shelf() -> Frame:
    from finishlog.tui.shelf.screen import ShelfScreen

    return ShelfScreen()


def _bench() -> Frame:
    from finishlog.tui.bench.screen import BenchScreen

    return BenchScreen()


def commands() -> type[Provider]:
    """The commands of the palette."""
    from finishlog.tui.palette import Commands

    return Commands


PLACES: dict[str, Callable[[], Frame]] = {
    "jobs": JobsScreen,
    "today": _today,
    "care": _care,
    "shelf": _shelf,
    "bench": _bench,
}
