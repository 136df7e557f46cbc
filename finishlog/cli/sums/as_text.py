"""An answer as text: its parts under each other, cautions and sources last."""

from __future__ import annotations

from collections.abc import Iterable
from textwrap import wrap
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from finishlog.records.quantities.cautions import Caution


def page(*parts: str) -> str:
    """The parts with a blank line between; empty ones go."""
    return "\n\n".join(part for part in parts if part)


def cautions(them: Iterable[Caution]) -> str:
    """Each caution behind its mark, wrapped."""
    lines = [wrap(caution.text, 74, initial_indent="! ", subsequent_indent="  ") for caution in them]
    return "\n".join(f"  {line}" for caution in lines for line in caution)


def sources(them: Iterable[str]) -> str:
    """Where the figures come from, a line each."""
    lines = [
        line for source in them for line in wrap(source, 74, initial_indent="- ", subsequent_indent="  ")
    ]
    return "\n".join(["  Sources", *(f"  {line}" for line in lines)])
