"""The command palette: every action of the screen that is open and of the program, with its key."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, cast

from textual.command import DiscoveryHit, Hit, Hits, Provider

from finishlog.tui import actions

if TYPE_CHECKING:
    from finishlog.tui.actions import Action
    from finishlog.tui.app import FinishlogApp


class Commands(Provider):
    @property
    def _keys(self) -> Mapping[str, str]:
        return cast("FinishlogApp", self.app).keys

    def _offered(self) -> Iterator[Action]:
        frame = cast("FinishlogApp", self.app).frame
        scopes = (frame.SCOPE, "app") if frame is not None else ("app",)
        yield from (action for scope in scopes for action in actions.of(scope) if action.palette)

    async def discover(self) -> Hits:
        for action in self._offered():
            yield DiscoveryHit(
                _name(action, self._keys), lambda action=action: self._run(action), help=action.help
            )

    async def search(self, query: str) -> Hits:
        matcher = self.matcher(query)
        for action in self._offered():
            score = matcher.match(f"{_name(action, self._keys)} {action.help}")
            if score > 0:
                yield Hit(
                    score,
                    _name(action, self._keys),
                    lambda action=action: self._run(action),
                    help=action.help,
                )

    async def _run(self, action: Action) -> None:
        frame = cast("FinishlogApp", self.app).frame
        await (frame or self.app).run_action(action.call)


def _name(action: Action, keys: Mapping[str, str]) -> str:
    key = "F1" if action.id == "app.help" else actions.shown(action, keys)
    return f"{action.label.capitalize()}  ({key})" if key else action.label.capitalize()
