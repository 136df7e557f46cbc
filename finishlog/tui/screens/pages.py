"""A long list held page by page: what was shown is here, the rest is asked for when it comes in view."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Generic, TypeVar

L = TypeVar("L")
PAGE = 50


class Pages(Generic[L]):
    """The pages of a list of `total` lines that were read so far."""

    def __init__(self) -> None:
        self.total = 0
        self._held: dict[int, Sequence[L]] = {}
        self._asked: set[int] = set()

    def fill(self, lines: Sequence[L], offset: int, total: int) -> None:
        """A new result; `offset` is where a page starts."""
        self.total = total
        self._held = {(offset + at) // PAGE: lines[at : at + PAGE] for at in range(0, len(lines), PAGE)}
        self._asked = set()

    def add(self, lines: Sequence[L], offset: int) -> None:
        """Another page of the same result."""
        self._held[offset // PAGE] = lines
        self._asked.discard(offset // PAGE)

    def at(self, index: int) -> L | None:
        """None out of range, or if its page has not come yet."""
        page = self._held.get(index // PAGE, ())
        return page[index % PAGE] if 0 <= index < self.total and index % PAGE < len(page) else None

    def missing(self, index: int) -> int | None:
        """Where the page of a line begins, if it is to be asked for: once."""
        page = index // PAGE
        if page in self._held or page in self._asked or not 0 <= index < self.total:
            return None
        self._asked.add(page)
        return page * PAGE

    def held(self) -> Iterator[tuple[int, L]]:
        """The lines that are here, with their place in the list."""
        for page in sorted(self._held):
            yield from enumerate(self._held[page], page * PAGE)


def around(index: int) -> tuple[int, int]:
    """The pages before, with and after a line: limit and offset. At the start of a list one is enough."""
    page = index // PAGE
    return (PAGE * 3, (page - 1) * PAGE) if page else (PAGE, 0)


def place(index: int, total: int) -> str:
    """`21 of 3,412`, where there is more than a page."""
    return f"{index + 1:,} of {total:,}" if total > PAGE else ""
