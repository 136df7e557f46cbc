"""u and z: undo and bring back what was logged here; for anything else it asks first."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from finishlog.errors import InputError
from finishlog.tui.screens.frame import Frame

if TYPE_CHECKING:
    from finishlog.desk.record.record import Recorded
    from finishlog.tui.running.session import Mine

Done = Callable[["Recorded"], None]
NOTHING = "nothing logged from here yet"
NOTHING_TAKEN = "nothing undone from here"


class TakesBack(Frame):
    """Override `own_job` on a one-job screen: then others' entries can be undone too, after a question."""

    @property
    def own_job(self) -> str:
        """Handle of the one job shown; empty on a screen of many."""
        return ""

    def action_undo(self) -> None:
        mine = self._mine(taken=False)
        job = mine.job if mine else self.own_job
        if not job:
            self.say(NOTHING)
            return
        number, own = mine.number if mine else None, self.house.session.numbers(job)
        self._take(mine, lambda: self.desks.undo(job, number, own), self._taken_back)

    def action_again(self) -> None:
        """Bring back the last undone entry."""
        mine = self._mine(taken=True)
        job = mine.job if mine else self.own_job
        if not job:
            self.say(NOTHING_TAKEN)
            return
        own = self.house.session.numbers(job)
        if mine is None:
            self._take(None, lambda: self.desks.bring_back(job, own), self._came_back)
        else:
            number = mine.number
            self._take(mine, lambda: self.desks.undo(job, number, own), self._came_back)

    def _mine(self, *, taken: bool) -> Mine | None:
        place = "" if self.own_job else self.house.current_mode
        return self.house.session.last(place=place, job=self.own_job, taken=taken)

    def _take(self, mine: Mine | None, call: Callable[[], Recorded], done: Done) -> None:
        job = mine.job if mine else self.own_job
        self.put(call, done, lambda error: self._not_at_once(error, job, mine, done))

    def _not_at_once(self, error: Exception, job: str, mine: Mine | None, done: Done) -> None:
        from finishlog.desk.record.taking_back import Sure
        from finishlog.tui.screens.sure import SureScreen

        if isinstance(error, Sure):
            number = error.number
            self.app.push_screen(
                SureScreen(error, lambda: self.put(lambda: self.desks.undo(job, number, None), done))
            )
            return
        if mine is not None:  # someone else changed it meanwhile
            self.house.session.forget(mine.job, mine.number)
        if isinstance(error, InputError):
            self.say(error.title, 6)
        else:
            self.fail(error)

    def _taken_back(self, recorded: Recorded) -> None:
        moved, gone = bool(recorded.beside), recorded.entry.withdrawn
        self._said(recorded, "z moves it again." if moved else "z brings it back." if gone else "")

    def _came_back(self, recorded: Recorded) -> None:
        self._said(recorded, "u undoes it.")

    def _said(self, recorded: Recorded, hint: str) -> None:
        self.house.done(f"{recorded.sentence} {hint}".rstrip())
        self.house.changed()
