"""The demo: one invented shop's four years, whole, and the same every day but for the day."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

import finishlog
from finishlog.desk.blend import blend
from finishlog.desk.color import color
from finishlog.desk.demo import demo, photos
from finishlog.desk.match import how_good
from finishlog.desk.photo import reading as photo_reading
from finishlog.desk.placed.placed import areas, as_placed
from finishlog.desk.services import Services
from finishlog.errors import LogError
from finishlog.inputs.boxes import read_box
from finishlog.records.log import Job
from finishlog.records.shop import Shop
from finishlog.store import Log
from finishlog.trade import stages
from finishlog.units import read_depth_in, read_length_ft

NOW = datetime(2026, 6, 16, 18, tzinfo=UTC)
TODAY = NOW.date()
DATA = Path(finishlog.__file__).parents[1] / "seed_demo"
ZONE = ZoneInfo("America/Chicago")


def services(now: datetime = NOW) -> Services:
    def none(*_: object) -> Log:
        raise AssertionError("the demo never touches the user's own log")

    return Services(none, lambda: False, none, lambda: now, lambda: ZONE)


def jobs_of(log: Log) -> tuple[Job, ...]:
    with log.reading() as reader:
        return tuple(reader.job(line.handle) for line in reader.lines())


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Log]:
    made = demo.new_log(services(), str(tmp_path_factory.mktemp("demo") / "demo.finishlog"))
    yield made
    made.close()


@pytest.fixture(scope="module")
def jobs(log: Log) -> tuple[Job, ...]:
    return jobs_of(log)


@pytest.fixture(scope="module")
def reference(jobs: tuple[Job, ...]) -> Job:
    return next(job for job in jobs if job.handle == demo.start().handle)


def poured(job: Job) -> date | None:
    pours = job.of_kind("pour")
    return pours[0].happened.astimezone(ZONE).date() if pours else None


def test_there_are_enough_jobs_over_four_years(jobs: tuple[Job, ...]) -> None:
    days = [day for job in jobs if (day := poured(job))]
    assert len(jobs) >= 26
    assert timedelta(days=3.5 * 365) < TODAY - min(days) < timedelta(days=4.1 * 365)
    assert TODAY - max(days) < timedelta(days=30)
    assert all(entry.happened <= NOW for job in jobs for entry in job.history)


def test_the_reference_is_months_old_and_nearly_whole(reference: Job) -> None:
    day = poured(reference)
    assert day is not None
    assert 7 * 30 <= (TODAY - day).days <= 11 * 31
    placed = as_placed(reference, reference.areas[0], ZONE)
    assert placed.missing == ()
    assert placed.dose_from == "loads"
    assert any(item.what == "gas line" for item in reference.buried)
    assert reference.note
    assert [e.sample.half_sealed for e in reference.of_kind("sample") if e.sample] == [True]


def test_the_addition_can_be_measured() -> None:
    start = demo.start()
    assert all(read_length_ft(side) > 0 for side in start.rect.split("x"))
    assert read_depth_in(start.depth) == 4


def test_the_record_has_what_a_real_one_has(jobs: tuple[Job, ...]) -> None:
    placed = [part for job in jobs for part in areas(job, ZONE)]
    loads = [entry.load for job in jobs for entry in job.of_kind("load") if entry.load]
    assert {part.area.kind for part in placed} >= {"field", "border", "band", "stairs"}
    assert sum(load.is_balance for load in loads) >= 2
    assert sum(part.loads - part.balance_loads > 1 for part in placed) >= 2
    assert any(len(part.pigments) == 2 for part in placed)
    assert any(part.off_loads for part in placed)
    assert any(part.dose_lb_per_yd3 is None for part in placed)
    assert any("rinse age not logged" in part.missing for part in placed)
    assert any(load.yards and load.placed_yd3 is None for load in loads)
    assert sum(coat.reseal for part in placed for coat in part.coats) >= 2
    due = [
        p
        for p in placed
        if p.coats and not any(c.reseal for c in p.coats) and (TODAY - p.coats[-1].on).days > 1095
    ]
    assert due
    assert any(job.state == "planned" for job in jobs)


def test_recipes_are_shared_and_some_have_one_job(jobs: tuple[Job, ...]) -> None:
    used = [area.recipe.uid for job in jobs for area in job.areas if area.recipe]
    assert len(set(used)) >= 6
    assert max(used.count(uid) for uid in used) >= 5
    assert min(used.count(uid) for uid in used) == 1


def test_a_plant_switched_its_cement_and_kept_its_number(jobs: tuple[Job, ...]) -> None:
    mixes = {load.mix for job in jobs for entry in job.of_kind("load") if (load := entry.load) and load.mix}
    kinds: dict[tuple[str | None, str | None], set[str | None]] = {}
    for mix in mixes:
        kinds.setdefault((mix.plant, mix.number), set()).add(mix.cement_kind)
    assert max(map(len, kinds.values())) == 2


def test_slabs_lighten_as_they_dry(jobs: tuple[Job, ...]) -> None:
    for job in jobs:
        told = [e.reading for e in job.of_kind("reading") if e.reading and e.reading.spot == "base"]
        assert all(20 < reading.L < 80 for reading in told)
        read = [reading for reading in told if not reading.sealed and reading.sample is None]
        if len(read) > 2:
            assert read[0].L < read[-1].L


def test_past_slabs_teach_the_order(log: Log) -> None:
    with log.reading() as reader:
        slabs = reader.past_slabs()
    whole = [slab for slab in slabs if slab.placed_yd3 and slab.area_ft2 and slab.depth_in]
    assert len(whole) >= 20


def test_every_stage_is_one_its_kind_takes(jobs: tuple[Job, ...]) -> None:
    kinds = {kind.key for kind in stages.KINDS}
    for job in jobs:
        for stage in (s for area in job.areas if area.recipe for s in area.recipe.stages):
            stages.validate(stage.kind, stage.params)
        for entry in job.entries:
            if entry.kind in kinds:
                stages.validate(entry.kind, entry.facts)


def test_no_plan_of_the_shop_is_over_a_limit(jobs: tuple[Job, ...]) -> None:
    assert not any(part.over_limit for job in jobs for part in areas(job, ZONE))


def test_the_log_is_sound(log: Log) -> None:
    assert log.check().ok


def test_two_demos_of_one_day_are_the_same(jobs: tuple[Job, ...], tmp_path: Path) -> None:
    again = demo.new_log(services(), str(tmp_path / "again.finishlog"))
    assert jobs_of(again) == jobs
    again.close()


def test_another_day_only_moves_the_days(jobs: tuple[Job, ...], tmp_path: Path) -> None:
    later = demo.new_log(services(NOW + timedelta(days=100)), str(tmp_path / "later.finishlog"))
    moved = {job.handle: job for job in jobs_of(later)}
    for job in jobs:
        then = [(e.kind, e.happened.astimezone(ZONE).replace(tzinfo=None)) for e in job.entries]
        now = [(e.kind, e.happened.astimezone(ZONE).replace(tzinfo=None)) for e in moved[job.handle].entries]
        assert now == [(kind, at + timedelta(days=100)) for kind, at in then]
    later.close()


def test_an_existing_file_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "mine.finishlog"
    path.write_text("mine")
    with pytest.raises(LogError):
        demo.new_log(services(), str(path))
    assert path.read_text() == "mine"


def test_a_demo_that_fails_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("a fault")

    monkeypatch.setattr(demo, "make", fail)
    with pytest.raises(RuntimeError):
        demo.new_log(services(), str(tmp_path / "demo.finishlog"))
    assert list(tmp_path.iterdir()) == []


# color


def of(log: Log) -> Services:
    """The desks on the demo's own log."""
    return Services(lambda: log, lambda: True, lambda *_: log, lambda: NOW, lambda: ZONE)


