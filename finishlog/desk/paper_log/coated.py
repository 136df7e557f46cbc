"""Colors of a paper log that were read after their slab was sealed, though the sheet does not say so.

A sealed slab stays sealed until it is stripped, so such a color is taken as read over the sealer, and named: as bare
it would pull the bare curve several L* down.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import tzinfo

from finishlog.desk.record import reading_state
from finishlog.records.exchange import Remark
from finishlog.records.log import Job
from finishlog.records.writing import NewEntry
from finishlog.units import write_date

Told = tuple[int, NewEntry]
"""An entry, and the line that tells it."""


def as_read(
    told: Sequence[Told], known: Job | None, states: Mapping[int, str], zone: tzinfo
) -> tuple[list[Told], Iterable[Remark]]:
    """A job's new entries with such colors marked as sealed, and a remark by line.

    `states`: what a line says its color was read on; where it says dry or bare, it is believed, and named.
    """
    coming = tuple(entry for _, entry in told)
    found: list[Told] = []
    remarks: dict[int, Remark] = {}
    for line, entry in told:
        coat = reading_state.coated_before(entry, known, coming)
        if coat is None or entry.reading is None or entry.reading.damp or entry.reading.sealed:
            found.append((line, entry))
            continue
        day, state = write_date(coat.happened.astimezone(zone).date()), states.get(line)
        if state is None:
            entry = replace(entry, reading=replace(entry.reading, sealed=True))
            what = f"Sealed on {day}, before this color: taken as read over the sealer. If not, write bare."
        else:
            what = f"Sealed on {day}, before this color: kept as {state}. If it was read over the sealer, write sealed."
        found.append((line, entry))
        remarks[line] = Remark(line, "color_state", what)
    return found, remarks.values()
