"""What the store needs from entry and stage kinds: the version of their facts, and upgrades to it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from finishlog.errors import InputError
from finishlog.records.log import Fact

if TYPE_CHECKING:
    from finishlog.trade.events import EntryKind


def version_of(kind: str) -> int:
    """The current version of this kind's facts; 1 for an undeclared kind."""
    known = _kind(kind)
    return known.params_version if known else 1


def current_params(kind: str, params: Mapping[str, Fact], version: int) -> tuple[Mapping[str, Fact], int]:
    """Stored facts upgraded to the kind's current version."""
    known = _kind(kind)
    if known is None or version >= known.params_version:
        return params, version
    return known.upgrade(params, version), known.params_version


def _kind(key: str) -> EntryKind | None:
    from finishlog.trade.events import entry_kind

    try:
        return entry_kind(key)
    except InputError:
        return None
