"""A row of a sheet with the line it stands on, and the keys that say which job and pour it belongs to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from finishlog.desk.paper_log import pour_rows
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.store.schema.fold import key as fold

JobKey = tuple[str, str, str]
PourKey = tuple[JobKey, str, date]


@dataclass(frozen=True, slots=True)
class Line:
    """A row that was read, and the line it stands on."""

    line: int
    row: PourRow
    further: bool = False
    """A further truck of the pour above, though no ticket says so."""

    @property
    def job(self) -> JobKey:
        """Rows with an equal key describe one job."""
        row = self.row
        return fold(pour_rows.customer_name(row)), fold(pour_rows.street(row)), fold(pour_rows.job_name(row))

    @property
    def area(self) -> str:
        """The area's name with case and accents dropped."""
        return fold(pour_rows.area_name(self.row))

    @property
    def pour(self) -> PourKey:
        """Rows with an equal key describe one pour; the day must be known."""
        assert self.row.poured_on
        return self.job, self.area, self.row.poured_on
