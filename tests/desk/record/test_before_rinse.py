"""The sweep before a rinse: asked where it was due, kept with the answer, never dropped silently."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.due import today
from finishlog.desk.forms import offers
from finishlog.desk.jobs import edit
from finishlog.desk.record import record, taking_back
from finishlog.desk.services import Services
from finishlog.desk.shelf import shelf
from finishlog.errors import InputError
from finishlog.inputs.entry.swept import Swept, of_entry, read_swept
from finishlog.records.log import Entry
from finishlog.store import Log

WALK = "barnaby-puddlecombe-side-walk"
BARE = "barnaby-puddlecombe-apron"
NOW = datetime(2026, 6, 12, 15, tzinfo=UTC)


@pytest.fixture
def services(tmp_path: Path) -> Iterator[Services]:
    """A walk poured yesterday with powder on it, and an apron of which nothing but the pour is known."""
    uids = count(1)
    log = Log.create(tmp_path / "l.finishlog", clock=lambda: NOW, new_uid=lambda: f"u{next(uids)}")
    made = Services(open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=lambda: NOW,
                    find_zone=lambda: ZoneInfo("America/Chicago"))  # fmt: skip
    for job in ("side walk", "apron"):
        edit.new_job(made, {"customer": "Barnaby Puddlecombe", "job": job, "areas": "field 30x4 4in"})
    record.record(made, WALK, "powder_release", {"at": "2026-06-11 8a", "product": "Otter Back", "lot": "0329",
                                                 "amount": "8 lb"})  # fmt: skip
    for handle in (WALK, BARE):
        record.record(made, handle, "pour", {"at": "2026-06-11 9a", "by": "Bo"})
    yield made
    log.close()


def entries(services: Services, handle: str = WALK) -> list[Entry]:
    with services.log().reading() as log:
        return list(log.job(handle).entries)


def kinds(services: Services, handle: str = WALK) -> list[str]:
    return [entry.kind for entry in entries(services, handle)]


def on_the_list(services: Services, handle: str = WALK) -> set[str]:
    return {line.what for line in today.today(services).lines if line.job == handle}


def test_a_rinse_asks_for_the_sweep_that_was_due(services: Services) -> None:
    assert "sweep" in on_the_list(services)
    with pytest.raises(Doubt, match="Swept before the rinse") as asked:
        record.record(services, WALK, "rinse", {"at": "9:30a"})
    assert asked.value.where == "swept"
    assert kinds(services) == ["powder_release", "pour"]


def test_the_pounds_are_kept_as_the_sweep_and_stand_on_the_shelf(services: Services) -> None:
    done = record.record(services, WALK, "rinse", {"at": "9:30a", "by": "Mo", "swept": "2.5"})
    assert kinds(services) == ["powder_release", "pour", "sweep", "rinse"]
    sweep = entries(services)[2]
    assert (sweep.facts, sweep.exactness, sweep.person) == ({"reclaimed_lb": 2.5}, "about", "Mo")
    assert done.entry.kind == "rinse"
    assert done.entry.facts == {"swept": True}
    assert "swept" in " ".join(done.warnings)
    [held] = [line.held for line in shelf.shelf(services, all=True).lines if line.held.lot == "0329"]
    assert held.reclaimed_left == Fraction(5, 2)
    assert "sweep" not in on_the_list(services)


@pytest.mark.parametrize(
    ("text", "facts", "swept"),
    [("no", {"swept": False}, False), ("yes", {"swept": True}, True), ("unknown", {}, False)],
)
def test_no_yes_and_unknown_are_answers(
    services: Services, text: str, facts: dict[str, bool], swept: bool
) -> None:
    done = record.record(services, WALK, "rinse", {"at": "9:30a", "swept": text})
    assert done.entry.facts == facts
    assert ("sweep" in kinds(services)) is swept


def test_a_reason_passes_it(services: Services) -> None:
    record.record(services, WALK, "rinse", {"at": "9:30a"}, because="nobody was there")
    assert kinds(services) == ["powder_release", "pour", "rinse"]


def test_it_is_not_asked_where_it_was_logged_put_away_or_no_powder_is_known(services: Services) -> None:
    record.record(services, BARE, "rinse", {"at": "9:30a"})
    line = next(line for line in today.today(services).lines if line.job == WALK and line.what == "sweep")
    today.not_for_this_job(services, line)
    record.record(services, WALK, "rinse", {"at": "9:30a"})
    taking_back.undo(services, WALK)
    taking_back.undo(services, WALK)
    record.record(services, WALK, "sweep", {"at": "9:00a", "reclaimed_lb": "2"})
    assert "swept" not in {field.key for field in offers.offer(services, WALK, "rinse").fields}
    record.record(services, WALK, "rinse", {"at": "9:30a"})


def test_a_rinse_of_another_season_is_written_down_without_it(services: Services) -> None:
    services.clock = lambda: NOW + timedelta(days=200)
    record.record(services, WALK, "rinse", {"at": "2026-06-12 9:30a"})
    assert kinds(services) == ["powder_release", "pour", "rinse"]


def test_the_form_needs_an_answer_and_says_what_it_may_be(services: Services) -> None:
    [field] = [field for field in offers.offer(services, WALK, "rinse").fields if field.key == "swept"]
    assert field.required
    assert "yes, no or unknown" in field.ask
    assert field.echo("2.5") == "2.50 lb kept"
    assert field.echo("n") == "not swept"


def test_an_answer_beside_a_logged_sweep_adds_none(services: Services) -> None:
    record.record(services, WALK, "sweep", {"at": "9:00a", "reclaimed_lb": "2"})
    done = record.record(services, WALK, "rinse", {"at": "9:30a", "swept": "3"})
    assert kinds(services).count("sweep") == 1
    assert "already logged as entry 3" in " ".join(done.warnings)
    same = record.record(services, WALK, "rinse", {"at": "9:40a", "swept": "2 lb"}, because="once more")
    assert "already logged" not in " ".join(same.warnings)


def test_more_kept_than_was_thrown_keeps_neither(services: Services) -> None:
    with pytest.raises(Doubt, match="only 8 lb thrown"):
        record.record(services, WALK, "rinse", {"at": "9:30a", "swept": "9"})
    assert kinds(services) == ["powder_release", "pour"]


def test_one_key_of_today_takes_the_answer(services: Services) -> None:
    line = next(line for line in today.today(services).lines if line.job == WALK and line.what == "rinse")
    with pytest.raises(Doubt, match="Swept before the rinse"):
        today.log(services, line)
    today.log(services, line, {"swept": "0"})
    assert entries(services)[2].facts == {"reclaimed_lb": 0.0}


def test_what_may_be_answered() -> None:
    assert read_swept("1") == Swept(True, Fraction(1))
    assert read_swept("3 lb kept") == Swept(True, Fraction(3))
    assert read_swept("Not  swept") == Swept(False)
    assert read_swept("?") == Swept(None)
    assert [of_entry(text) for text in ("3 lb", "n", "?")] == ["yes", "no", "unknown"]
    with pytest.raises(InputError) as wrong:
        read_swept("a bucket")
    assert "pounds kept" in wrong.value.cause
