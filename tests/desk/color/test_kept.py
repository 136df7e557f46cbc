"""What was learned lies in the log: the same answers whoever looked when, and never a wrong one of a newer mark."""

from __future__ import annotations

import itertools
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from finishlog.color.aging import learn
from finishlog.desk.color import color, kept, kept_shop, learned, taught
from finishlog.desk.services import Services
from finishlog.errors import LogError
from finishlog.records.log import Reading
from finishlog.records.writing import NewEntry, NewSample
from finishlog.store import Log
from finishlog.store.archive.export import dump, restore
from finishlog.store.search import moments
from tests.desk.color.test_color import USUAL, Yard, curve
from tests.desk.conftest import SheetShop


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Yard]:
    """Rungs come early, so that few readings pass some."""
    monkeypatch.setattr(moments, "FEW", 6)
    monkeypatch.setattr(moments, "STEP_SHARE", 3)
    made = Yard(tmp_path)
    yield made
    made.services.close()


def again(yard: Yard) -> Services:
    """Another program that opens the same log."""
    taught.learned.cache_clear()
    shop = SheetShop(Path("."))
    log = yard.services.log().where
    shop.services.open_log = lambda: Log.open(log, clock=yard.services.clock, new_uid=lambda: "unused")
    shop.services.has_log = lambda: True
    shop.services.clock = yard.services.clock
    return shop.services


def answers(services: Services) -> dict[str, Any]:
    """The settled color of every area, with its range, and what the answer rests on."""
    with services.log().reading() as log:
        handles = [line.handle for line in log.lines()]
    found = {}
    for handle in handles:
        job = color.job(services, handle)
        settled = [track.final and (*track.final.lab, *track.final.lab_sd) for track in job.tracks]
        looks = [reading.entry for track in job.tracks for reading in track.readings if reading.looks_sealed]
        found[handle] = (settled, looks, job.history_jobs, [track.recipe_jobs for track in job.tracks])
    return found


def same(one: dict[str, Any], other: dict[str, Any]) -> None:
    assert one.keys() == other.keys()
    for handle, (settled, *rest) in one.items():
        assert tuple(rest) == other[handle][1:], handle
        for mine, theirs in zip(settled, other[handle][0], strict=True):
            assert mine == (theirs if theirs is None else pytest.approx(theirs, rel=1e-9, abs=1e-9)), handle


def emptied(services: Services) -> None:
    with closing(sqlite3.connect(services.log().where)) as raw, raw:
        raw.execute("DELETE FROM learned")


def rows(services: Services) -> dict[str, tuple[int, str]]:
    with closing(sqlite3.connect(services.log().where)) as raw:
        return {
            row[0]: row[1:]
            for row in raw.execute("SELECT part, entry, body FROM learned WHERE spot = 'base'")
        }


