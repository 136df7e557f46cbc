"""The one table of actions: keys, footers, help and palette all come from it."""

from __future__ import annotations

import re
from collections import defaultdict

import pytest

from finishlog.tui import actions, help
from finishlog.tui.actions import ACTIONS
from finishlog.tui.app import FinishlogApp
from finishlog.tui.bench import screen
from finishlog.tui.color import how_good, recipes
from finishlog.tui.color import screen as color
from finishlog.tui.due import care, today, today_sheet, weeks
from finishlog.tui.exchange import columns, file, pick, preview
from finishlog.tui.forms import paper
from finishlog.tui.jobs import job, jobs, move, new
from finishlog.tui.log import day, entry, kinds, small
from finishlog.tui.match import measure
from finishlog.tui.match import screen as match
from finishlog.tui.photo import add, choose, find, photo, photos, view
from finishlog.tui.rinse import screen as rinse
from finishlog.tui.screens import failure
from finishlog.tui.settings import screen as settings
from finishlog.tui.shelf import screen as shelf
from finishlog.tui.widgets.bars import footer

SCREENS = {
    "today": today.TodayScreen,
    "sheet": today_sheet.DueSheet,
    "jobs": jobs.JobsScreen,
    "job": job.JobScreen,
    "match": match.MatchScreen,
    "move": move.MoveScreen,
    "measure": measure.MeasureScreen,
    "bench": screen.BenchScreen,
    "care": care.CareScreen,
    "weeks": weeks.WeeksScreen,
    "shelf": shelf.ShelfScreen,
    "help": help.HelpScreen,
    "import_file": file.ImportFile,
    "import_columns": columns.ImportColumns,
    "import_pick": pick.PickScreen,
    "import_preview": preview.ImportPreview,
    "failure": failure.Failure,
    "kinds": kinds.KindScreen,
    "form": entry.LogScreen,
    "day": day.DayScreen,
    "new": new.NewJobScreen,
    "paper": paper.JobPaper,
    "settings": settings.SettingsScreen,
    "small": small.SmallScreen,
    "color": color.ColorScreen,
    "how_good": how_good.HowGoodScreen,
    "recipes": recipes.RecipesScreen,
    "rinse": rinse.RinseScreen,
    "photos": photos.PhotosScreen,
    "add": add.AddScreen,
    "choose": choose.ChooseScreen,
    "photo": photo.PhotoScreen,
    "shot": find.FindScreen,
    "view": view.ViewScreen,
}
FULL = (
    "today",
    "sheet",
    "jobs",
    "job",
    "move",
    "match",
    "measure",
    "bench",
    "care",
    "weeks",
    "shelf",
    "help",
    "kinds",
    "form",
    "day",
    "new",
    "paper",
    "settings",
    "small",
    "color",
    "how_good",
    "recipes",
    "rinse",
    "photos",
    "add",
    "choose",
    "photo",
    "shot",
    "view",
    "import_file",
    "import_columns",
    "import_pick",
    "import_preview",
)
AVOIDED = {f"ctrl+{letter}" for letter in "mihjab"} | {"ctrl+enter"}
"""These are other keys on many terminals, or belong to their multiplexer."""


def test_every_scope_has_a_screen() -> None:
    assert {action.scope for action in ACTIONS} <= SCREENS.keys() | {"app"}


def test_no_id_twice() -> None:
    ids = [action.id for action in ACTIONS]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("scope", [*SCREENS, "app"])
def test_no_key_twice_on_a_screen(scope: str) -> None:
    keys = [key for action in actions.of(scope) for key in action.key.split(",") if key]
    assert len(keys) == len(set(keys))


def test_one_letter_has_one_meaning_in_the_whole_program() -> None:
    meanings = defaultdict(set)
    for action in ACTIONS:
        if len(action.key) == 1:
            meanings[action.key].add(action.label)
    assert {key: labels for key, labels in meanings.items() if len(labels) > 1} == {}


def test_no_key_that_terminals_take_for_another() -> None:
    assert not {key for action in ACTIONS for key in action.key.split(",")} & AVOIDED


@pytest.mark.parametrize("scope", FULL)
@pytest.mark.parametrize("width", [60, 80, 120])
def test_the_footer_fits_and_shows_every_verb(scope: str, width: int) -> None:
    line = footer(scope, width)
    assert line.width <= width
    assert len(actions.footer(scope)) <= 5
    for action in actions.footer(scope):
        assert f"{action.shown} {action.label}" in line.text
    assert line.text.rstrip().endswith("Esc back" if width >= 70 else "Esc")


def test_a_footer_without_room_leaves_verbs_out_whole() -> None:
    assert footer("bench", 40).text.split("  ")[1].strip() == "Left/Right next calculator"
    assert "Tab" not in footer("bench", 40).text


@pytest.mark.parametrize("action", ACTIONS, ids=lambda action: action.id)
def test_every_action_can_be_called(action: actions.Action) -> None:
    match = re.fullmatch(r"(app\.)?(\w+)(\(.*\))?", action.call)
    assert match is not None
    owner = FinishlogApp if match[1] or action.scope == "app" else SCREENS[action.scope]
    assert callable(getattr(owner, f"action_{match[2]}", None)), action.call


@pytest.mark.parametrize("scope", [scope for scope in FULL if scope != "help"])
def test_every_screen_has_help_with_its_keys(scope: str) -> None:
    lines = help.paint(scope, help.page(scope), 76, {})
    text = "\n".join(line.text for line in lines)
    assert all(line.width <= 76 for line in lines)
    for action in (*actions.of(scope), *actions.of("app")):
        if action.shown and (action.foot or action.scope == "app"):
            assert action.shown in text
            assert action.help.split()[0] in text


def test_help_gives_sources_for_its_figures() -> None:
    pages = " ".join(help.page(scope) for scope in FULL if scope != "help")
    assert "ASTM C979/C979M §1.4" in pages
    assert "Common practice, no source" in pages
