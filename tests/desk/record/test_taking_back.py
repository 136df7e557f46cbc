"""Taking back, bringing back, moving to the right job: only added to, and asked where it is not one's own."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.due import today
from finishlog.desk.jobs import edit, page
from finishlog.desk.record import record, taking_back
from finishlog.desk.record.taking_back import Sure
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.records.log import Entry, Job
from finishlog.store import Log

ONE, OTHER = "ottoline-quillfeather-back-patio", "bram-puddlecombe-side-walk"


@pytest.fixture
def services(tmp_path: Path) -> Iterator[Services]:
    now = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
    uids = count(1)
    log = Log.create(tmp_path / "l.finishlog", clock=lambda: now, new_uid=lambda: f"u{next(uids)}")
    made = Services(
        open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=lambda: now,
        find_zone=lambda: ZoneInfo("America/Chicago"),
    )  # fmt: skip
    for customer, job in (("Ottoline Quillfeather", "back patio"), ("Bram Puddlecombe", "side walk")):
        edit.new_job(made, {"customer": customer, "job": job, "areas": "field 24x18 4in, border 76 ft2"})
    yield made
    log.close()


def job(services: Services, handle: str = ONE) -> Job:
    with services.log().reading() as log:
        return log.job(handle)


def told(entry: Entry) -> tuple[object, ...]:
    """What an entry says, without its place in the log and what came later."""
    facts = {key: value for key, value in entry.facts.items() if not key.startswith("moved_")}
    return (entry.kind, entry.happened, entry.exactness, entry.person, entry.note, facts, entry.coat, entry.reading,
            [(u.product.name, u.product.maker, u.amount, u.unit, u.lot, u.reclaimed) for u in entry.materials],
            entry.load and (entry.load.yards, entry.load.ticket, entry.load.slump_in, entry.load.mix),
            entry.sample, entry.claim, [(f.sha256, f.name, f.media_type) for f in entry.files])  # fmt: skip


def whole_load(services: Services, handle: str = ONE, **more: str) -> Entry:
    texts = {"yards": "6.5", "ticket": "40731", "slump_in": "4.5", "product": "Wet Biscuit", "amount": "24 lb",
             "lot": "K-131", "maker": "Toadstone Pigments", "plant": "Lower Puddle", "mix_number": "564",
             "map": "field=5, border=1.5", "by": "Bo", "note": "late", **more}  # fmt: skip
    return record.record(services, handle, "load", texts).entry


def sound(services: Services) -> None:
    assert services.log().check().problems == ()


# taken back and brought back


def test_what_was_taken_back_comes_back_whole_by_the_number_that_took_it(services: Services) -> None:
    first = whole_load(services)
    gone = taking_back.undo(services, ONE, 1)
    assert gone.sentence.startswith("Undone. Entry 1: load 6.50 yd³")
    assert gone.sentence.endswith(", by Bo.")
    again = taking_back.undo(services, ONE, 2)
    assert "Brought back. Entry 3: load 6.50 yd³" in again.sentence
    [stands] = job(services).entries
    assert (stands.number, stands.replaces, stands.withdrawn) == (3, 2, False)
    assert told(stands) == told(first)
    assert [entry.number for entry in job(services).history] == [1, 2, 3]
    with pytest.raises(InputError, match="Entry 1 was already brought back as entry 3"):
        taking_back.undo(services, ONE, 2)
    sound(services)


def test_a_sample_knows_its_load_after_both_came_back(services: Services) -> None:
    whole_load(services)
    record.record(services, ONE, "sample", {"load": "1", "size": "2x2 ft"})
    for number in (2, 1, 4, 3):
        taking_back.undo(services, ONE, number)
    kept = {entry.kind: entry for entry in job(services).entries}
    assert kept["sample"].sample is not None
    assert kept["sample"].sample.number == 1
    assert kept["sample"].sample.load == kept["load"].number
    assert job(services).samples_apart() == frozenset()
    sound(services)


def test_a_planned_job_is_planned_again_when_its_only_load_was_taken_back(services: Services) -> None:
    planned = edit.new_job(services, {"customer": "Mo Teakettle", "job": "steps", "planned_on": "2026-06-17",
                                      "areas": "field 10x10 4in"}).job  # fmt: skip
    whole_load(services, planned, map="")
    assert job(services, planned).state == "poured"
    taking_back.undo(services, planned)
    assert job(services, planned).state == "planned"
    assert [line.what for line in today.today(services).lines if line.job == planned] == ["pour"]
    taking_back.undo(services, planned, 2)
    assert job(services, planned).state == "poured"
    sound(services)


# what is asked


def test_what_the_session_logged_last_goes_at_once_and_no_more(services: Services) -> None:
    record.record(services, ONE, "note", {"by": "Maud"})
    record.record(services, ONE, "stamp", {"by": "Bo"})
    done = taking_back.undo(services, ONE, own=(2,))
    assert done.entry.replaces == 2
    with pytest.raises(Sure, match=r"Undo entry 1, .*Jun 16 2026, 7:40a, by Maud\?") as asked:
        taking_back.undo(services, ONE, own=(2, 3))
    assert asked.value.number == 1
    assert [entry.number for entry in job(services).entries] == [1]


def test_another_s_entry_that_came_since_is_named(services: Services) -> None:
    record.record(services, ONE, "note", {"note": "mine", "by": "Bo"})
    record.record(services, ONE, "stamp", {"pattern": "ashlar", "by": "Odd"})
    with pytest.raises(Sure, match=r"Undo entry 1, noted.*, by Bo\?") as asked:
        taking_back.undo(services, ONE, 1, own=(1,))
    assert asked.value.cause == "Entry 2 came after it by Odd: stamped, ashlar."
    assert len(job(services).history) == 2


def test_bringing_back_asks_as_well(services: Services) -> None:
    record.record(services, ONE, "note", {"note": "x", "by": "Bo"})
    taking_back.undo(services, ONE)
    with pytest.raises(Sure, match=r"Bring back entry 1, noted") as asked:
        taking_back.bring_back(services, ONE, own=())
    assert asked.value.number == 2
    assert taking_back.bring_back(services, ONE, own=(2,)).entry.note == "x"
    with pytest.raises(InputError, match="Nothing to bring back"):
        taking_back.bring_back(services, ONE, own=(2,))


# moved


def test_an_entry_on_the_wrong_job_moves_whole_and_both_jobs_say_so(
    services: Services, tmp_path: Path
) -> None:
    ticket = tmp_path / "ticket.txt"
    ticket.write_text("40731")
    first = whole_load(services)
    record.record(services, ONE, "load", {}, replaces=1, files=(ticket,))
    record.record(services, OTHER, "note", {"note": "here already"})
    done = taking_back.move(services, ONE, 2, OTHER)
    assert (done.job, done.entry.number) == (OTHER, 2)
    assert told(done.entry)[:-1] == told(first)[:-1]
    assert [file.name for file in done.entry.files] == ["ticket.txt"]
    there, here = job(services, OTHER), job(services)
    names = {area.uid: area.name for area in there.areas}
    assert done.entry.load is not None
    assert [(names[uid], yards) for uid, yards in done.entry.load.areas] == [("field", 5), ("border", 1.5)]
    assert here.entries == ()
    [old, older] = page.lay_open(services, ONE).doings
    assert (old.number, old.was) == (2, f"moved to {OTHER}, entry 2")
    assert (older.number, older.was) == (1, "corrected")
    new = page.lay_open(services, OTHER).doings
    assert any(f"moved from {ONE}, entry 2" in doing.further for doing in new)
    with services.log().reading() as log:
        assert [log.line(each).poured_on is not None for each in (ONE, OTHER)] == [False, True]
    sound(services)


@pytest.mark.parametrize("from_where", ["there", "here"])
def test_a_move_is_taken_back_from_either_job_and_made_again(services: Services, from_where: str) -> None:
    first = whole_load(services)
    moved = taking_back.move(services, ONE, 1, OTHER).entry
    back = taking_back.undo(services, *((OTHER, moved.number) if from_where == "there" else (ONE, 2)))
    assert (back.job, back.entry.number) == (ONE, 3)
    assert told(back.entry) == told(first)
    assert [entry.number for entry in job(services).entries] == [3]
    assert job(services, OTHER).entries == ()
    assert "moved_from" not in back.entry.facts
    again = taking_back.undo(services, OTHER, 2)
    assert (again.job, again.entry.number) == (OTHER, 3)
    assert job(services).entries == ()
    sound(services)


def test_what_was_corrected_after_the_move_goes_back_as_corrected(services: Services) -> None:
    whole_load(services)
    taking_back.move(services, ONE, 1, OTHER)
    record.record(services, OTHER, "load", {"yards": "7", "map": "field=5.5, border=1.5"}, replaces=1)
    taking_back.undo(services, ONE, 2)
    [stands] = job(services).entries
    assert stands.load is not None
    assert (stands.load.yards, job(services, OTHER).entries) == (7, ())


def test_the_rules_of_the_other_job_ask_and_what_it_lacks_is_said(services: Services) -> None:
    record.record(services, OTHER, "pour", {"at": "2026-06-16 6:00"})
    record.record(services, ONE, "pour", {"at": "2026-06-14 8:00"})
    record.record(services, ONE, "rinse", {"at": "2026-06-15 12:00", "area": "border"})
    with pytest.raises(Doubt, match="before the pour"):
        taking_back.move(services, ONE, 2, OTHER)
    assert (len(job(services).history), len(job(services, OTHER).history)) == (2, 1)
    done = taking_back.move(services, ONE, 2, OTHER, because="the clock was wrong")
    assert "Because: the clock was wrong" in (done.entry.note or "")
    edit.add_area(services, ONE, "steps 20 ft2 4 in")
    record.record(services, ONE, "stamp", {"area": "steps", "at": "2026-06-14 9:00"})
    done = taking_back.move(services, ONE, 4, OTHER, because="same day")
    assert done.entry.area is None
    assert done.warnings[0] == f"{OTHER} has no steps; logged for the whole job."


def test_what_cannot_be_moved_is_refused(services: Services) -> None:
    record.record(services, ONE, "note", {"note": "x"})
    for number, to, said in ((1, ONE, "is already on"), (7, OTHER, "no entry 7"), (1, "nobody", "nobody")):
        with pytest.raises(InputError, match=said):
            taking_back.move(services, ONE, number, to)
    edit.change_order(services, ONE, "field", {"integral_color.product": "Wet Biscuit"}, reason="darker")
    with pytest.raises(InputError, match="stays with the recipe"):
        taking_back.move(services, ONE, 2, OTHER)
    assert len(job(services).history) == 2


def test_a_correction_taken_back_leaves_what_it_corrected(services: Services) -> None:
    record.record(services, ONE, "powder_release", {"product": "Otter Back", "amount": "15 lb"})
    record.record(services, ONE, "powder_release", {"amount": "51 lb"}, replaces=1, because="heavy")
    done = taking_back.undo(services, ONE)
    assert done.sentence.endswith("What it corrected stands again, as entry 3.")
    (stands,) = job(services).entries
    assert (stands.number, stands.materials[0].amount) == (3, 15)
    assert taking_back.undo(services, ONE).entry.withdrawn  # once more: the entry itself
    assert not job(services).entries


def test_history_says_withdrawn_of_what_was_withdrawn(services: Services) -> None:
    record.record(services, ONE, "note", {"note": "one"})
    record.record(services, ONE, "note", {"note": "two"}, replaces=1)
    taking_back.undo(services, ONE, 2)
    taking_back.undo(services, ONE, 3)
    assert [(d.note, d.was, d.gone) for d in page.lay_open(services, ONE).doings] == [
        ("one", "withdrawn", True), ("two", "corrected", False), ("one", "corrected", False),
    ]  # fmt: skip
