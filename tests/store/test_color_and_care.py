"""What 0003 added: doses of samples, photos' readings, the shelf, what falls due, readings to learn from."""

from __future__ import annotations

import hashlib
import random
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from finishlog.errors import InputError
from finishlog.records.answers import LearningRow
from finishlog.records.files import Content, Photo
from finishlog.records.log import Reading
from finishlog.records.shop import SETTINGS, Shop
from finishlog.records.writing import (
    NewArea,
    NewCustomer,
    NewEntry,
    NewFile,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewProduct,
    NewRecipe,
    NewSample,
    NewSite,
    NewStage,
    NewStageMaterial,
    NewStockMove,
)
from finishlog.store import Log, Writer
from finishlog.store.reading.learning import READ_LAST
from finishlog.store.search.due import span
from finishlog.trade.due import WINDOW_SETTINGS, DueLine, due_lines

POURED = datetime(2026, 5, 14, 15, tzinfo=UTC)
BISCUIT = NewProduct("Wet Biscuit", "pigment", "Moonhill Colors")
OTTER = NewProduct("Otter Back", "powder release", "Moonhill Colors")
RECIPE = NewRecipe("biscuit", (NewStage("powder_release"), NewStage("stamp", {"pattern": "ashlar slate"})))


def a_job(handle: str = "patio", *areas: NewArea) -> NewJob:
    made = areas or (NewArea("field", recipe=RECIPE), NewArea("steps", "stairs"))
    return NewJob("patio", NewCustomer("Bo"), NewSite("1 Owl Hollow"), areas=made, handle=handle)


def at(days: float) -> datetime:
    return POURED + timedelta(days=days)


# samples and photos


def test_a_sample_keeps_its_cement_and_doses(log: Log) -> None:
    doses = ((BISCUIT, 3.0), (NewProduct("Dusty Drum", "pigment", "Moonhill Colors"), 0.4))
    with log.writing() as writer:
        writer.add_job(a_job())
        made = writer.add_entry(
            "patio", NewEntry("sample", POURED, sample=NewSample(cement="Type IL", doses=doses))
        )
    with log.reading() as reader:
        [entry] = reader.job("patio").entries
        assert [line.handle for line in reader.lines(words="dusty drum")] == ["patio"]
    assert entry == made
    assert entry.sample is not None
    assert entry.sample.cement == "Type IL"
    assert [(dose[0].name, dose[0].maker, dose[1]) for dose in entry.sample.doses] == [
        ("Wet Biscuit", "Moonhill Colors", 3.0), ("Dusty Drum", "Moonhill Colors", 0.4)
    ]  # fmt: skip


CARD = " ".join(["8f7a61"] * 24)


def test_a_cameras_cards_are_told_newest_first_one_for_each_photo(log: Log, tmp_path: Path) -> None:
    shots = [hashlib.sha256(name.encode()).hexdigest() for name in "abc"]
    files = [
        NewFile(
            tmp_path / f"{i}.jpg", None, "image/jpeg", Photo("JPEG", 40, 30), Content(name.encode(), shots[i])
        )
        for i, name in enumerate("abc")
    ]
    first, second, third = (" ".join([code] * 24) for code in ("000001", "000002", "000003"))
    read = Reading(62, 5, 15, photo=shots[0], camera="Plum 7", card=first)
    with log.writing() as writer:
        writer.add_job(a_job())
        writer.add_entry("patio", NewEntry("photo", at(1), files=tuple(files)))
        for one in (
            read,
            replace(read, spot="field"),
            replace(read, photo=shots[1], card=second),
            replace(read, photo=shots[2], camera="Pear 1", card=third),
            replace(read, photo=shots[1], camera="Plum 7", card=None),
        ):
            last = writer.add_entry("patio", NewEntry("reading", at(1), reading=one))
        assert writer.cards("Plum 7", "", 9) == (second, first)
        assert writer.cards("Plum 7", shots[1], 9) == (first,)
        assert writer.cards("Plum 7", "", 1) == (second,)
        writer.add_entry("patio", NewEntry("reading", at(1), reading=read, replaces=last.number))
        writer.undo("patio")
        assert writer.cards("Plum 7", "", 9) == (second, first)


