"""Assigns each reseal a week: exactly if small, else optimally without streets, then improved."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

TRIP = 3
"""Cost of another trip to a street, in weeks of waiting (ours)."""
LEFT = 10_000
"""Cost of leaving a reseal out: more than any wait."""
LONGEST_S = 2.0
EXACT_MOST = 500
"""Choices up to which the exact program is solved, 0.2 to 0.6 s for 60 reseals; beyond it may take minutes,
while somebody waits to book. What comes after it takes milliseconds, and costs 1 to 5 % more."""

Place = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Choice:
    """A reseal's options: waiting cost by Monday of the week. `outside`: none is in its window."""

    place: Place
    costs: Mapping[date, int]
    outside: bool = False


@dataclass(frozen=True, slots=True)
class Solved:
    """Each reseal's week (None: no place), the cost, its gap to the optimum in percent, and the method."""

    weeks: tuple[date | None, ...]
    cost: float
    gap: float
    how: str


def solve(
    choices: Sequence[Choice], room: Mapping[date, int], there: AbstractSet[tuple[Place, date]] = frozenset()
) -> Solved:
    """The cheapest weeks. `room` is each week's capacity, `there` the streets visited in a week anyway.

    Recent results are cached: a screen asks again after every call, and solving may take seconds.
    """
    asked = tuple((one.place, tuple(one.costs.items()), one.outside) for one in choices)
    return _solved(asked, tuple(room.items()), frozenset(there))


_Asked = tuple[tuple[Place, tuple[tuple[date, int], ...], bool], ...]


@lru_cache(maxsize=2)
def _solved(
    asked: _Asked, rooms: tuple[tuple[date, int], ...], there: frozenset[tuple[Place, date]]
) -> Solved:
    choices, room = [Choice(place, dict(costs), outside) for place, costs, outside in asked], dict(rooms)
    shared = [place for place, number in Counter(c.place for c in choices).items() if number > 1]
    neighbors = bool(shared) or any(place in {c.place for c in choices} for place, _ in there)
    if not choices:
        return Solved((), 0.0, 0.0, "Nothing to plan.")
    if neighbors and sum(len(choice.costs) for choice in choices) <= EXACT_MOST:
        exact = _exact(choices, room, there)
        if exact is not None:
            return Solved(exact, cost(choices, exact, there), 0.0, "No cheaper schedule.")
    weeks = _assigned(choices, room)
    least = _least(choices, weeks, there)
    if not neighbors:
        return Solved(weeks, cost(choices, weeks, there), 0.0, "No cheaper schedule.")
    weeks = _together(choices, weeks, room, there)
    found = cost(choices, weeks, there)
    gap = (found - least) / least * 100 if least else 0.0
    return Solved(weeks, found, gap, "The best day for each, then neighbors grouped")


def cost(
    choices: Sequence[Choice],
    weeks: Sequence[date | None],
    there: AbstractSet[tuple[Place, date]] = frozenset(),
) -> float:
    """The cost of a plan as module `week` defines it."""
    waiting = sum(LEFT if w is None else c.costs[w] for c, w in zip(choices, weeks, strict=True))
    trips = {(c.place, w) for c, w in zip(choices, weeks, strict=True) if w is not None} - there
    return float(waiting + TRIP * len(trips))


def _least(
    choices: Sequence[Choice], weeks: Sequence[date | None], there: AbstractSet[tuple[Place, date]]
) -> float:
    """Lower bound: the optimum without streets, plus a trip to each of the fewest streets that fit."""
    waiting = sum(LEFT if w is None else c.costs[w] for c, w in zip(choices, weeks, strict=True))
    open_places = {place for place, _ in there}
    sizes = Counter(choice.place for choice in choices)
    left = sum(week is not None for week in weeks) - sum(sizes[place] for place in open_places)
    trips = 0
    for size in sorted((size for place, size in sizes.items() if place not in open_places), reverse=True):
        if left <= 0:
            break
        left, trips = left - size, trips + 1
    return float(waiting + TRIP * trips)


# exact


def _exact(
    choices: Sequence[Choice], room: Mapping[date, int], there: AbstractSet[tuple[Place, date]]
) -> tuple[date | None, ...] | None:
    """The integer program: at most one week each, capacity per week, a trip if a street has any.

    None if it is not solved within `LONGEST_S`.
    """
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    put = [(i, week) for i, choice in enumerate(choices) for week in choice.costs]
    trips = sorted({(choices[i].place, week) for i, week in put} - there)
    at = {trip: len(put) + k for k, trip in enumerate(trips)}
    c = np.array([choices[i].costs[week] - LEFT for i, week in put] + [TRIP] * len(trips), dtype=float)
    matrix, high = _rows(choices, put, at, room)
    found = milp(
        c, constraints=LinearConstraint(matrix, -np.inf, high), integrality=np.ones(len(c)), bounds=Bounds(0, 1),
        options={"mip_rel_gap": 0.0, "time_limit": LONGEST_S},
    )  # fmt: skip
    if found.status != 0:
        return None
    weeks: list[date | None] = [None] * len(choices)
    for (i, week), value in zip(put, found.x[: len(put)], strict=True):
        if value > 0.5:
            weeks[i] = week
    return tuple(weeks)


