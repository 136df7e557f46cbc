"""Recipes that are one finish, on the demo's log: joined with a name, parted again."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from finishlog.tui.color.recipes import RecipesScreen

Open = Callable[..., Any]


async def test_the_offered_recipes_are_joined_by_who_says_so_and_parted_again(open_log: Open) -> None:
    async with open_log() as stage:
        stage.app.push_screen(RecipesScreen())
        await stage.settle()
        assert "1 recipe could be joined." in stage.text
        assert "1 to join" in stage.text
        assert "Wednesday Toast" in stage.text
        await stage.press("enter")
        assert "1 recipe will count as one with that of" in stage.text
        await stage.press("escape")
        assert stage.app.desks.recipe_groups().groups[0].joined == ()
        await stage.press("enter")
        await stage.fill("by", "Bo")
        await stage.press("ctrl+s")
        [group] = stage.app.desks.recipe_groups().groups
        assert [one.by for one in group.joined] == ["Bo"]
        assert "All that can be is joined." in stage.text
        assert "2 recipes joined as one" in " ".join(stage.text.split())
        await stage.press("enter")
        assert len(stage.app.desks.recipe_groups().groups[0].joined) == 1
        await stage.press("u")
        await stage.press("ctrl+s")
        [group] = stage.app.desks.recipe_groups().groups
        assert (group.joined, group.open) == ((), ())
        assert "parted" in stage.text
