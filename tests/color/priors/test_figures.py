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
    root = Path(finishlog.__file__).parent / "color"
    read = "\n".join(path.read_text() for path in root.rglob("*.py"))
    tree = ast.parse((root / "priors" / "figures.py").read_text())
    names = {name for name, one in vars(figures).items() if isinstance(one, Figure)}
    sums = {
        node.id for assign in ast.walk(tree) if isinstance(assign, ast.Assign) and isinstance(assign.value, ast.BinOp)
        for node in ast.walk(assign.value) if isinstance(node, ast.Name)
    }  # fmt: skip
    unread = {name for name in names - sums if f"figures.{name}" not in read}
    assert unread == {"PHOTO"}, unread


def test_the_start_of_a_log_is_that_of_the_table() -> None:
    bare = learn.unlearned()
    assert tuple(bare.origin[3:6]) == figures.LIGHTENING.value
    assert weathering.learn_pace(()).mean == pytest.approx(figures.PACE.value)


def test_what_is_a_setting_too_starts_alike() -> None:
    assert float(exact(Shop({}).pigment_full_percent)) == figures.SATURATION.one
