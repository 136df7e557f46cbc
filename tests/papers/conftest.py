"""Services on a copy of the demo's log, for sheets made without the command line."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
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
def plan(services: Services) -> Callable[..., Plan]:
    """A plan for rectangles, in feet: `plan("20x12", reference=..., lots=...)`."""

    def make(*rects: str, reference: str = REFERENCE, units: str = "us", **asked: Any) -> Plan:
        shapes = tuple(Shape(1, "rect", rect) for rect in rects)
        return planning.make(services, PlanRequest(reference, shapes, "4in", on=ON, **asked), units)

    return make
