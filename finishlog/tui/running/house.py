"""What screens and widgets may ask of the app. None imports the app itself."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Mapping

    from finishlog.desk.services import Services
    from finishlog.records.answers import DemoStart
    from finishlog.settings import Machine
    from finishlog.tui.desks.whole import Desks
    from finishlog.tui.paint.ink import Palette
    from finishlog.tui.paint.theme import Depth
    from finishlog.tui.running.others import Others
    from finishlog.tui.running.session import Session
    from finishlog.tui.running.type_ahead import TypeAhead
    from finishlog.tui.running.work import Work


class House(Protocol):
    """`typed` keeps an addition's measures by job; `broken` means the log cannot be used."""

    services: Services
    desks: Desks
    work: Work
    session: Session
    ahead: TypeAhead
    others: Others
    machine: Machine
    units: str
    demo: DemoStart | None
    typed: dict[str, dict[str, str]]
    broken: bool

    @property
    def palette(self) -> Palette:
        """Tokens of the current theme."""

    @property
    def depth(self) -> Depth:
        """How many colors the terminal shows."""

    @property
    def keys(self) -> Mapping[str, str]:
        """The user's own keys, by action id."""

    @property
    def current_mode(self) -> str:
        """The place shown, as actions.Place names it."""

    def started(self) -> None:
        """The first answer is on the screen."""

    def changed(self) -> None:
        """Something was written: every open screen reads again."""

    def done(self, sentence: str) -> None:
        """Report a success; it stays for as long as it takes to read."""

    def action_place(self, name: str) -> None: ...
    def look_for(self, words: str) -> None:
        """Go to Jobs with these words in the find box."""

    def settle_in(self, machine: Machine) -> None:
        """Apply this machine's settings to every open screen, and keep them."""
