"""Settings, one group per page: the shop's, kept in the log, then this machine's.

A blank uses the default; each value has a range and a source.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.errors import InputError
from finishlog.tui import actions
from finishlog.tui.forms.fields import Field
from finishlog.tui.forms.meeting import Meeting
from finishlog.tui.paint.ink import Line, clip, paragraph
from finishlog.tui.settings import machine
from finishlog.tui.widgets.canvas import Block
from finishlog.tui.widgets.entry import Entry

if TYPE_CHECKING:
    from finishlog.desk.jobs.settings import Held

IN_LOG = "saved in the log, and travel with it"
TOLD = 2
"""Rows for a field's range and source."""
HERE = "saved on this machine only"


class SettingsScreen(Meeting):
    """`page` is the group to open at, from 0."""

    SCOPE = "settings"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("settings")
    VERB = "Save it"

    def __init__(self, page: int = 0) -> None:
        super().__init__()
        self._page = page
        self._groups: tuple[str, ...] = ()

    @property
    def name_of_it(self) -> str:
        return f"Settings · {self._groups[self._page]}" if self._groups else "Settings"

    @property
    def note(self) -> str:
        return HERE if self._of_machine else IN_LOG

    @property
    def fact(self) -> str:
        return f"page {self._page + 1} of {len(self._groups)}" if self._groups else ""

    @property
    def _of_machine(self) -> bool:
        return bool(self._groups) and self._groups[self._page] in machine.GROUPS

    @property
    def sentence(self) -> str:
        whose = "This machine's" if self._of_machine else "The shop's"
        return f"{whose} own values. Blank uses the default."

    def beside(self) -> Sequence[tuple[str, Sequence[str]]]:
        return (("Range", self._told),)

    @property
    def _told(self) -> Sequence[str]:
        """Range and source of the focused field."""
        keys = [field.entry for field in self.fields]
        at = keys.index(self.focused) if isinstance(self.focused, Entry) and self.focused in keys else None
        return self.cautions[at : at + 1] if at is not None else ()

    def _paint_doubts(self, width: int) -> list[Line]:
        """Above the fields if no pane is beside them; of fixed height, so that none moves."""
        if self.wide or self._of_machine:
            return []
        found = [row for text in self._told for row in paragraph(text, width, "muted")]
        return [*clip(found, TOLD, width), *[Line()] * (TOLD - len(found) + (not self.low))]

    def _paint_cautions(self, width: int) -> list[Line]:
        return []

    def on_descendant_focus(self) -> None:
        self.query_one("#doubts", Block).refresh()
        self.show_side(bool(self._told))
        self.query_one("#beside", Block).repaint()

    def begin(self) -> None:
        self.ask("settings", self.desks.settings, self._came, self.not_begun)

    async def _came(self, held: tuple[Held, ...]) -> None:
        shop = dict.fromkeys(one.group for one in held) if self.desks.may("settings") else ()
        self._groups = (*shop, *machine.GROUPS)
        self._page %= len(self._groups)
        if self._of_machine:
            await self.build(machine.parts(self._groups[self._page], self.house.machine), None)
            return
        shown = [one for one in held if one.group == self._groups[self._page]]
        self.cautions = [one.about for one in shown]
        self.set_class(any(one.is_words for one in shown), "-words")
        await self.build([_field(one) for one in shown], None)

    @property
    def meets(self) -> bool:
        """This machine's own are nobody else's."""
        return not self._of_machine

    def now(self) -> tuple[None, dict[str, str]]:
        return None, {one.asked.key: one.text for one in self.desks.settings()}

    def renew(self, source: None) -> None:
        """The fields hold all of it."""

    def send(self, texts: dict[str, str], because: str | None) -> None:
        if self._of_machine:
            self._settle_in(texts)
        else:
            read = self.read_first
            self.keep(lambda: self.desks.change_settings(texts, read), self._changed_ones)

    def _settle_in(self, texts: dict[str, str]) -> None:
        changed = [field.asked.title for field in self.fields if field.value != self._begun[field.asked.key]]
        try:
            settled = machine.changed(self.house.machine, texts)
        except InputError as wrong:
            self.refused(wrong)
            return
        self.house.settle_in(settled)
        self._changed_ones(tuple(changed))

    def _changed_ones(self, titles: tuple[str, ...]) -> None:
        self._sent = False
        self._begun = self.values
        self.begun_anew()
        self.house.done(f"Saved: {', '.join(titles)}." if titles else "Nothing changed.")
        self.house.changed()

    def action_page(self, by: int) -> None:
        """Go to another group, saving this one first."""
        if not self._groups or self.writing:
            return
        if self.values != self._begun:
            self.say("Ctrl+S first, to save what you changed")
            return
        self.app.switch_screen(SettingsScreen((self._page + by) % len(self._groups)))


def _field(held: Held) -> Field:
    usual = f"default: {held.default}" if held.default else getattr(held.setting, "help", "")
    return Field(held.asked, start=held.text, hint=usual)