def test_readings_scatter_so_that_past_forecasts_are_judged_and_not_all_held(log: Log) -> None:
    """The readings' scatter is that of a photo; 9 in 10 ranges should hold, and some of so many should not."""
    found = how_good.how_good(of(log))
    assert found.kept.ranges >= 30
    assert 0.8 <= found.kept.held / found.kept.ranges < 1
    readings = sum(one.readings for one in found.by_day)
    assert readings >= 100
    for axis in ("L", "a", "b", "color"):
        assert 0.8 <= sum(getattr(one, f"held_{axis}") for one in found.by_day) / readings < 1


def test_a_promise_that_was_kept_with_a_plan_is_counted(log: Log) -> None:
    """The pool walk was to match a patio of another lot; both have been read since."""
    (promise,) = how_good.how_good(of(log)).promises
    assert (promise.closed, promise.plans, promise.matched) == (False, 1, 1)
    assert promise.low <= promise.said < promise.high


def test_forecasts_were_given_before_the_readings_they_are_judged_by(log: Log) -> None:
    with log.reading() as reader:
        kept = [a for line in reader.lines() for a in reader.advices(line.handle) if a.kind == "forecast"]
    assert len(kept) == 10
    assert all(advice.given < NOW - timedelta(days=30) for advice in kept)
    assert all(json.loads(advice.answer)["forecast"][0]["radius90_de00"] > 0 for advice in kept)


