"""A job's small forms: change order, copied recipe, area, owner…"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType

from finishlog.inputs.asking import Field as Asked
from finishlog.tui import actions
from finishlog.tui.forms import specs
from finishlog.tui.forms.fields import Field
from finishlog.tui.forms.form import Part
from finishlog.tui.forms.meeting import Meeting

if TYPE_CHECKING:
    from finishlog.desk.jobs.small_forms import SmallForm


class SmallScreen(Meeting):
    """`what` is the form's key in `finishlog.desk.jobs.small_forms`; `title` is the job's."""

    SCOPE = "small"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("small")
    VERB = "Save it"
    NOTE = "Esc changes nothing"

    def __init__(self, handle: str, title: str, what: str, area: str = "") -> None:
        super().__init__()
        self._handle, self._title, self._what, self._area = handle, title, what, area
        self._form: SmallForm | None = None

    @property
    def name_of_it(self) -> str:
        return f"{self._form.title} · {self._title}" if self._form else self._title

    @property
    def fact(self) -> str:
        version = self._form.version if self._form and self._form.what == "change" else 0
        return f"version {version}" if version else ""

    @property
    def sentence(self) -> str:
        return self._form.sentence if self._form else ""

    def begin(self) -> None:
        handle, what, area = self._handle, self._what, self._area
        self.ask("form", lambda: self.desks.small_form(handle, what, area), self._came, self.not_begun)

    async def _came(self, form: SmallForm) -> None:
        self._form = form
        parts: list[Part] = []
        run: list[Asked] = []
        for part in (*form.parts, ""):
            if isinstance(part, str):
                parts += specs.of_fields(run, form.values, form.choices)
                parts += [part] if part else []
                run = []
            else:
                run.append(part)
        await self.build(parts, None)

    def now(self) -> tuple[SmallForm, Mapping[str, str]]:
        form = self.desks.small_form(self._handle, self._what, self._area)
        return form, form.values

    def renew(self, source: SmallForm) -> None:
        """The same fields, over what stands now."""
        if self._form is not None:
            self._form = replace(self._form, values=source.values, version=source.version)
            self.repaint()

    @on(Field.Changed)
    def _turned(self) -> None:
        """Reload: each area has its own recipe."""
        key = self._form.turns_on if self._form else ""
        wanted = self.values.get(key, "").strip() if key else ""
        if self._form and wanted in self._form.choices.get(key, ()) and wanted != self._form.values.get(key):
            self.app.switch_screen(SmallScreen(self._handle, self._title, self._what, wanted))

    def send(self, texts: dict[str, str], because: str | None) -> None:
        form = self._form
        assert form is not None
        self.keep(lambda: self.desks.keep_small(self._handle, form, texts), self.finished)
