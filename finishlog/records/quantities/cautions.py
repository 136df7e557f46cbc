"""Cautions to read before the work."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Caution:
    """One line to read before the work it belongs to."""

    key: str
    text: str
