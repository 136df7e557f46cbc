"""The command palette: every action with its key, found by the words people use.

It opens with the actions of the screen and the app. A search also finds other places' actions and goes
there first; one that needs an open job says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Protocol, cast

from textual.command import CommandPalette, DiscoveryHit, Hit, Hits, Provider

from finishlog.tui import access, actions
from finishlog.tui.actions import Action
from finishlog.tui.running.errand import Errand
from finishlog.tui.running.house import House

if TYPE_CHECKING:
    from finishlog.tui.screens.frame import Frame

PROMPT = "What do you want to do? Type a word, like letters or undo"
ELSEWHERE = {"today": "today", "jobs": "jobs", "care": "care", "weeks": "care", "shelf": "shelf", "bench": "bench",
             "job": "jobs", "photos": "jobs", "rinse": "jobs", "match": "jobs"}  # fmt: skip
"""Scopes searched from anywhere, with the place that leads there."""
AT_ONCE = ("today", "jobs", "care", "shelf", "bench")
"""Scopes that are places: their actions run on arrival."""
BY_HINT = {"weeks": "k", "photos": "p", "rinse": "r", "match": "m"}
"""Keys that lead from a job, or from Care, to the scope."""
BY_NAME, BY_WORD = 1000.0, 600.0
"""Scores if each typed word starts a word of the name, or of help and synonyms: above any fuzzy match."""


class Asking(CommandPalette):
    """Textual's palette, with our prompt."""

    def __init__(self) -> None:
        super().__init__(placeholder=PROMPT, id="--command-palette")


class Framed(House, Protocol):
    """The app with the full screen it shows, and what is still to be done on it."""

    errand: Errand

    @property
    def frame(self) -> Frame | None:
        """The full screen shown, also under a dialog; None before the first."""


class Commands(Provider):
    """What the palette lists and finds."""

    @property
    def _house(self) -> Framed:
        return cast("Framed", self.app)

    @property
    def _keys(self) -> Mapping[str, str]:
        return self._house.keys

    def _here(self) -> Iterator[Action]:
        frame = self._house.frame
        scopes = (frame.SCOPE, "app") if frame is not None else ("app",)
        yield from (action for scope in scopes for action in self._of(scope))

    def _of(self, scope: str) -> Iterator[Action]:
        out = access.hidden(self._house.services.role, bool(self._house.services.guest))
        yield from (action for action in actions.of(scope) if action.palette and action.id not in out)

    def _elsewhere(self) -> Iterator[Action]:
        frame = self._house.frame
        for scope in ELSEWHERE:
            if frame is None or scope != frame.SCOPE:
                yield from (action for action in self._of(scope) if not action.call.startswith("app."))

    async def discover(self) -> Hits:
        """Before anything is typed: the actions of the screen and the app."""
        for action in self._here():
            yield DiscoveryHit(
                _name(action, self._keys), lambda action=action: self._run(action), help=action.help
            )

    async def search(self, query: str) -> Hits:
        """Word matches; fuzzy matches only if there are none."""
        hits = [*self._found_here(query), *self._found_elsewhere(query)] or [*self._scattered(query)]
        for hit in hits:
            yield hit

    def _found_here(self, query: str) -> Iterator[Hit]:
        for action in self._here():
            if (score := _by_word(query, action)) > 0:
                yield self._hit(score, action)

    def _found_elsewhere(self, query: str) -> Iterator[Hit]:
        for action in self._elsewhere():
            if (score := _by_word(query, action)) > 0:
                name = f"{_where(action)}: {_name(action, self._keys)}"
                yield Hit(score / 4, name, lambda action=action: self._go(action), help=action.help)

    def _scattered(self, query: str) -> Iterator[Hit]:
        matcher = self.matcher(query)
        for action in self._here():
            if (score := matcher.match(f"{_name(action, self._keys)} {action.help}")) > 0:
                yield self._hit(score, action)

    def _hit(self, score: float, action: Action) -> Hit:
        return Hit(score, _name(action, self._keys), lambda: self._run(action), help=action.help)

    async def _run(self, action: Action) -> None:
        await (self._house.frame or self.app).run_action(action.call)

    def _go(self, action: Action) -> None:
        """Go to an action's page; run it once loaded, or show how to reach it."""
        house, place = self._house, ELSEWHERE[action.scope]
        house.action_place(place)
        frame = house.frame
        if frame is None:
            return

        async def do() -> None:
            if action.scope not in AT_ONCE:
                frame.say(_way(action, self._keys), 8)
            elif place != frame.SCOPE:
                frame.say(f"Leave this first, then {actions.shown(action, self._keys) or 'Ctrl+P'}", 8)
            else:
                await frame.run_action(action.call)

        house.errand.begin(frame, do)


def _by_word(query: str, action: Action) -> float:
    """Whether each typed word starts a word of the action's name, help or synonyms."""
    typed = query.casefold().split()
    if typed and _has(typed, action.label):
        return BY_NAME
    every = f"{action.label} {action.help} {actions.WORDS.get(action.id, '')}"
    return BY_WORD if typed and _has(typed, every) else 0


def _has(typed: Sequence[str], text: str) -> bool:
    words = text.casefold().replace(",", " ").split()
    return all(any(word.startswith(each) for word in words) for each in typed)


def _where(action: Action) -> str:
    titles = {place.name: place.title for place in actions.PLACES}
    return titles.get(action.scope, "On a job" if ELSEWHERE[action.scope] == "jobs" else "Care")


def _way(action: Action, keys: Mapping[str, str]) -> str:
    """`Open a job, then r`; the palette again if there is no key."""
    first = "" if action.scope == "job" else f"{BY_HINT[action.scope]}, then "
    begin = "Open a job, then " if ELSEWHERE[action.scope] == "jobs" else "Press "
    return f"{begin}{first}{actions.shown(action, keys) or 'Ctrl+P'}"


def _name(action: Action, keys: Mapping[str, str]) -> str:
    key = "F1" if action.id == "app.help" else actions.shown(action, keys)
    return f"{action.label.capitalize()}  ({key})" if key else action.label.capitalize()
