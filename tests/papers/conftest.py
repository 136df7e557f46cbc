"""Services on a copy of the demo's log, for sheets made without the command line."""

from __future__ import annotations

import filecmp
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from finishlog.desk.match import plan as planning
from finishlog.desk.services import Services
from finishlog.records.log import Shape
from finishlog.records.plan import Plan, PlanRequest

REFERENCE = "bogglethwaite-front-yard"
BLEND = "underhedge-courtyard"
ON = date(2027, 4, 12)


@pytest.fixture
def services(demo: str, clock: str) -> Iterator[Services]:
    from finishlog import wiring

    made = wiring.build(demo)
    yield made
    made.close()


@pytest.fixture
def plan(services: Services, demo: str, made_demo: Path) -> Callable[..., Plan]:
    """A plan for rectangles, in feet: `plan("20x12", reference=..., lots=...)`. Made once of an untouched demo."""

    def make(*rects: str, reference: str = REFERENCE, units: str = "us", **asked: Any) -> Plan:
        shapes = tuple(Shape(1, "rect", rect) for rect in rects)
        request = PlanRequest(reference, shapes, "4in", on=ON, **asked)
        if not _untouched(Path(demo), made_demo):
            return planning.make(services, request, units)
        if (request, units) not in _MADE:
            _MADE[request, units] = planning.make(services, request, units)
        return _MADE[request, units]

    return make


_MADE: dict[tuple[PlanRequest, str], Plan] = {}


def _untouched(log: Path, made: Path) -> bool:
    """Whether nothing was written to the copy, in the file or beside it."""
    beside = Path(f"{log}-wal")
    return (not beside.exists() or not beside.stat().st_size) and filecmp.cmp(log, made, shallow=False)