@pytest.fixture
def learning(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many slabs each learning anew was of."""
    calls: list[int] = []
    once = learn.learn

    def counted(slabs: Any) -> Any:
        calls.append(len(slabs))
        return once(slabs)

    learn.unlearned()
    learn.learn(())
    monkeypatch.setattr(taught.learn, "learn", counted)
    return calls


def base(yard: Yard) -> list[str]:
    """Three jobs of a recipe, one of another, one without a recipe's history; read a little."""
    found = [yard.pour(f"job {number}", 60 + number) for number in range(3)]
    for handle in found:
        for age in USUAL[:4]:
            yard.read(handle, age)
    other = yard.pour("other", 40, own=True)
    for age in USUAL[:3]:
        yard.read(other, age, curve(age, (50.0, 8.0, 20.0)))
    return [*found, other]


def step_by_step(yard: Yard) -> Iterator[None]:
    """What a shop logs: readings of old and new jobs, corrections, one taken back, the end of a pour corrected."""
    handles = base(yard)
    yield
    for age in (28, 45):
        yard.read(handles[0], age)
        yield
    wrong = yard.read(handles[3], 14, (20.0, 0.0, 0.0))
    yield
    with yard.services.log().writing() as log:
        L, a, b = curve(14, (50.0, 8.0, 20.0))
        at = yard.poured + timedelta(days=14)
        log.add_entry(
            handles[3], NewEntry("reading", at, area="field", reading=Reading(L, a, b), replaces=wrong)
        )
    yield
    new = yard.pour("new", 30)
    yield
    for age in (1, 3):
        yard.read(new, age)
        yield
    with yard.services.log().writing() as log:
        log.undo(new)
    yield
    with yard.services.log().writing() as log:
        pour = next(entry for entry in log.job(handles[1]).entries if entry.kind == "pour")
        moved = NewEntry("pour", pour.happened - timedelta(days=1), area="field", replaces=pour.number)
        log.add_entry(handles[1], moved)
    yield
    with yard.services.log().writing() as log:
        log.add_entry(handles[0], NewEntry("note", yard.poured, note="rain"))
    yield


def test_the_same_answers_whoever_looked_after_each_entry_or_once(yard: Yard) -> None:
    """In the middle of a run of rungs: one program looks after each entry, one opens the log then, one at the end."""
    for place, _ in enumerate(step_by_step(yard)):
        ours = answers(yard.services)
        if place % 3 == 0:
            theirs = again(yard)
            same(ours, answers(theirs))
            theirs.close()
    emptied(yard.services)
    fresh = again(yard)
    same(ours, answers(fresh))
    fresh.close()


def test_a_reading_between_two_rungs_learns_nothing_anew_and_tells_its_own_recipe(
    yard: Yard, learning: list[int]
) -> None:
    handles = base(yard)  # 15 readings, rungs 6 8 10 13 17
    before = answers(yard.services)
    known = rows(yard.services)
    learning.clear()
    yard.read(handles[0], 28, (61.0, 5.0, 13.0))
    fresh = again(yard)
    after = answers(fresh)
    assert learning == []
    assert before[handles[0]][0] != after[handles[0]][0]
    assert before[handles[1]][0] != after[handles[1]][0]  # the same recipe
    assert before[handles[3]] == after[handles[3]]
    changed = {part for part, row in rows(yard.services).items() if row != known.get(part)}
    assert [part.split()[0] for part in changed] == ["later"]
    yard.read(handles[0], 45)
    answers(fresh)
    assert learning  # the rung of 17
    fresh.close()


def test_another_program_finds_what_was_learned(yard: Yard, learning: list[int]) -> None:
    base(yard)
    first = answers(yard.services)
    learning.clear()
    other = again(yard)
    same(first, answers(other))
    assert learning == []
    other.close()


@pytest.mark.parametrize(
    "what", ["corrected", "taken back", "its pour moved", "its area given another recipe"]
)
def test_what_changes_a_slab_that_taught_is_learned_anew(yard: Yard, learning: list[int], what: str) -> None:
    handles = base(yard)
    answers(yard.services)
    learning.clear()
    with yard.services.log().writing() as log:
        job = log.job(handles[1])
        read = job.of_kind("reading")[0]
        if what == "corrected":
            lab = Reading(40.0, 5.0, 13.0)
            log.add_entry(
                handles[1],
                NewEntry("reading", read.happened, area="field", reading=lab, replaces=read.number),
            )
        elif what == "taken back":
            log.undo(handles[1], read.number)
        elif what == "its pour moved":
            pour = job.of_kind("pour")[0]
            moved = NewEntry("pour", pour.happened - timedelta(days=9), area="field", replaces=pour.number)
            log.add_entry(handles[1], moved)
        else:
            log.copy_recipe(handles[3], "field", handles[1], "field", reason="it was that")
    ours = answers(yard.services)
    assert learning
    emptied(yard.services)
    other = again(yard)
    same(ours, answers(other))
    other.close()


def test_a_correction_of_a_slab_that_taught_nothing_yet_learns_nothing_anew(
    yard: Yard, learning: list[int]
) -> None:
    base(yard)
    new = yard.pour("new", 30)
    number = yard.read(new, 1)
    answers(yard.services)
    learning.clear()
    with yard.services.log().writing() as log:
        log.undo(new, number)
    ours = answers(yard.services)
    assert learning == []
    emptied(yard.services)
    other = again(yard)
    same(ours, answers(other))
    other.close()


def test_what_was_learned_of_an_old_snapshot_never_has_a_newer_mark(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A writer comes while we learn; a third program that looks then is not told what we learned as if it were new."""
    handles = base(yard)
    once = learn.learn
    came: list[int] = []

    def interrupted(slabs: Any) -> Any:
        if not came:
            came.append(yard.read(handles[0], 28, (75.0, 5.0, 13.0)))
            came.append(yard.read(handles[1], 28, (75.0, 5.0, 13.0)))
        return once(slabs)

    monkeypatch.setattr(taught.learn, "learn", interrupted)
    slow = again(yard)
    learned.state(slow, "base", handles[0])
    assert came
    with yard.services.log().reading() as log:
        newest = log.moment().entry
    assert {entry for entry, _ in rows(yard.services).values()} == {newest - 2}
    other = again(yard)
    ours = answers(other)
    emptied(yard.services)
    other.close()
    slow.close()
    fresh = again(yard)
    same(ours, answers(fresh))
    fresh.close()


def test_who_knows_less_overwrites_nothing(yard: Yard) -> None:
    handles = base(yard)
    learned.state(yard.services, "base", handles[0])
    late = yard.services.kept["learned/base"][1]
    assert isinstance(late, kept_shop.Held)
    old = list(late.parts.values())
    for age in (28, 45):
        yard.read(handles[0], age)
    other = again(yard)
    answers(other)
    known = rows(yard.services)
    yard.services.log().keep_learned(old, anew=True)
    assert rows(yard.services) == known
    other.close()


def test_killed_while_it_keeps_leaves_a_log_that_is_sound(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    from finishlog.store.search import learned as projection

    handles = base(yard)
    put, calls = projection.put, []

    def killed(*args: Any, **values: Any) -> None:
        calls.append(1)
        if len(calls) == 3:
            raise KeyboardInterrupt
        put(*args, **values)

    monkeypatch.setattr(projection, "put", killed)
    with suppress(KeyboardInterrupt):
        learned.state(yard.services, "base", handles[0])
    assert len(calls) == 3
    assert rows(yard.services) == {}
    monkeypatch.undo()
    assert yard.services.log().check().problems == ()
    other = again(yard)
    assert answers(other)
    other.close()


DAMAGE: dict[str, str] = {
    "the shop": "UPDATE learned SET body = replace(body, '\"jobs\":4', '\"jobs\":9') WHERE part = 'shop'",
    "a mark": "UPDATE learned SET mark = replace(mark, '\"of\": \"', '\"of\": \"0') WHERE part = 'shop'",
    "who taught": "DELETE FROM learned WHERE part = 'jobs'",
    "a recipe": "UPDATE learned SET body = replace(body, 'A', 'B') WHERE part LIKE 'taught%'",
    "a recipe is gone": "DELETE FROM learned WHERE part LIKE 'taught%'",
    "another form": "UPDATE learned SET form = 'x'",
    "no text": "UPDATE learned SET body = CAST(x'ff00fe' AS TEXT) WHERE part = 'shop'",
}


@pytest.mark.parametrize("what", DAMAGE)
def test_what_is_damaged_is_learned_anew_and_never_trusted(yard: Yard, what: str) -> None:
    handles = base(yard)
    ours = answers(yard.services)
    with closing(sqlite3.connect(yard.services.log().where)) as raw, raw:
        assert raw.execute(DAMAGE[what]).rowcount > 0
    yard.read(handles[0], 28)  # so that what is in the log is looked through
    with yard.services.log().writing() as log:
        log.undo(handles[0])
    other = again(yard)
    found = answers(other)
    emptied(yard.services)
    anew = again(yard)
    same(found, answers(anew))
    assert ours.keys() == found.keys()
    anew.close()
    other.close()


def test_check_names_what_is_damaged_and_mend_takes_it_away(yard: Yard) -> None:
    base(yard)
    answers(yard.services)
    log = yard.services.log()
    assert log.check().problems == ()
    with closing(sqlite3.connect(log.where)) as raw, raw:
        raw.execute("UPDATE learned SET body = body || ' ' WHERE part = 'jobs'")
    report = log.check()
    assert report.mendable
    assert "what was learned" in report.problems[0]
    log.mend(log.mendable())
    assert log.check().problems == ()
    assert "jobs" not in rows(yard.services)
    other = again(yard)
    assert answers(other) == answers(yard.services)
    other.close()


def test_a_log_that_cannot_be_written_answers_the_same(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    base(yard)
    ours = answers(yard.services)
    emptied(yard.services)
    other = again(yard)
    refused: list[int] = []

    def no(*_args: Any, **_told: Any) -> Any:
        refused.append(1)
        raise LogError("The log is read-only.")

    from finishlog.store.search import learned as projection

    monkeypatch.setattr(projection, "keep", no)
    same(ours, answers(other))
    assert refused
    assert rows(yard.services) == {}
    other.close()


def test_another_writer_is_not_waited_for(yard: Yard) -> None:
    base(yard)
    other = again(yard)
    with yard.services.log().writing():
        assert answers(other)
    assert rows(yard.services) == {}
    other.close()


def test_an_export_holds_none_of_it_and_a_restored_log_answers_the_same(yard: Yard, tmp_path: Path) -> None:
    base(yard)
    ours = answers(yard.services)
    out, back = tmp_path / "out", tmp_path / "back.finishlog"
    dump(yard.services.log(), out)
    assert not list(out.glob("learned*"))
    restore(out, back)
    other = again(yard)
    other.open_log = lambda: Log.open(back, clock=yard.services.clock, new_uid=lambda: "unused")
    same(ours, answers(other))
    other.close()


def test_the_ladder_rests_on_the_log_alone() -> None:
    """Every reading of the first hundred, then a tenth, at most 200."""
    rungs, rung = [], 0
    while rung < 3000:
        rung += moments.step(rung)
        rungs.append(rung)
    assert rungs[:101] == [*range(1, 101), 110]
    assert max(np.diff(rungs)) == 200
    assert all(after - before <= max(1, before / 10) for before, after in itertools.pairwise(rungs))


def test_learning_that_takes_a_moment_is_told_once(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    from time import sleep

    from finishlog.desk import services as module

    said: list[int] = []
    handles = base(yard)
    monkeypatch.setattr(module, "WORD_AFTER_S", 0.01)
    yard.services.on_learning = said.append
    once: Callable[..., Any] = learn.learn
    monkeypatch.setattr(taught.learn, "learn", lambda slabs: (sleep(0.05), once(slabs))[1])
    learned.state(yard.services, "base", handles[0])
    learned.state(yard.services, "base", handles[0])
    assert said == [13]  # the last rung under 15


def lightness(services: Services) -> tuple[float, ...]:
    """Something that follows from the readings that taught, of whatever kind."""
    told: tuple[float, ...] = kept.beside(
        services, "base", "lightness", lambda _state, rows, _log: tuple(row.reading.L for row in rows)
    )
    return told


def test_what_follows_from_readings_that_say_nothing_of_the_shop_is_made_anew_with_them(yard: Yard) -> None:
    """A damp reading corrected leaves the curve as it was, to the last digit; what was made of the rows is not."""
    handles = base(yard)
    wrong = yard.read(handles[3], 14, (20.0, 0.0, 0.0), damp=True)
    while moments_left(yard):
        yard.read(handles[3], 14, (40.0, 8.0, 20.0), damp=True)
    before = lightness(yard.services)
    assert 20.0 in before
    with yard.services.log().writing() as log:
        at, right = yard.poured + timedelta(days=14), Reading(41.0, 8.0, 20.0, damp=True)
        log.add_entry(handles[3], NewEntry("reading", at, area="field", reading=right, replaces=wrong))
    ours = lightness(yard.services)
    assert 20.0 not in ours
    emptied(yard.services)
    fresh = again(yard)
    assert ours == lightness(fresh)
    fresh.close()


def moments_left(yard: Yard) -> bool:
    """Whether the newest reading has not taught yet: the next rung is still to come."""
    with yard.services.log().reading() as log:
        count = log.readings_count()
        return log.checkpoint(count).readings < count


def test_a_sample_taken_back_on_its_job_is_seen_where_another_job_has_its_readings(yard: Yard) -> None:
    """Samples are numbered by the shop: without the sample its readings are the slab's own."""
    handles = base(yard)
    with yard.services.log().writing() as log:
        poured = log.add_entry(handles[0], NewEntry("sample", yard.poured, area="field", sample=NewSample()))
    assert poured.sample is not None
    for age in (2, 9, 28):
        yard.read(handles[3], age, (44.0, 8.0, 20.0), sample=poured.sample.number)
    before = answers(yard.services)
    with yard.services.log().writing() as log:
        log.undo(handles[0], poured.number)
    ours = answers(yard.services)
    assert ours[handles[3]] != before[handles[3]]
    emptied(yard.services)
    fresh = again(yard)
    same(ours, answers(fresh))
    fresh.close()
