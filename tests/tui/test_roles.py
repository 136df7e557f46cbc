"""Screens of a crew and of an office: no price anywhere, no verb for what they may not, and a key says who may."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractAsyncContextManager
from typing import Any

import pytest

from finishlog import roles
from finishlog.settings import Machine
from finishlog.tui import access, actions

Opened = Callable[..., AbstractAsyncContextManager[Any]]


def test_what_is_refused_is_an_action_and_an_act() -> None:
    assert set(access.NEEDS) <= {action.id for action in actions.ACTIONS}
    assert set(access.NEEDS.values()) <= set(roles.ACTS)
    assert access.hidden(roles.OWNER) == frozenset()


@pytest.mark.parametrize("size", [(120, 36), (60, 20)])
async def test_a_crew_sees_no_price_and_no_verb_that_is_not_its_own(
    open_log: Opened, size: tuple[int, int]
) -> None:
    async with open_log(size, machine=Machine(who="crew")) as stage:
        for key in ("1", "3", "4", "5", "2"):
            await stage.press(key)
            if key == "5":
                await stage.fill("rect", "20x12")
                await stage.fill("depth", "4in")
                assert "runs short" in stage.text
                await stage.press("escape")
            assert "$" not in stage.text, key
        assert "new job" not in stage.text
        await stage.press("n")
        assert "only the owner or the office may" in stage.text
        await stage.press("enter", "l")
        assert "Change order" not in stage.text
        assert "Load" in stage.text
