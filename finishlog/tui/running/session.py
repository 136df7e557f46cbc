"""What this session logged, so that undo takes only its own entries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from finishlog.records.log import Entry


@dataclass(frozen=True, slots=True)
class Mine:
    """An entry logged here: place, job, number, and the other job if it was moved."""

    place: str
    job: str
    number: int
    other: str = ""


class Session:
    """Gets every write's answer and picks out the entries."""

    def __init__(self) -> None:
        self._stands: list[Mine] = []
        self._taken: list[Mine] = []
        self._numbers: dict[str, set[int]] = defaultdict(set)

    def note(self, place: str, answer: object) -> None:
        """Note the answer to a write made from a place."""
        for job, entry, number in _entries(answer):
            if entry is not None and entry.replaces is not None:
                self.forget(job, entry.replaces)
            if number in _of_others(answer, job, self._numbers[job]):
                continue
            self._numbers[job].add(number)
            facts = entry.facts if entry is not None else {}
            mine = Mine(place, job, number, str(facts.get("moved_from") or facts.get("moved_to") or ""))
            (self._taken if entry is not None and entry.withdrawn else self._stands).append(mine)

    def forget(self, job: str, number: int) -> None:
        """Drop an entry, so undo skips it."""
        for some in (self._stands, self._taken):
            some[:] = [mine for mine in some if (mine.job, mine.number) != (job, number)]

    def numbers(self, job: str) -> frozenset[int]:
        """Numbers of all entries this session logged on a job."""
        return frozenset(self._numbers[job])

    def last(self, *, place: str = "", job: str = "", taken: bool = False) -> Mine | None:
        """The last entry logged, or undone, from a place or on a job; None if no longer current."""
        some = reversed(self._taken if taken else self._stands)
        return next((mine for mine in some if _is_of(mine, place, job)), None)


def _is_of(mine: Mine, place: str, job: str) -> bool:
    return mine.place == place if place else job in (mine.job, mine.other)


def _entries(answer: object) -> Iterator[tuple[str, Entry | None, int]]:
    """Job, entry if the answer has it, and number, of each entry in an answer."""
    from finishlog.records.log import Entry  # imported late, for a fast first frame

    if isinstance(answer, tuple):
        for each in answer:
            yield from _entries(each)
        return
    job = getattr(answer, "job", None)
    if not isinstance(job, str):
        return
    yield from ((other, left, left.number) for other, left in getattr(answer, "beside", ()))
    entry = getattr(answer, "entry", None)
    if isinstance(entry, Entry):
        yield job, entry, entry.number
    read, photos = (
        found if isinstance(found := getattr(answer, name, None), tuple) else ()
        for name in ("entries", "kept")
    )
    yield from ((job, one, one.number) for one in read if isinstance(one, Entry))
    yield from ((job, None, photo.entry) for photo in photos)


def _of_others(answer: object, job: str, own: set[int]) -> tuple[int, ...]:
    """The number of an entry that only brings back someone else's."""
    restores = getattr(answer, "restores", None)
    foreign = restores is not None and getattr(answer, "job", None) == job and restores not in own
    return (answer.entry.number,) if foreign else ()  # type: ignore[attr-defined]