def test_the_sealed_look_was_learned_from_pairs(log: Log) -> None:
    found = color.job(of(log), demo.start().handle)
    assert found.areas[0].sealed is not None
    assert found.areas[0].sealed.pairs >= 5
    assert found.areas[0].final is not None
    assert found.areas[0].sealed.point.lab[0] < found.areas[0].final.lab[0]


def test_the_test_slabs_tell_a_blend_and_are_no_color_of_their_job(log: Log, jobs: tuple[Job, ...]) -> None:
    found = blend.answer(of(log), blend.BlendRequest((55.0, 8.0, 13.0)))
    assert (found.samples, found.cement, found.unknown) == (13, "Type IL", ())
    assert found.found is not None
    assert found.found.de00 < 1
    job = next(job for job in jobs if job.handle == "swizzlecote-carport")
    assert [part.base_reading for part in areas(job, ZONE)] == [None]
    with log.reading() as reader:
        line = next(line for line in reader.lines() if line.handle == job.handle)
    assert line.base_hex is None


def test_a_drawn_photo_reads_as_what_was_logged_of_it(log: Log, reference: Job) -> None:
    """Between the corners of its card, within what a photo is worth: twice the sd of each."""
    entry = next(e for e in reference.of_kind("photo") if e.files[0].name == "front-yard-day-28.jpg")
    logged = {
        e.reading.spot: e.reading
        for e in reference.of_kind("reading")
        if e.reading and e.reading.photo == entry.files[0].sha256
    }
    left, top, width, height = photos.CARD
    corners = [
        (Fraction(left + x * width), Fraction(top + y * height)) for x, y in ((0, 0), (1, 0), (1, 1), (0, 1))
    ]
    boxes = [read_box(f"{spot}={read.box}") for spot, read in logged.items()]
    data = log.file_path(entry.files[0].sha256).read_bytes()
    seen = photo_reading.measure(data, boxes, Shop.from_values({}), corners=corners)
    assert {spot.spot for spot in seen.spots} == {"base", "release color", "field"}
    field = next(
        e for e in reference.of_kind("reading") if e.reading and e.reading.box == logged["field"].box
    )
    assert seen.left is not None
    assert seen.left.sd < 0.02
    assert 100 * seen.left.share == pytest.approx(
        field.facts["release_left_percent"], abs=2 * 100 * seen.left.sd
    )
    for spot in seen.spots:
        told = logged[spot.spot]
        off = [abs(a - b) for a, b in zip(spot.lab, (told.L, told.a, told.b), strict=True)]
        assert all(o < 2 * sd for o, sd in zip(off, spot.lab_sd, strict=True)), (spot.spot, off)


# the data


def test_the_data_is_plain(jobs: tuple[Job, ...]) -> None:
    assert {path.suffix for path in DATA.iterdir()} == {".toml"}
    for path in DATA.iterdir():
        tomllib.loads(path.read_text(encoding="utf-8"))


def test_nobody_can_be_called_or_written_to() -> None:
    text = "".join(path.read_text(encoding="utf-8") for path in DATA.iterdir())
    phones = re.findall(r"phone = \"([^\"]*)\"", text)
    mails = re.findall(r"email = \"([^\"]*)\"", text)
    assert len(phones) > 10
    assert all(re.fullmatch(r"555-01\d\d", phone) for phone in phones)
    assert all(mail.endswith("@example.com") for mail in mails)
    assert len(set(phones)) == len(phones)


def test_a_color_is_only_read_where_it_can_be_seen(jobs: tuple[Job, ...]) -> None:
    """Under its release a slab shows no base, and under its sealer no bare color: then the sample is read."""
    checked = 0
    for job in jobs:
        for entry in job.of_kind("reading"):
            same = [e for e in job.entries if e.area == entry.area]
            rinsed = min((e.happened for e in same if e.kind == "rinse"), default=None)
            sealed = min((e.happened for e in same if e.kind == "seal"), default=None)
            hidden = (rinsed and entry.happened < rinsed) or (sealed and entry.happened > sealed)
            if hidden and entry.reading and not entry.reading.sealed:
                checked += 1
                assert "kept sample" in (entry.note or ""), (job.handle, entry.happened)
    assert checked > 10