def test_a_reading_keeps_its_photo_sample_and_box(log: Log, tmp_path: Path) -> None:
    sha256 = hashlib.sha256(b"picture").hexdigest()
    shot = Photo("HEIC", 4032, 3024, "2026-05-20T10:00:00", "-05:00", "camera offset")
    file = NewFile(tmp_path / "IMG_1.jpg", None, "image/heic", shot, Content(b"picture", sha256))
    reading = Reading(62, 5, 15, photo=sha256, sample=1, box="10,20,300,200", camera="Plum 7", card=CARD)
    with log.writing() as writer:
        writer.add_job(a_job())
        with pytest.raises(InputError, match="No sample 1"):
            writer.add_entry("patio", NewEntry("reading", at(1), reading=replace(reading, photo=None)))
        writer.add_entry("patio", NewEntry("sample", POURED, sample=NewSample()))
        with pytest.raises(InputError, match="no such photo"):
            writer.add_entry("patio", NewEntry("reading", at(1), reading=reading))
        kept = writer.add_entry("patio", NewEntry("photo", at(1), files=(file,)))
        writer.add_entry("patio", NewEntry("reading", at(1), reading=reading))
        again = writer.add_entry("patio", NewEntry("photo", at(2), files=(replace(file, photo=None),)))
    assert (kept.files[0].sha256, kept.files[0].photo, kept.files[0].name) == (sha256, shot, "IMG_1.jpg")
    assert again.files[0].photo == shot  # known by its content, whoever names it
    assert log.file_path(sha256).read_bytes() == b"picture"
    with log.reading() as reader:
        assert [e.reading for e in reader.job("patio").of_kind("reading")] == [reading]


# customers and products


def test_a_customer_who_said_no_stays_so_through_a_merge(log: Log) -> None:
    with log.writing() as writer:
        writer.add_job(a_job("one"))
        writer.add_job(replace(a_job("two"), customer=NewCustomer("Bo Twice", leave_alone=True)))
        assert writer.job("two").customer.leave_alone
        assert not writer.job("one").customer.leave_alone
        assert writer.merge_customers("one", "two").leave_alone
        changed = writer.update_customer("one", leave_alone=False, phone="555-0101", note=" ")
    assert (changed.leave_alone, changed.phone, changed.note) == (False, "555-0101", None)
    with log.reading() as reader:
        assert reader.job("two").customer == changed
        assert {line.handle for line in reader.lines(words="555-0101")} == {"one", "two"}
    assert log.check().problems == ()


def test_safety_notes_are_filled_in(log: Log) -> None:
    with log.writing() as writer:
        writer.add_stock_move(NewStockMove(OTTER, "bought", POURED, 2, "bag"))
        move = writer.add_stock_move(NewStockMove(replace(OTTER, safety="respirator"), "opened", POURED))
    assert move.product.safety == "respirator"


# the shelf


def test_the_shelf_is_only_added_to(log: Log) -> None:
    with log.writing() as writer:
        writer.add_job(a_job())
        bought = writer.add_stock_move(
            NewStockMove(BISCUIT, "bought", POURED, 5, "bag", "B-7", 210.0, "Ada", "patio", "two pallets")
        )
        other = writer.add_stock_move(NewStockMove(OTTER, "reclaimed", at(1), 12.5))
        right = writer.add_stock_move(
            NewStockMove(BISCUIT, "bought", POURED, 6, "bag", "B-7", replaces=bought.uid)
        )
        back = writer.undo_stock_move(other.uid, person="Bo")
        for uid in (bought.uid, other.uid, back.uid, "nobody"):
            with pytest.raises(InputError):
                writer.undo_stock_move(uid)
            with pytest.raises(InputError):
                writer.add_stock_move(NewStockMove(BISCUIT, "bought", POURED, 6, replaces=uid))
    assert (bought.job, bought.person, bought.lot, bought.price_usd, bought.note) == (
        "patio", "Ada", "B-7", 210.0, "two pallets"
    )  # fmt: skip
    assert (back.withdrawn, back.replaces, back.person, back.what) == (True, other.uid, "Bo", "reclaimed")
    with log.reading() as reader:
        assert reader.stock_moves() == (right,)
        assert reader.stock_moves(bought.product.uid) == (right,)
        assert reader.stock_moves(other.product.uid) == ()
        assert len(reader.stock_moves(history=True)) == 4
    assert log.check().problems == ()