def _rows(
    choices: Sequence[Choice],
    put: Sequence[tuple[int, date]],
    trips: Mapping[tuple[Place, date], int],
    room: Mapping[date, int],
) -> tuple[object, list[float]]:
    """The rows of the program and their upper bounds: at most once each, room of the weeks, x <= trip."""
    from scipy.sparse import csr_array

    week_row = {week: len(choices) + k for k, week in enumerate(sorted(room))}
    high: list[float] = [1.0] * len(choices) + [float(room[week]) for week in sorted(room)]
    rows, columns, values = [], [], []
    for column, (i, week) in enumerate(put):
        rows += [i, week_row[week]]
        columns += [column, column]
        values += [1.0, 1.0]
        trip = trips.get((choices[i].place, week))
        if trip is not None:
            rows += [len(high), len(high)]
            columns += [column, trip]
            values += [1.0, -1.0]
            high.append(0.0)
    shape = (len(high), len(put) + len(trips))
    return csr_array((values, (rows, columns)), shape=shape), high


# by assignment


def _assigned(choices: Sequence[Choice], room: Mapping[date, int]) -> tuple[date | None, ...]:
    """The optimum ignoring streets: each reseal to one slot or none."""
    import numpy as np
    from scipy.optimize import linear_sum_assignment

    slots = [week for week in sorted(room) for _ in range(min(room[week], len(choices)))]
    weeks = {week: k for k, week in enumerate(sorted(room))}
    by_week = np.full((len(choices), len(weeks)), np.inf)
    for i, choice in enumerate(choices):
        for week, waiting in choice.costs.items():
            by_week[i, weeks[week]] = waiting
    table = np.full((len(choices), len(slots) + len(choices)), float(LEFT))
    table[:, : len(slots)] = by_week[:, [weeks[week] for week in slots]]
    table[np.isinf(table)] = 10.0 * LEFT
    found: list[date | None] = [None] * len(choices)
    for i, k in zip(*linear_sum_assignment(table), strict=True):
        if k < len(slots):
            found[int(i)] = slots[int(k)]
    return tuple(found)


def _together(
    choices: Sequence[Choice],
    weeks: Sequence[date | None],
    room: Mapping[date, int],
    there: AbstractSet[tuple[Place, date]],
) -> tuple[date | None, ...]:
    """Moves neighbors into one week, into free slots or by swaps, while that lowers the cost."""
    found = list(weeks)
    inside: defaultdict[date, set[int]] = defaultdict(set)
    by_place: defaultdict[Place, list[int]] = defaultdict(list)
    for i, week in enumerate(found):
        if week is not None:
            inside[week].add(i)
            by_place[choices[i].place].append(i)
    tries = _Moves(choices, found, inside, by_place, room, there)
    for _round in range(3):
        if not sum(tries.gather(place) for place in sorted(by_place)):
            break
    return tuple(found)


@dataclass
class _Moves:
    """Single moves that keep every week within capacity."""

    choices: Sequence[Choice]
    weeks: list[date | None]
    inside: Mapping[date, set[int]]
    by_place: Mapping[Place, list[int]]
    room: Mapping[date, int]
    there: AbstractSet[tuple[Place, date]]

    def gather(self, place: Place) -> int:
        """Moves a street's reseals to a week with one of them or a fixed visit; returns how many moved."""
        targets = {self.weeks[i] for i in self.by_place[place]} | {w for p, w in self.there if p == place}
        if len(self.by_place[place]) < 2 and not (targets - {self.weeks[i] for i in self.by_place[place]}):
            return 0
        return sum(self._move(i, sorted(w for w in targets if w is not None)) for i in self.by_place[place])

    def _move(self, i: int, targets: Sequence[date]) -> bool:
        here = self.weeks[i]
        options = [
            (gain, week, other)
            for week in targets
            if week != here and week in self.choices[i].costs and week in self.room
            for gain, other in [self._best(i, week)]
            if gain > 0
        ]
        if not options or here is None:
            return False
        _, week, other = max(options, key=lambda option: (option[0], -option[1].toordinal()))
        self._put(i, week)
        if other is not None:
            self._put(other, here)
        return True

    def _best(self, i: int, week: date) -> tuple[float, int | None]:
        """The gain of moving one to a week, and its swap partner (None: there is room)."""
        here = self.weeks[i]
        alone = self._gain(i, week)
        if len(self.inside[week]) < self.room[week]:
            return alone, None
        changes = [
            (alone + self._gain(other, here), other)
            for other in self.inside[week]
            if here in self.choices[other].costs and self.choices[other].place != self.choices[i].place
        ]
        return max(changes, default=(0.0, None), key=lambda change: (change[0], -(change[1] or 0)))

    def _gain(self, i: int, week: date | None) -> float:
        """Saving from moving this one alone."""
        here, choice = self.weeks[i], self.choices[i]
        if here is None or week is None:
            return 0.0
        saved = float(choice.costs[here] - choice.costs[week])
        return saved + TRIP * (self._alone(i, here) - self._alone(i, week))

    def _alone(self, i: int, week: date) -> bool:
        """Whether it is that week's only reason for the trip."""
        place = self.choices[i].place
        others = any(self.weeks[other] == week for other in self.by_place[place] if other != i)
        return not others and (place, week) not in self.there

    def _put(self, i: int, week: date) -> None:
        before = self.weeks[i]
        if before is not None:
            self.inside[before].discard(i)
        self.inside[week].add(i)
        self.weeks[i] = week
