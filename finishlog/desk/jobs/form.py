"""A small form: its fields, what stands in them, and the records it was made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from finishlog.inputs.asking import Field

Texts = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class SmallForm:
    """`parts` are fields and the headings of those that follow; `values` the texts that stand there first.

    `versions` are those of the records that were read; `turns_on` is the field that makes it another form.
    """

    what: str
    title: str
    sentence: str
    parts: tuple[Field | str, ...]
    values: Texts
    choices: Mapping[str, tuple[str, ...]]
    version: int = 0
    turns_on: str = ""

    @property
    def fields(self) -> tuple[Field, ...]:
        """The parts that take an answer, headings left out."""
        return tuple(part for part in self.parts if isinstance(part, Field))