def test_what_entries_used_is_found_over_all_jobs(log: Log) -> None:
    with log.writing() as writer:
        for handle in ("one", "two"):
            writer.add_job(a_job(handle))
            use = NewMaterialUse(BISCUIT, 24.5, lot="B-7")
            writer.add_entry(
                handle, NewEntry("load", POURED, area="field", materials=(use,), load=NewLoad(4))
            )
        swept = NewMaterialUse(OTTER, 9.0, reclaimed=True)
        writer.add_entry("two", NewEntry("sweep", at(1), materials=(swept,), facts={"reclaimed_lb": 9}))
        writer.add_entry("one", NewEntry("load", POURED, materials=(use,), load=NewLoad(5), replaces=1))
        field = writer.job("two").areas[0].uid
        uses = writer.material_uses()
        of_otter = writer.material_uses(uses[-1].product.uid)
        assert writer.material_uses(kinds=("powder release",)) == of_otter
        writer.undo("two")
        assert writer.material_uses(kinds=("powder release",)) == ()
    assert [(use.job, use.number, use.lot, use.area) for use in uses] == [
        ("two", 1, "B-7", field), ("one", 2, "B-7", None), ("two", 2, None, None)
    ]  # fmt: skip
    assert (of_otter[0].facts, of_otter[0].reclaimed, of_otter[0].kind) == (
        {"reclaimed_lb": 9},
        True,
        "sweep",
    )


# what falls due


def everything(log: Log) -> list[tuple[str, DueLine]]:
    with log.reading() as reader:
        shop = reader.shop()
        jobs = [reader.job(line.handle) for line in reader.lines(archived=True)]
    return [(job.handle, line) for job in jobs for line in due_lines(job, shop)]


def test_lines_follow_every_write(log: Log) -> None:
    with log.writing() as writer:
        writer.add_job(a_job())
        assert writer.due_of("patio") == ()
        writer.add_entry("patio", NewEntry("pour", POURED, area="field"))
        before = writer.due_of("patio")
        assert "rinse" in {line.key for line in before}
        writer.add_entry("patio", NewEntry("rinse", at(1), area="field"))
        assert "rinse" not in {line.key for line in writer.due_of("patio")}
        writer.undo("patio")
        assert writer.due_of("patio") == before
        writer.archive("patio")
        assert writer.due_of("patio") == ()
        writer.unarchive("patio")
    with log.reading() as reader:
        assert reader.due_of("patio") == before == due_lines(reader.job("patio"), reader.shop())


def test_a_change_of_the_windows_moves_all_lines(log: Log) -> None:
    with log.writing() as writer:
        for handle in ("one", "two"):
            writer.add_job(a_job(handle))
            writer.add_entry(handle, NewEntry("pour", POURED, area="field"))
        before = dict(writer.due(at(400), keys=("rinse",)))
    with log.writing() as writer:
        writer.set_setting("rinse_to_h", "120")
        writer.set_setting("price_per_yd3", "180")
        after = dict(writer.due(at(400), keys=("rinse",)))
    assert {handle: line.closes - before[handle].closes for handle, line in after.items()} == {
        "one": timedelta(days=1), "two": timedelta(days=1)
    }  # fmt: skip
    assert log.check().problems == ()


def test_lines_look_at_no_setting_but_those_that_make_them_anew(log: Log) -> None:
    """Else a change of that setting would leave the lines as they were."""
    read: set[str] = set()

    class Watched:
        def __getattr__(self, name: str) -> object:
            read.add(name)
            return getattr(shop, name)

    shop = Shop.from_values({})
    with log.writing() as writer:
        writer.add_job(a_job())
        for entry in (
            NewEntry("pour", POURED), NewEntry("rinse", at(1)), NewEntry("dryness_test", at(20)),
            NewEntry("seal", at(28), materials=(NewMaterialUse(NewProduct("Clear Pond", "sealer"), 2, "gal"),)),
            NewEntry("visit", at(800), facts={"condition": "dull", "harsh": "pool"}),
        ):  # fmt: skip
            writer.add_entry("patio", entry)
            due_lines(writer.job("patio"), Watched())  # type: ignore[arg-type]
    known = {setting.key for setting in SETTINGS}
    assert read & known
    assert read & known <= WINDOW_SETTINGS


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE due SET closes = opens",
        "UPDATE due SET span = span + 1",
        "DELETE FROM due WHERE key = 'rinse'",
        "UPDATE due SET title = 'x' WHERE position = 1",
        "INSERT INTO due SELECT job_id, 99, area_id, key, age_days, title, anchor, opens, usual_from, usual_to, "
        "closes, why, caution, span FROM due LIMIT 1",
    ],
)
def test_check_sees_lines_that_are_not_true(log: Log, damage: str) -> None:
    with log.writing() as writer:
        writer.add_job(a_job())
        writer.add_entry("patio", NewEntry("pour", POURED))
    assert log.check().ok
    with log._connection(write=True) as connection:
        connection.exec_driver_sql(damage)
    assert "out of date for 1 job" in log.check().problems[0]


