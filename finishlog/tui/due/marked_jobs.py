"""A marked list whose lines belong to jobs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Generic, Protocol, TypeVar

from finishlog.tui.screens.marked import MarkedScreen
from finishlog.tui.screens.takes_back import TakesBack

if TYPE_CHECKING:
    from finishlog.tui.desks.views import JobView


class OfJob(Protocol):
    """A line that belongs to a job."""

    @property
    def job(self) -> str:
        """The job's handle."""


J = TypeVar("J", bound=OfJob)


class OpensJobs(MarkedScreen[J], TakesBack, Generic[J]):
    """Of a marked list of jobs: open the job, undo what was written from here."""

    def written(self, handle: str) -> None:
        """Called with a job's handle after a write on it."""

    def action_job(self) -> None:
        self.with_line(lambda line: self.ask("job", lambda: self.desks.job(line.job), self._open_job))

    def _open_job(self, view: JobView) -> None:
        from finishlog.tui.jobs.job import JobScreen

        self.app.push_screen(JobScreen(view.page.line))


class MarkedJobs(OpensJobs[J], Generic[J]):
    """A marked list of jobs."""
