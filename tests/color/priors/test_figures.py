"""The table of starting values: every one in it, each with its source, and the arithmetic goes by it."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import get_args

import pytest

import finishlog
from finishlog.color.aging import learn, weathering
from finishlog.color.priors import figures
from finishlog.color.priors.figures import Figure
from finishlog.records.shop import Shop
from finishlog.units import exact

ALL = [figure for _, group in figures.TABLE for figure in group]


def test_every_figure_is_in_the_table_once() -> None:
    declared = [one for one in vars(figures).values() if isinstance(one, Figure)]
    assert sorted(map(id, declared)) == sorted(map(id, ALL))


@pytest.mark.parametrize("figure", ALL, ids=lambda figure: figure.name)
def test_a_figure_says_what_it_is_and_what_it_stands_on(figure: Figure) -> None:
    assert figure.basis in get_args(figures.Basis)
    assert figure.value or figure.sd
    if figure.basis.startswith("published"):
        assert re.search(r"\b(19|20)\d\d\b", figure.source), figure.source
    if figure.basis == "common practice":
        assert "no source" in figure.source


def test_every_figure_is_used_by_the_arithmetic() -> None:
    """One that no module reads would be shown and mean nothing."""
    root = Path(finishlog.__file__).parent
    read = "\n".join(
        path.read_text() for folder in ("color", "desk") for path in (root / folder).rglob("*.py")
    )
    tree = ast.parse((root / "color" / "priors" / "figures.py").read_text())
    inside = {
        name.id for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.BinOp)
        for name in ast.walk(node) if isinstance(name, ast.Name)
    }  # fmt: skip
    names = {name for name, one in vars(figures).items() if isinstance(one, Figure)}
    unread = {name for name in names - inside if not re.search(rf"figures\.{name}\b", read)}
    assert unread == {"PHOTO"}, unread


def test_the_start_of_a_log_is_that_of_the_table() -> None:
    bare = learn.unlearned()
    assert tuple(bare.origin[3:6]) == figures.LIGHTENING.value
    assert weathering.learn_pace(()).mean == pytest.approx(figures.PACE.value)


def test_what_is_a_setting_too_starts_alike() -> None:
    assert float(exact(Shop({}).pigment_full_percent)) == figures.SATURATION.one


@pytest.mark.parametrize("dose", [0.0, 1.0, 3.0, 6.0, 10.0])
def test_more_pigment_lightens_less_and_the_usual_dose_as_usual(dose: float) -> None:
    """Takano et al. 2000 (the sign); the size is judged: a sixth less at 3 % than without pigment."""
    assert figures.lightening_at(dose) == pytest.approx(0.94176 ** (dose - 3), rel=1e-3)
    assert figures.lightening_at(dose + 0.5) < figures.lightening_at(dose) or dose == 10
    assert figures.lightening_at(3) / figures.lightening_at(0) == pytest.approx(5 / 6, abs=0.01)