def spread(writer: Writer, jobs: int, chance: random.Random) -> None:
    """Jobs poured over twelve years, each with some of its work done."""
    for number in range(jobs):
        handle = f"job-{number}"
        writer.begin_job(a_job(handle, NewArea("field")))
        poured = POURED - timedelta(hours=chance.randrange(12 * 365 * 24))
        news = [NewEntry("pour", poured)]
        for kind, days in (("rinse", 1.5), ("seal", 28), ("reading", 45)):
            if chance.random() < 0.6:
                reading = Reading(60, 4, 12) if kind == "reading" else None
                news.append(NewEntry(kind, poured + timedelta(days=days), reading=reading))
        writer.add_entries(handle, news)


def test_lines_are_found_by_their_windows_as_by_looking_at_all(log: Log) -> None:
    chance = random.Random(5)
    with log.writing() as writer:
        spread(writer, 60, chance)
    whole = everything(log)
    order = {key: place for place, key in enumerate(whole)}
    with log.reading() as reader:
        for turn in range(60):
            until = POURED - timedelta(hours=chance.randrange(-24 * 900, 13 * 365 * 24))
            since = None if turn % 4 == 0 else until - timedelta(hours=chance.choice((0, 30, 24 * 40)))
            keys = () if turn % 3 else ("rinse", "reseal")
            expected = [
                (handle, line)
                for handle, line in whole
                if line.opens <= until and (since is None or line.closes >= since)
                if not keys or line.key in keys
            ]
            found = reader.due(until, since=since, keys=keys)
            assert sorted(found, key=order.__getitem__) == expected
            assert [line.closes for _, line in found] == sorted(line.closes for _, line in found)
            for limit in (0, 1, 7):
                assert reader.due(until, since=since, keys=keys, limit=limit) == found[:limit]


def test_the_class_of_a_window_bounds_its_length() -> None:
    chance = random.Random(3)
    for hours in (0, 0.5, 1, 1.999, 2, 24, 17520, *(chance.uniform(0, 1e5) for _ in range(200))):
        assert hours < 2 ** span(timedelta(hours=hours))
    assert span(timedelta(hours=-3)) == 0


@pytest.mark.long
def test_a_page_of_what_is_due_reads_little_more_than_it_shows(fresh: Callable[[], Log]) -> None:
    """Rows that SQLite steps over, counted by its progress handler, at 1,000 and at 8,000 jobs."""
    steps = []
    for jobs in (1000, 8000):
        log = fresh()
        with log.writing() as writer:
            spread(writer, jobs, random.Random(5))
        with log._connection(write=False) as connection:
            raw = connection.connection.driver_connection
            count = [0]
            raw.set_progress_handler(lambda count=count: count.__setitem__(0, count[0] + 1) or 0, 10)  # type: ignore[func-returns-value]
            from finishlog.store.search import due

            found = due.lines(connection, POURED, POURED - timedelta(days=30), (), 10)
            raw.set_progress_handler(None, 0)
        assert found
        steps.append(count[0])
    print(f"\nsteps of SQLite: {steps[0]} of 1,000 jobs, {steps[1]} of 8,000")
    assert steps[1] <= 2 * steps[0]


# learning


def learned(log: Log) -> dict[int, LearningRow]:
    with log.reading() as reader:
        return {row.number: row for row in reader.learning_rows()}


