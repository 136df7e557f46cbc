"""Every desk that is handed on by its name is there and takes what the screens were told it takes."""

from __future__ import annotations

import ast
import inspect
from importlib import import_module

import pytest

from finishlog.tui.desks.late import _Late
from finishlog.tui.desks.whole import Desks

DECLARED = {
    name: (where, kind.__annotations__[name])
    for kind in Desks.__mro__
    for name, where in vars(kind).items()
    if isinstance(where, _Late)
}


@pytest.mark.parametrize("name", DECLARED)
def test_a_desk_that_is_handed_on_takes_what_is_declared(name: str) -> None:
    where, declared = DECLARED[name]
    parsed = ast.parse(declared, mode="eval").body
    assert isinstance(parsed, ast.Subscript)
    assert isinstance(parsed.slice, ast.Tuple)
    takes, answers = parsed.slice.elts
    assert isinstance(takes, ast.List)
    desk = inspect.signature(getattr(import_module(where._module), where._name))
    given = dict.fromkeys(range(len(takes.elts)))
    desk.bind("services", *given)
    assert desk.return_annotation == ast.unparse(answers)
