"""Sheets on paper: which one, to which file. No file is overwritten."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType

from finishlog.errors import InputError
from finishlog.papers.files import file_name
from finishlog.tui import actions
from finishlog.tui.forms.fields import Field, asks
from finishlog.tui.forms.form import FormScreen
from finishlog.tui.paint import wording

if TYPE_CHECKING:
    from collections.abc import Sequence

    from finishlog.records.plan import Plan
    from finishlog.tui.desks.views import JobView

SHEETS = {
    "customer": "what was done, how the color moves, care",
    "history": "everything, for the file",
    "match": "the plan for the owner",
    "batch": "what the plant sends, load by load",
    "daycard": "for the crew, with blanks",
    "all": "match, batch and daycard in one file",
}


class PaperScreen(FormScreen):
    """`sheets` are the choices, the first preset; `start` begins the file name."""

    SCOPE = "paper"
    BINDINGS: ClassVar[list[BindingType]] = actions.bindings("paper")
    VERB = "Write it"
    NOTE = "a PDF in this folder"

    def __init__(self, title: str, start: str, sheets: tuple[str, ...]) -> None:
        super().__init__()
        self._title, self._start, self._sheets = title, start, sheets
        self._named = ""

    @property
    def name_of_it(self) -> str:
        return f"Sheet · {self._title}"

    @property
    def fact(self) -> str:
        return "writing…" if self.writing else ""

    @property
    def sentence(self) -> str:
        return "Which sheet, to which file?"

    def begin(self) -> None:
        self.call_after_refresh(self._show)

    async def _show(self) -> None:
        self._named = self._free(self._sheets[0])
        sheet = asks("sheet", "Sheet", self._read, start=self._sheets[0], choices=self._sheets, strict=True,
                     required="Say which sheet.")  # fmt: skip
        file = asks("file", "File", _where, start=self._named, required="The file needs a name.")
        await self.build([sheet, *self.more(), file], None)

    def more(self) -> Sequence[Field]:
        """Extra fields, between sheet and file."""
        return ()

    def _free(self, sheet: str) -> str:
        """The first file name not taken."""
        names = (
            file_name(f"{self._start}-{sheet}", f"{end}.pdf")
            for end in ("", *(f"-{n}" for n in range(2, 100)))
        )
        return next((name for name in names if not Path(name).exists()), "")

    def _read(self, text: str) -> str:
        if text.strip().casefold() not in self._sheets:
            raise InputError(f"There is no sheet “{text[:30]}”.", f"It can be {', '.join(self._sheets)}.")
        return SHEETS[text.strip().casefold()]

    @on(Field.Changed)
    def _sheet_changed(self) -> None:
        """Name the file after its sheet until the user names it."""
        sheet, file = self.fields[0], self.fields[-1]
        chosen = sheet.value.strip().casefold()
        if chosen in self._sheets and file.value == self._named:
            self._named = self._free(chosen)
            file.fill(self._named)

    def send(self, texts: dict[str, str], because: str | None) -> None:
        sheet, file = texts["sheet"].strip().casefold(), texts["file"].strip()
        self.keep(lambda: self.write(sheet, file), self._written)
        self.repaint()

    def write(self, sheet: str, file: str) -> str:
        """In a worker: write the sheet and answer its path. Raises InputError at `file`."""
        raise NotImplementedError

    def _written(self, path: str) -> None:
        self.leave()
        self.house.done(f"Sheet saved to {path}.")


class JobPaper(PaperScreen):
    """A job's sheets, with its plan's if it has one."""

    def __init__(self, view: JobView) -> None:
        line = view.page.line
        planned = ("match", "batch", "daycard") if view.page.job.reference else ()
        sheets = ("customer", "history")
        both = (*planned, *sheets) if line.poured_on is None else (*sheets, *planned)
        super().__init__(wording.name(line), line.handle, both)
        self._handle = line.handle

    def write(self, sheet: str, file: str) -> str:
        return self.desks.write_job(self._handle, sheet, file, self.house.units)


class PlanPaper(PaperScreen):
    """A plan's sheets; the plan need not be saved."""

    def __init__(self, plan: Plan) -> None:
        super().__init__(plan.title, f"{plan.request.reference}-plan", ("match", "batch", "daycard", "all"))
        self._plan = plan

    def write(self, sheet: str, file: str) -> str:
        return self.desks.write_plan(self._plan, sheet, file, self.house.units)


def _where(text: str) -> str:
    path = Path(text).expanduser()
    if path.exists():
        raise InputError(
            f"{path.name} already exists.", "It will not be overwritten.", example="another name"
        )
    return ""