@pytest.mark.parametrize(
    ("materials", "percent"),
    [
        ([(3.0, "%"), (5.64, "lb/yd3")], 4.0),
        ([(0.94, "lb/sack")], 1.0),
        ([(3.0, "%"), (None, None)], None),
        ([], None),
    ],
)
def test_readings_come_with_the_dose_of_their_recipe(
    log: Log, materials: list[tuple[float | None, str | None]], percent: float | None
) -> None:
    """In percent of cementitious, of 564 lb/yd³ where a dose is not told in percent; a sack is 94 lb."""
    pigments = tuple(
        NewStageMaterial(NewProduct(f"Shade {n}", "pigment", "Moonhill Colors"), None, rate, unit)
        for n, (rate, unit) in enumerate(materials)
    )
    recipe = NewRecipe("tinted", (NewStage("integral_color", {}, pigments), NewStage("stamp")))
    with log.writing() as writer:
        writer.add_job(a_job("first", NewArea("field", recipe=recipe)))
        writer.add_entry("first", NewEntry("pour", POURED, area="field"))
        reading = NewEntry("reading", at(3), area="field", reading=Reading(62, 5, 15, 1, 0.5, 0.5))
        number = writer.add_entry("first", reading).number
    assert learned(log)[number].dose_percent == (None if percent is None else pytest.approx(percent))


def test_readings_come_with_the_family_of_their_recipe_and_their_pour(log: Log) -> None:
    read = Reading(62, 5, 15, 1, 0.5, 0.5)
    with log.writing() as writer:
        job = writer.add_job(a_job("first"))
        root = job.areas[0].recipe
        assert root is not None
        writer.add_entry("first", NewEntry("pour", POURED, area="field"))  # 1
        writer.add_entry("first", NewEntry("pour", at(9), area="steps"))  # 2
        writer.add_entry("first", NewEntry("reading", at(3), area="field", reading=read))  # 3
        writer.add_entry("first", NewEntry("reading", at(10), area="steps", reading=read))  # 4
        writer.add_entry("first", NewEntry("reading", at(10), reading=read))  # 5: nobody knows where
        writer.add_entry("first", NewEntry("reading", at(4), area="field", reading=read, replaces=3))  # 6
        writer.add_job(a_job("again", NewArea("field")))
        writer.copy_recipe("first", "field", "again", "field")
        changed = replace(RECIPE, reason="a darker one")
        version = writer.job("again").areas[0].recipe
        assert version is not None
        writer.change_recipe("again", "field", changed, version=version.version)
        writer.add_entry("again", NewEntry("pour", at(100)))
        writer.add_entry("again", NewEntry("reading", at(107), reading=replace(read, damp=True)))
        rows = writer.learning_rows()
    by = {(row.job, row.number): row for row in rows}
    field, steps = (area.uid for area in job.areas)
    assert set(by) == {("first", 4), ("first", 5), ("first", 6), ("again", 3)}
    one = by["first", 6]
    assert (one.area, one.recipe, one.poured, one.happened, one.reading) == (
        field,
        root.uid,
        POURED,
        at(4),
        read,
    )
    assert (by["first", 4].area, by["first", 4].recipe, by["first", 4].poured) == (steps, None, at(9))
    assert (by["first", 5].area, by["first", 5].recipe, by["first", 5].poured) == (None, None, None)
    again = by["again", 3]
    assert (again.recipe, again.poured, again.reading.damp) == (root.uid, at(100), True)
    assert [row.happened for row in rows] == sorted(row.happened for row in rows)


def test_readings_of_samples_age_from_their_slab(log: Log) -> None:
    read = Reading(62, 5, 15)
    with log.writing() as writer:
        job = writer.add_job(a_job())
        field, steps = (area.uid for area in job.areas)
        writer.add_entry("patio", NewEntry("load", POURED, load=NewLoad(4, areas=(("steps", 1.0),))))
        writer.add_entry("patio", NewEntry("pour", at(0.1), area="steps"))
        writer.add_entry("patio", NewEntry("sample", at(0), sample=NewSample(load=1)))
        writer.add_entry("patio", NewEntry("sample", at(-30), area="field", sample=NewSample()))
        for number in (1, 2):
            writer.add_entry("patio", NewEntry("reading", at(7), reading=replace(read, sample=number)))
    of_load, apart = learned(log).values()
    assert (of_load.area, of_load.poured) == (steps, at(0.1))
    assert (apart.area, apart.poured) == (field, at(-30))


