"""What a screen and its widgets may ask of the app that shows them. No screen knows the app itself."""

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
    from finishlog.tui.running.session import Session
    from finishlog.tui.running.type_ahead import TypeAhead
    from finishlog.tui.running.work import Work


class House(Protocol):
    """`typed` keeps the measures of an addition by job; `broken`: the log cannot be used."""

    services: Services
    desks: Desks
    work: Work
    session: Session
    ahead: TypeAhead
    machine: Machine
    units: str
    demo: DemoStart | None
    typed: dict[str, dict[str, str]]
    broken: bool

    @property
    def palette(self) -> Palette: ...
    @property
    def depth(self) -> Depth: ...
    @property
    def keys(self) -> Mapping[str, str]: ...
    @property
    def current_mode(self) -> str: ...

    def started(self) -> None: ...
    def changed(self) -> None: ...
    def done(self, sentence: str) -> None: ...
    def action_place(self, name: str) -> None: ...
    def look_for(self, words: str) -> None: ...
    def settle_in(self, machine: Machine) -> None: ...
