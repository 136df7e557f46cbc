"""All full screens that are open, those under others too: what others wrote, and a server that went away or is back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from finishlog.tui.screens.frame import Frame
from finishlog.tui.widgets.bars import Places

if TYPE_CHECKING:
    from textual.app import App
    from textual.screen import Screen


def frames(app: App[Any]) -> list[Frame]:
    """Every open full screen."""
    return [one for stack in app._screen_stacks.values() for one in stack if isinstance(one, Frame)]


def follow(app: App[Any]) -> None:
    """Others wrote: visible screens reload, others when next shown."""
    seen = _in_sight(app)
    for screen in frames(app):
        screen.follow(in_sight=screen in seen)


def tell_away(app: App[Any], *, away: bool) -> None:
    """The top bars say it; a server that is back is read again, and is given what was typed meanwhile."""
    for screen in frames(app):
        screen.query(Places).refresh()
    if not away:
        follow(app)
        for screen in frames(app):
            screen.back()


def _in_sight(app: App[Any]) -> list[Screen[Any]]:
    """The screen on top, and those visible beside a sheet or dialog."""
    seen: list[Screen[Any]] = []
    for screen in reversed(app.screen_stack):
        seen.append(screen)
        if not screen.is_modal:
            break
    return seen
