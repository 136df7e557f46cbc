"""Everything that can be logged: stages and events under one lookup.

`entry_kind` finds stages and events alike; `kinds_in_order` lists what can be logged, in the order of the work.
Forms, the command line and the import are drawn from these declarations.
"""

from __future__ import annotations

from finishlog import units
from finishlog.errors import InputError
from finishlog.trade.due_slab import FallsDue
from finishlog.trade.event_kinds import DOSE, EVENTS, MIX, EntryKind, EventKind, in_order
from finishlog.trade.stages import KINDS

__all__ = ["ALL_DUE", "DOSE", "EVENTS", "MIX", "ORDER", "WASHES", "EntryKind", "EventKind", "entry_kind",
           "kinds_in_order"]  # fmt: skip

_LOGGED = tuple(in_order(EVENTS))
_EVERY: tuple[EntryKind, ...] = (*KINDS, *EVENTS)
_ALL = {each.key: each for each in _EVERY}
ORDER = tuple(kind.key for kind in _LOGGED)
ALL_DUE: tuple[tuple[FallsDue, str], ...] = tuple(
    (due, due.logged_as or kind.key) for kind in _LOGGED for due in kind.due
)
"""Due work of every kind, in order of work, with the kind of entry that logs it."""
WASHES = tuple(kind.key for kind in KINDS if kind.wets)
"""Stages after which a slab must dry."""


def entry_kind(key: str) -> EntryKind:
    """The stage or event of that key. Raises InputError that lists what can be logged."""
    found = _ALL.get(key)
    if found is None:
        title = f"“{units.shown(key)}” is no entry type."
        raise InputError(title, f"It can be {', '.join(ORDER)}.", example="load")
    return found


def kinds_in_order() -> tuple[EntryKind, ...]:
    """Everything that can be logged, in order of work; integral color is logged with its load."""
    return _LOGGED
