"""Student's t against SciPy, and that an order is advised without loading it."""

from __future__ import annotations

import subprocess
import sys

import pytest
from scipy.special import stdtr, stdtrit

from finishlog.trade.pour import order, student_t

FREEDOMS = (1, 2, 5, 6, 12, 51, 317, 20_004)


@pytest.mark.parametrize("freedom", FREEDOMS)
def test_quantiles_of_an_order(freedom: int) -> None:
    chances = [(i + 0.5) / order.QUANTILES for i in reversed(range(order.QUANTILES // 2))]
    exact = [-t for t in stdtrit(freedom, chances)]
    assert list(student_t.exceeded(freedom, chances)) == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize("freedom", FREEDOMS)
@pytest.mark.parametrize("t", [-40.0, -3.0, -1.74, -1.73, -0.2, 0.0, 1e-6, 0.2, 1.73, 1.74, 3.0, 8.0, 40.0])
def test_chance_to_exceed(freedom: int, t: float) -> None:
    assert student_t.above(freedom, t) == pytest.approx(float(stdtr(freedom, -t)), rel=1e-9, abs=1e-200)


def test_an_order_with_a_history_loads_no_numbers_library() -> None:
    code = """
import sys
from fractions import Fraction as F
from finishlog.records.quantities.order import TakeOff
from finishlog.records.shop import Shop
from finishlog.trade.pour import order
take = TakeOff(area_ft2=F(400), depth_in=F(4), slab_yd3=F(400, 81), edges_yd3=F(0))
error = order.depth_error([0.1, 0.3])
advice = order.advise(take, F(5), error, order.prices_of(Shop.from_values({})))
assert 0 < advice.best.chance_short < 1
print([name for name in ("scipy", "numpy") if name in sys.modules])
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
