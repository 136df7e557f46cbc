"""Remembered column mappings of foreign sheets, by their headers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from finishlog.inputs import fields
from finishlog.inputs.paper_log import mapping
from finishlog.inputs.paper_log.mapping import NO_MAPPING, ColumnMap
from finishlog.inputs.paper_log.pour import PourRow
from finishlog.retrying import anew

if TYPE_CHECKING:
    from finishlog.desk.services import Services


def recall(services: Services, headers: Sequence[str]) -> ColumnMap:
    """The mapping of the last sheet with these headers; none where there was none."""
    with services.log().reading() as reader:
        text = reader.settings().get(mapping.setting_key(headers))
    return NO_MAPPING if text is None else _still_ours(ColumnMap.from_json(text))


def _still_ours(names: ColumnMap) -> ColumnMap:
    """Without columns that this program does not have: another version may have kept it."""
    ours = {column.key for column in fields.columns(PourRow)}
    headers, units = ({k: v for k, v in told.items() if k in ours} for told in (names.headers, names.units))
    return ColumnMap(headers, units, names.ignored, names.noted, names.dates)


@anew
def forget(services: Services, headers: Sequence[str] | None) -> int:
    """Forget the mapping of these headers, or all where None; how many that were."""
    wanted = None if headers is None else mapping.setting_key(headers)
    with services.log().writing() as writer:
        keys = [
            key for key in writer.settings() if key == wanted or (wanted is None and mapping.is_setting(key))
        ]
        for key in keys:
            writer.set_setting(key, None)
    return len(keys)