def test_the_mark_moves_with_readings_and_pours_alone(log: Log) -> None:
    read = NewEntry("reading", at(7), area="field", reading=Reading(62, 5, 15))
    with log.writing() as writer:
        writer.add_job(a_job())
        writer.add_entry("patio", NewEntry("note", POURED))
        marks = [writer.readings_mark()]
        for change in (
            lambda: writer.add_entry("patio", NewEntry("pour", POURED)),
            lambda: writer.add_entry("patio", read),
            lambda: writer.add_entry("patio", replace(read, replaces=3)),
            lambda: writer.add_entry("patio", NewEntry("note", at(7), replaces=4)),
            lambda: writer.add_entry("patio", NewEntry("sample", POURED, sample=NewSample())),
            lambda: writer.undo("patio", 2),
            lambda: writer.change_recipe("patio", "field", replace(RECIPE, reason="x"), version=1),
        ):
            change()
            marks.append(writer.readings_mark())
        assert len(set(marks)) == len(marks)
        writer.add_entry("patio", NewEntry("note", at(8)))
        writer.add_entry("patio", NewEntry("rinse", at(1)))
        writer.set_setting("price_per_yd3", "180")
        assert writer.readings_mark() == marks[-1]


def test_a_sealed_reading_tells_whether_its_last_coat_penetrates(log: Log) -> None:
    """By the coat's facts or its product's label, of its area or the whole job; a coat on another area is none."""
    soak = NewProduct("Quiet Otter", "sealer", "Moonhill Colors", form="liquid", chemistry="silane siloxane")
    coats = (
        ("field", 30.0, {"chemistry": "penetrating"}, ()),
        ("steps", 40.0, {"chemistry": "acrylic", "carrier": "solvent"}, ()),
        ("field", 200.0, {"chemistry": "acrylic"}, ()),
        (None, 300.0, {}, (NewMaterialUse(soak, 1.0, "gal"),)),
    )
    with log.writing() as writer:
        writer.add_job(a_job())
        writer.add_entry("patio", NewEntry("pour", POURED))
        for area, day, facts, materials in coats:
            writer.add_entry("patio", NewEntry("seal", at(day), area=area, facts=facts, materials=materials))

        def read(area: str, day: float, sealed: bool = True) -> int:
            reading = Reading(58.0, 5.0, 13.0, sealed=sealed)
            return writer.add_entry("patio", NewEntry("reading", at(day), area=area, reading=reading)).number

        soaked = [read("field", 35), read("field", 150), read("field", 310), read("steps", 310)]
        other = [read("field", 29), read("steps", 50), read("field", 250), read("field", 36, sealed=False)]
    with log.reading() as reader:
        found = {row.number: row.penetrating for row in reader.learning_rows()}
    assert [found[number] for number in soaked] == [True] * 4
    assert [found[number] for number in other] == [False] * 4


def test_a_coat_taken_back_or_corrected_no_longer_tells(log: Log) -> None:
    with log.writing() as writer:
        writer.add_job(a_job())
        writer.add_entry("patio", NewEntry("pour", POURED))
        facts = {"chemistry": "penetrating"}
        coat = writer.add_entry("patio", NewEntry("seal", at(30), area="field", facts=facts)).number
        reading = Reading(58.0, 5.0, 13.0, sealed=True)
        writer.add_entry("patio", NewEntry("reading", at(40), area="field", reading=reading))
        assert [row.penetrating for row in writer.learning_rows()] == [True]
        before = writer.readings_mark()
        film = NewEntry("seal", at(30), area="field", facts={"chemistry": "epoxy"}, replaces=coat)
        writer.add_entry("patio", film)
        assert [row.penetrating for row in writer.learning_rows()] == [False]
        assert writer.readings_mark() != before


@pytest.mark.bench
def test_learning_rows_of_2000_jobs(fresh: Callable[[], Log]) -> None:
    log = fresh()
    with log.writing() as writer:
        for number in range(2000):
            handle = writer.begin_job(a_job(f"job-{number}", NewArea("field", recipe=RECIPE)))
            news = [NewEntry("pour", POURED)]
            news += [NewEntry("reading", at(days), reading=Reading(60, 4, 12)) for days in range(1, 8)]
            writer.add_entries(handle, news)
    with log.reading() as reader:
        began = time.perf_counter()
        rows = reader.learning_rows()
        read_s = time.perf_counter() - began
        began = time.perf_counter()
        reader.readings_mark()
        mark_s = time.perf_counter() - began
    print(f"\n{len(rows)} readings of 2,000 jobs: {read_s:.2f} s; the mark: {mark_s * 1000:.1f} ms")
    assert {row.job for row in rows} == {f"job-{number}" for number in range(2000 - READ_LAST, 2000)}
    assert len(rows) == 7 * READ_LAST
    assert mark_s * 10 < read_s
