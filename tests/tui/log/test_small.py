"""The small forms of a job, on the demo's log: each is in the palette, and keeps what the desk keeps."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from finishlog.tui import actions
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.log.small import SmallScreen

Open = Callable[..., Any]


async def to_form(stage: Any, what: str) -> SmallScreen:
    """The form by its palette entry, on the second job of the list: one that was poured."""
    if not isinstance(stage.app.screen, JobScreen):
        await stage.press("escape", "home", "down", "enter")
    action = next(one for one in actions.ACTIONS if one.id == f"job.{what}")
    await stage.app.screen.run_action(action.call)
    await stage.settle()
    assert isinstance(stage.app.screen, SmallScreen), stage.text
    return stage.app.screen


async def refill(stage: Any, key: str, text: str) -> None:
    """The same also where the cursor stands in the field already."""
    stage.field(key).fill("")
    await stage.fill(key, text)


def job_of(stage: Any) -> Any:
    return stage.app.desks.job(stage.app.screen._line.handle).page.job


async def test_every_small_form_stands_in_the_palette() -> None:
    offered = {action.id for action in actions.of("job") if action.palette}
    whats = ("change", "copy", "area", "bury", "owner", "merge", "note", "archive", "unarchive")
    assert {f"job.{what}" for what in whats} <= offered


async def test_a_change_order_is_the_next_version_with_its_reason(open_log: Open) -> None:
    async with open_log() as stage:
        screen = await to_form(stage, "change")
        before = screen._form.version
        await stage.press("ctrl+s")
        assert "Needed, like she chose darker." in stage.text
        await stage.fill("reason", "she chose darker")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, SmallScreen)
        assert "Nothing would change." in stage.text
        await refill(stage, "integral_color.rate", "lots")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, SmallScreen)
        assert stage.field("integral_color.rate").has_class("-wrong")
        await refill(stage, "integral_color.rate", "9 lb/yd3")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, JobScreen), stage.text
        assert f"is now version {before + 1}" in stage.toast()
        area = next(one for one in job_of(stage).areas if one.kind == "field")
        assert area.recipe.stage("integral_color").materials[0].rate == 9
        assert area.recipe.reason == "she chose darker"


@pytest.mark.parametrize(
    ("what", "texts", "said"),
    [
        ("area", {"areas": "landing 20 ft2 4in"}, "Added landing."),
        ("bury", {"what": "gas line, 18 in, along the fence"}, "Buried at this site: gas line."),
        ("owner", {"owner": "Barnaby Crumpet", "since": "Jun 1 2026"}, "The site is Barnaby Crumpet's since"),
        ("note", {"note": "the gate sticks"}, "Note saved."),
    ],
)
async def test_a_small_form_is_kept(open_log: Open, what: str, texts: dict[str, str], said: str) -> None:
    async with open_log() as stage:
        await to_form(stage, what)
        for key, text in texts.items():
            await stage.fill(key, text)
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, JobScreen), stage.text
        assert said in stage.toast()


async def test_a_recipe_is_copied_from_another_job(open_log: Open) -> None:
    async with open_log() as stage:
        screen = await to_form(stage, "copy")
        source = next(h for h in screen._form.choices["source"] if "fizzlewick" in h)
        theirs = next(a for a in stage.app.desks.job(source).page.job.areas if a.kind == "field").recipe
        await stage.fill("source", "no-such-job-at-all")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, SmallScreen), stage.text
        assert stage.field("source").has_class("-wrong")
        await refill(stage, "source", source)
        await stage.fill("reason", "like the walk")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, JobScreen), stage.text
        ours = next(a for a in job_of(stage).areas if a.kind == "field").recipe
        assert [stage.kind for stage in ours.stages] == [stage.kind for stage in theirs.stages]
        assert ours.uid != theirs.uid


async def test_two_entries_of_a_customer_become_one(open_log: Open) -> None:
    async with open_log() as stage:
        screen = await to_form(stage, "merge")
        double = next(c for c in screen._form.choices["double"] if c != screen._form.values["keep"])
        await stage.fill("double", double)
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, JobScreen), stage.text
        assert f"Merged {double} into" in stage.toast()
        assert double not in (await to_form(stage, "merge"))._form.choices["double"]


async def test_archived_and_brought_back(open_log: Open) -> None:
    async with open_log() as stage:
        await stage.press("escape", "home", "down", "enter")
        name = stage.rows[2].split("  ")[1]
        await stage.app.screen.run_action("archive")
        await stage.settle()
        assert "Archived. Ctrl+P, “bring back”, brings it back." in stage.toast()
        await stage.press("escape")
        assert name not in stage.text
        await stage.app.screen.run_action("archived")
        await stage.settle()
        assert "archived" in stage.row(name)
        await stage.press("home", *["down"] * 1, "enter")
        await stage.app.screen.run_action("unarchive")
        await stage.settle()
        assert "Back on the list, poured." in stage.toast()


async def test_a_changed_rate_takes_what_says_the_same_along(open_log: Open) -> None:
    async with open_log() as stage:
        screen = await to_form(stage, "change")
        assert screen._form.values["powder_release.lb_per_100ft2"]
        await stage.fill("reason", "less of it")
        await stage.fill("powder_release.rate", "2.5 lb/100 ft2")
        await stage.press("ctrl+s")
        assert isinstance(stage.app.screen, JobScreen), stage.text
        area = next(one for one in job_of(stage).areas if one.kind == "field")
        release = area.recipe.stage("powder_release")
        assert (release.materials[0].rate, release.params["lb_per_100ft2"]) == (2.5, 2.5)
