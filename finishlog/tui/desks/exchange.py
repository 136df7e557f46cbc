"""Importing a paper log, for the screens. Called from worker threads only."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.tui.desks.late import late

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from finishlog.desk.exchange.back import Wrote
    from finishlog.desk.exchange.folder import Folder
    from finishlog.desk.exchange.table import Table
    from finishlog.desk.exchange.write import Progress
    from finishlog.desk.services import Services
    from finishlog.inputs.paper_log.mapping import ColumnMap
    from finishlog.records.exchange import ColumnGuess, ImportReport


class ImportDesks:
    """Imports into one log."""

    _services: Services
    _units: str
    last_import: Callable[[], Wrote | None] = late("finishlog.desk.exchange.back.last")
    take_import_back: Callable[[Progress], str] = late("finishlog.desk.exchange.back.take_back")

    def import_folder(self, text: str, beside: str) -> Folder | Path:
        """A blank text means the folder of the last sheet. Raises InputError."""
        from finishlog.desk.exchange import folder

        text = text if text.strip() else folder.last(self._services)
        return folder.lay_open(text, beside, self._services.zone)

    def sheet_table(self, path: Path, told: ColumnMap | None) -> Table:
        """The sheet's columns as guessed; `told` overrides. Raises InputError if unreadable."""
        from finishlog.desk.exchange import table as import_table
        from finishlog.inputs.paper_log.mapping import NO_MAPPING

        return import_table.look(self._services, path, told or NO_MAPPING)

    def column_choices(self, table: Table, guess: ColumnGuess) -> tuple[tuple[str, str, str], ...]:
        """Value, title and meaning of every field a column may be."""
        from finishlog.desk.exchange import table as import_table

        return import_table.choices(guess, table.today)

    def choose_column(self, table: Table, guess: ColumnGuess, value: str) -> Table:
        """The sheet read again, with one column's meaning set."""
        from finishlog.desk.exchange import table as import_table

        return import_table.look(self._services, table.path, import_table.choose(table.told, guess, value))

    def check_sheet(self, table: Table) -> ImportReport:
        """A dry run. Raises InputError if the sheet cannot be read that way."""
        return self._bring(table, None)

    def bring_in(self, table: Table, progress: Progress) -> ImportReport:
        """Writes everything in one transaction, or nothing."""
        from finishlog.desk.exchange import folder

        report = self._bring(table, progress)
        if report.written:
            folder.keep(self._services, table.path)
        return report

    def _bring(self, table: Table, progress: Progress | None) -> ImportReport:
        from finishlog.desk.exchange import exchange
        from finishlog.desk.exchange import table as import_table

        return exchange.bring_in(
            self._services,
            table.path,
            check=progress is None,
            new=not self._services.has_log(),
            asked=import_table.mapping_of(table),
            units=self._units,
            progress=progress,
        )
