"""Jobs: find, list, preview."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from threading import Event
from typing import Any

from finishlog.errors import LogError
from finishlog.records.answers import DemoStart
from finishlog.tui.jobs.job import JobScreen
from finishlog.tui.jobs.jobs import JobsScreen
from finishlog.tui.jobs.rows import JobList
from finishlog.tui.match.measure import MeasureScreen
from finishlog.tui.screens.failure import Failure
from finishlog.tui.widgets.entry import Entry

Open = Callable[..., Any]


async def test_it_opens_with_all_jobs_and_the_list_focused(open_app: Open) -> None:
    async with open_app() as stage:
        assert isinstance(stage.app.focused, JobList)
        assert "8 of 8" in stage.row("Find")
        assert stage.row("Puddlecombe · back patio").rstrip().endswith("May 2025")


async def test_two_rows_an_item_who_and_what_it_looks_like(open_app: Open) -> None:
    async with open_app() as stage:
        first = stage.rows.index(stage.row("Quillfeather"))
        assert "light yellowish brown · Fox Ear + Toad Stone · slate stamp" in stage.rows[first + 1]
        assert "planned Jul 2026" in stage.row("Bellweather")


async def test_a_long_name_gives_way_to_the_date(open_app: Open) -> None:
    async with open_app(size=(60, 20)) as stage:
        row = stage.row("Thistlewaite")
        assert "… " in row
        assert row.rstrip().endswith("Jun 2024")


async def test_slash_and_a_scrap_find(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.type("/teakettle")
        assert "1 of 8" in stage.row("Find")
        assert "Puddlecombe" not in stage.text
        assert stage.app.screen.query_one(JobList).current.handle == "quillfeather-steps"


async def test_digits_and_verbs_in_the_box_are_text(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.type("/5m?q/")
        assert isinstance(stage.app.screen, JobsScreen)
        assert stage.app.screen.query_one(Entry).value == "5m?q/"


async def test_digits_and_letters_are_keys_at_once(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("5")
        assert stage.app.current_mode == "bench"
        await stage.press("2", "m")
        assert isinstance(stage.app.screen, MeasureScreen)


async def test_enter_opens_what_was_typed_even_before_the_answer_came(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.pilot.press("slash", *"teakettle", "enter")
        await stage.settle()
        assert isinstance(stage.app.screen, JobScreen)
        assert "Quillfeather · teakettle garden steps" in stage.text


async def test_nothing_fits_says_so_and_enter_looks_for_the_nearest(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("slash")
        await stage.enter("pudlcombe")
        assert "No match for “pudlcombe”." in stage.text
        assert "Nearest: puddlecombe." in stage.text
        await stage.press("enter")
        assert "2 of 8" in stage.row("Find")


async def test_an_empty_log_says_what_to_do(open_app: Open, fake: Any) -> None:
    async with open_app(desks=fake.desks(lines=())) as stage:
        assert "No jobs yet. n adds the first, i brings in a paper log." in stage.text
        assert "finishlog import FILE.csv" in stage.text
        assert isinstance(stage.app.focused, JobList)
        assert "n new job" in stage.rows[-1]


async def test_down_leaves_the_box_and_up_from_the_first_job_goes_back(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("slash", "down")
        assert isinstance(stage.app.focused, JobList)
        await stage.press("down", "up", "up")
        assert isinstance(stage.app.focused, Entry)


async def test_escape_steps_to_the_list_then_clears_then_says_q_leaves(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.type("/walk")
        await stage.press("escape")
        assert isinstance(stage.app.focused, JobList)
        assert stage.app.screen.query_one(Entry).value == "walk"
        assert "2 of 8" in stage.row("Find")
        await stage.press("escape")
        assert stage.app.screen.query_one(Entry).value == ""
        assert "8 of 8" in stage.row("Find")
        await stage.press("escape")
        assert "q quits" in stage.rows[-1]


async def test_slash_goes_back_to_the_box_from_anywhere(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("escape", "enter", "slash")
        assert isinstance(stage.app.screen, JobsScreen)
        assert isinstance(stage.app.focused, Entry)


async def test_the_mark_stands_at_the_left_edge(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("down")
        marked = [row for row in stage.rows if row.startswith("▌")]
        assert len(marked) == 2
        assert "side walk" in marked[0]


async def test_more_than_a_page_is_fetched_by_page_and_the_count_is_exact(open_app: Open, fake: Any) -> None:
    desks = fake.desks(lines=fake.many(230))
    async with open_app(desks=desks) as stage:
        assert "230 of 230" in stage.row("Find")
        assert desks.asked == ["page '' 0"]
        await stage.press("end")
        assert "piece 229" in stage.text
        assert stage.app.screen.query_one(JobList).current.handle == "job-229"
        assert desks.asked == ["page '' 0", "page '' 200"]
        await stage.press("home")
        assert "piece 0 " in stage.text


async def test_page_down_moves_by_what_is_shown(open_app: Open, fake: Any) -> None:
    async with open_app(desks=fake.desks(lines=fake.many(230))) as stage:
        await stage.press("pagedown")
        assert (
            stage.app.screen.query_one(JobList).cursor == stage.app.screen.query_one(JobList).size.height // 2
        )
        await stage.press("pageup")
        assert stage.app.screen.query_one(JobList).cursor == 0


async def test_only_whole_items_are_shown(open_app: Open, fake: Any) -> None:
    for height in (24, 25):
        async with open_app(size=(80, height), desks=fake.desks(lines=fake.many(60))) as stage:
            shown = [row for row in stage.rows if "piece" in row]
            below = [row for row in stage.rows if "light" in row]
            assert len(shown) == len(below)


async def test_a_preview_from_110_columns_follows_the_mark(open_app: Open) -> None:
    async with open_app(size=(120, 36)) as stage:
        assert "Wet Biscuit, Dunfold Colors, lot K-118" in stage.text
        assert "9.5YR 6.4/2.4   L* 62  a* 4.5  b* 16.0   sd 1.5" in stage.text
        assert "gas line, 8 in down, north edge" in stage.row("Buried")
        await stage.press("down", "down")
        assert "poured Sep 3 2024" in stage.text


async def test_no_preview_is_read_below_110_columns(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("down", "down")
        assert not any(asked.startswith("job") for asked in stage.desks.asked)


async def test_a_preview_that_fails_says_so_there_and_the_list_works_on(open_app: Open, fake: Any) -> None:
    class Failing(fake.desks):  # type: ignore[misc,name-defined]
        def job(self, handle: str) -> Any:
            raise LogError("The log is damaged.", "A page cannot be read.", "Try finishlog check.")

    async with open_app(size=(120, 36), desks=Failing()) as stage:
        assert "! The log is damaged." in stage.text
        await stage.type("/teakettle")
        assert "1 of 8" in stage.row("Find")


async def test_an_older_answer_never_replaces_a_newer_one(open_app: Open, fake: Any) -> None:
    desks = fake.desks(gate=Event())
    async with open_app(desks=desks) as stage:
        painted: list[int] = []
        screen = stage.app.screen
        found = screen._found
        screen._found = lambda page, keep, since=0: (painted.append(page.total), found(page, keep, since))
        await stage.pilot.press("slash", *"teakettle")
        await stage.until(lambda: screen.resting)
        assert painted == []
        desks.gate.set()
        await stage.settle()
        assert painted == [1]
        assert "1 of 8" in stage.row("Find")


async def test_reading_is_said_while_it_takes_long(open_app: Open, fake: Any) -> None:
    desks = fake.desks(gate=Event())
    async with open_app(desks=desks) as stage:
        await stage.until(lambda: "reading…" in stage.row("Find"))
        desks.gate.set()
        await stage.settle()
        assert "reading" not in stage.row("Find")


async def test_a_log_that_cannot_be_read_is_a_dialog_and_the_exit_status(open_app: Open, fake: Any) -> None:
    desks = fake.desks(
        failing=LogError("This is not a finishlog log.", "It has other tables.", "Name another file.")
    )
    async with open_app(desks=desks) as stage:
        assert isinstance(stage.app.screen, Failure)
        assert "This is not a finishlog log." in stage.text
        await stage.press("enter", "escape", "q")
    assert stage.app.return_code == 3


async def test_the_demo_opens_on_its_reference_job(open_app: Open) -> None:
    async with open_app(demo=DemoStart("marmot-walk", "20x12", "4 in")) as stage:
        assert isinstance(stage.app.focused, JobList)
        assert stage.app.screen.query_one(JobList).current.handle == "marmot-walk"
        await stage.press("m")
        assert isinstance(stage.app.screen, MeasureScreen)


async def test_a_write_reads_the_list_again_and_the_mark_stays_on_its_job(open_app: Open, fake: Any) -> None:
    desks = fake.desks()
    async with open_app(desks=desks) as stage:
        await stage.press("down", "down")
        desks.lines = (replace(fake.lines[0], handle="new", name="newest"), *fake.lines)
        stage.app.changed()
        await stage.settle()
        assert "9 of 9" in stage.row("Find")
        assert stage.app.screen.query_one(JobList).current.handle == "quillfeather-steps"


async def test_one_click_opens_the_job(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.pilot.click(offset=(20, stage.rows.index(stage.row("Marmot"))))
        await stage.settle()
        assert isinstance(stage.app.screen, JobScreen)
        assert "Marmot & Daughters Bakery" in stage.rows[2]


async def test_footer_words_are_buttons(open_app: Open) -> None:
    async with open_app() as stage:
        column = stage.rows[-1].index("m match")
        await stage.pilot.click(offset=(column, 23))
        await stage.settle()
        assert isinstance(stage.app.screen, MeasureScreen)


async def test_the_footer_offers_only_what_works_while_one_types(open_app: Open) -> None:
    async with open_app() as stage:
        await stage.press("slash")
        assert "Down to the list" in stage.rows[-1]
        assert "F1 help" in stage.rows[-1]
        assert "m match" not in stage.rows[-1]
        await stage.press("escape")
        assert "m match" in stage.rows[-1]
        assert "Down to the list" not in stage.rows[-1]
