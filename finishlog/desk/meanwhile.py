"""What one types against what another changed meanwhile: three texts of each field, and what becomes of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from finishlog.errors import InputError


class Meanwhile(InputError):
    """Another changed what was to be changed, after it was read. Nothing was written; read it again and compare."""


@dataclass(frozen=True, slots=True)
class Met:
    """Keys of fields: `taken` only the other changed, and theirs holds; `clashing` both changed, differently."""

    taken: tuple[str, ...]
    clashing: tuple[str, ...]


def meet(begun: Mapping[str, str], now: Mapping[str, str], typed: Mapping[str, str]) -> Met:
    """Compare each field that is typed in: as it was read first, as it is now, and what is typed.

    What only one of both changed, or both changed alike, does not clash. Blanks around a text are no change.
    """
    taken: list[str] = []
    clashing: list[str] = []
    for key, mine in typed.items():
        was, theirs, own = (texts.get(key, "").strip() for texts in (begun, now, {key: mine}))
        if theirs in (was, own):
            continue
        (taken if own == was else clashing).append(key)
    return Met(tuple(taken), tuple(clashing))
