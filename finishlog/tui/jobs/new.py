"""A new job: who, where, areas, what is buried. A customer or a job name is enough."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from finishlog.tui import actions
from finishlog.tui.forms import specs
from finishlog.tui.forms.form import FormScreen
from finishlog.tui.paint import wording

if TYPE_CHECKING:
    from finishlog.tui.desks.views import JobForm, JobView


class NewJobScreen(FormScreen):
    """Opens the new job's page once saved."""

    SCOPE = "new"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("new")
    VERB = "Save it"

    @property
    def name_of_it(self) -> str:
        return "New job"

    @property
    def sentence(self) -> str:
        if self.resumed:
            return self.unfinished
        return "A customer or a job name is enough. Fill in the rest when you know it."

    def begin(self) -> None:
        self.ask("form", self.desks.job_form, self._came, self.not_begun)

    async def _came(self, form: JobForm) -> None:
        self.draft_key = form.draft_key
        await self.build(specs.of_fields(form.fields, {}), form.draft)

    def send(self, texts: dict[str, str], because: str | None) -> None:
        self.keep(lambda: self.desks.new_job(texts), self._made)

    def _made(self, view: JobView) -> None:
        from finishlog.tui.jobs.job import JobScreen

        self.app.switch_screen(JobScreen(view.page.line))
        self.house.done(f"{wording.name(view.page.line)} is saved.")
        self.house.changed()
