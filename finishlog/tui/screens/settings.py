"""The shop's settings, one group a page: a blank is the usual value; each has its range and its source."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.forms import Spec
from finishlog.tui.screens.form import FormScreen

if TYPE_CHECKING:
    from finishlog.desk.settings import Held


class SettingsScreen(FormScreen):
    SCOPE = "settings"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("settings")
    VERB = "Keep it"
    NOTE = "these stand in the log and travel with it"

    def __init__(self, page: int = 0) -> None:
        super().__init__()
        self._page = page
        self._groups: tuple[str, ...] = ()

    @property
    def name_of_it(self) -> str:
        return f"Settings · {self._groups[self._page]}" if self._groups else "Settings"

    @property
    def fact(self) -> str:
        return f"page {self._page + 1} of {len(self._groups)}" if self._groups else ""

    @property
    def sentence(self) -> str:
        return "The shop's own values. A blank is the usual one."

    def begin(self) -> None:
        self.ask("settings", self.desks.settings, self._came, self.not_begun)

    async def _came(self, held: tuple[Held, ...]) -> None:
        self._groups = tuple(dict.fromkeys(one.group for one in held))
        shown = [one for one in held if one.group == self._groups[self._page]]
        self.cautions = [f"{one.setting.title}: {one.range}. Source: {one.setting.source}." for one in shown]
        await self.build([_spec(one) for one in shown], None)

    def send(self, texts: dict[str, str], because: str | None) -> None:
        self.keep(lambda: self.desks.change_settings(texts), self._changed_ones)

    def _changed_ones(self, titles: tuple[str, ...]) -> None:
        self._sent = False
        self._begun = self.values
        self.house.done(f"Kept: {', '.join(titles)}." if titles else "Nothing was changed.")
        self.house.changed()

    def action_page(self, by: int) -> None:
        """Another group; what was changed on this one is kept first."""
        if not self._groups or self.writing:
            return
        if self.values != self._begun:
            self.say("Ctrl+S keeps what was changed here first")
            return
        self.app.switch_screen(SettingsScreen((self._page + by) % len(self._groups)))


def _spec(held: Held) -> Spec:
    from finishlog.desk import settings

    return Spec(held.setting.key, held.setting.title, partial(settings.echo, held.setting), start=held.text,
                hint=f"usual: {held.default}")  # fmt: skip
