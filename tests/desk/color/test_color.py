"""The color desk on a log: which reading goes where, what is said of it, and what is remembered."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from finishlog.color.aging import cure, learn, sealer_seen
from finishlog.color.aging.weathering import sealed_colors
from finishlog.desk.color import as_json, color, flags, learned, words
from finishlog.desk.match import how_good, odds
from finishlog.desk.record import record
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.records.color import ColorTrack, JobColor, Lab
from finishlog.records.log import Reading
from finishlog.records.writing import (
    NewArea,
    NewCustomer,
    NewEntry,
    NewJob,
    NewLoad,
    NewProduct,
    NewRecipe,
    NewSample,
    NewSite,
)
from tests.desk.conftest import NOW, SheetShop

SETTLED, DARKER, TAU = (60.0, 5.0, 13.0), (12.0, 0.0, -0.6), 11.0
USUAL = (1, 3, 7, 14, 28, 45)


def curve(age: float, settled: Lab = SETTLED) -> Lab:
    L, a, b = (end - more * float(np.exp(-age / TAU)) for end, more in zip(settled, DARKER, strict=True))
    return L, a, b


class Yard:
    """A shop with jobs poured some days ago, all of one recipe unless said."""

    def __init__(self, folder: Path) -> None:
        self.services: Services = SheetShop(folder).services
        self.services.make_log(None).close()
        self.uid: str | None = None

    def pour(
        self, name: str, days_ago: float = 60, *, own: bool = False, reference: str | None = None
    ) -> str:
        """A job poured so long ago; `own`: of a recipe of its own."""
        shared = self.uid if not own else None
        area = NewArea("field", recipe=None if shared else NewRecipe(f"buff {name}"), recipe_uid=shared)
        with self.services.log().writing() as log:
            job = log.add_job(NewJob(name, NewCustomer("Wilhelmina Bogglethwaite"),
                                     NewSite("3 Tumbledown Lane", zone="America/Chicago"), areas=(area,),
                                     reference=reference))  # fmt: skip
            log.add_entry(job.handle, NewEntry("pour", NOW - timedelta(days=days_ago), area="field"))
        self.poured = NOW - timedelta(days=days_ago)
        recipe = job.areas[0].recipe
        if not own and recipe is not None:
            self.uid = recipe.uid
        return job.handle

    def read(self, handle: str, age: float, lab: Lab | None = None, **more: object) -> int:
        """A reading of the last job poured, on its curve where no color is given; the entry's number."""
        L, a, b = lab or curve(age)
        reading = Reading(L, a, b, **more)  # type: ignore[arg-type]
        with self.services.log().writing() as log:
            at = self.poured + timedelta(days=age)
            return log.add_entry(handle, NewEntry("reading", at, area="field", reading=reading)).number

    def history(self, jobs: int) -> None:
        """Past jobs of the recipe, each read at the usual ages, scattered a little."""
        rng = np.random.default_rng(4)
        for i in range(jobs):
            handle = self.pour(f"past {i}", 200 + i)
            L, a, b = map(float, np.array(SETTLED) + rng.normal(0, 1, 3) * (1.2, 0.4, 0.6))
            with self.services.log().writing() as log:
                for age in USUAL:
                    seen = np.array(curve(age, (L, a, b))) + rng.normal(0, 1, 3) * (1.0, 0.5, 0.7)
                    at, reading = self.poured + timedelta(days=age), Reading(*map(float, seen))
                    log.add_entry(handle, NewEntry("reading", at, area="field", reading=reading))

    def job(self, handle: str) -> JobColor:
        return color.job(self.services, handle)

    def field(self, handle: str) -> ColorTrack:
        return self.job(handle).areas[0]


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[Yard]:
    made = Yard(tmp_path)
    yield made
    made.services.close()


def sealed(age: float) -> Lab:
    """The curve's color under a coat that nobody logged."""
    L, a, b = map(float, sealed_colors(sealer_seen.COAT, np.array(curve(age))))
    return L, a, b


def test_a_coat_that_nobody_logged_is_asked_about_and_stays_out_of_the_bare_curve(yard: Yard) -> None:
    yard.history(8)
    handle = yard.pour("now", 50)
    for age in (1, 3, 7, 14):
        yard.read(handle, age)
    bare = yard.field(handle)
    first, second = yard.read(handle, 28, sealed(28)), yard.read(handle, 45, sealed(45))
    track = yard.field(handle)
    assert [r.entry for r in track.readings if r.looks_sealed] == [first, second]
    assert not any(r.in_curve for r in track.readings if r.looks_sealed)
    assert bare.final is not None
    assert track.final is not None
    assert track.final.lab == pytest.approx(bare.final.lab, abs=0.01)
    asked = " ".join(track.flags)
    assert f"Entries {first} and {second} were logged as dry and bare" in asked
    assert "From day 28 on it looks sealed or wet" in asked
    assert f"finishlog record {handle} reading --replaces {first} --set no_sealer=yes" in asked


def test_past_its_final_color_what_the_weather_made_of_it_stands_beside_it(yard: Yard) -> None:
    yard.history(6)
    handle = yard.pour("old", 800)
    for age in USUAL:
        yard.read(handle, age)
    yard.read(handle, 795, (66.0, 5.0, 9.0))
    found = yard.job(handle)
    track = found.areas[0]
    assert track.final is not None
    assert track.today is not None
    assert track.final.age_days == 45
    assert track.final.lab[0] == pytest.approx(SETTLED[0], abs=1.5)
    assert track.today.lab[0] > track.final.lab[0] + 2
    said = words.sentence(found, track)
    final, now = said.split(" Now, with the weather since: ")
    assert final.startswith("Final color, day 45: ")
    assert f"L* {track.final.lab[0]:.0f} ±" in final
    assert f"L* {track.today.lab[0]:.0f} ±" in now
    assert said.count("(9 in 10)") == 2
    answer = as_json.color_json(found)
    assert answer["final"]["lab"] != answer["today"]["lab"]
    assert "; now " in words.headline(found, track)


def test_who_looked_and_says_bare_is_believed(yard: Yard) -> None:
    yard.history(8)
    handle = yard.pour("now", 50)
    for age in (1, 3, 7, 14):
        yard.read(handle, age)
    first = yard.read(handle, 28, sealed(28))
    yard.read(handle, 45, sealed(45))
    record.record(yard.services, handle, "reading", {"no_sealer": "yes"}, replaces=first)
    track = yard.field(handle)
    assert not any(r.looks_sealed for r in track.readings)
    assert sum(r.in_curve for r in track.readings) == 6


def test_coats_that_nobody_logged_do_not_teach_the_shop(yard: Yard) -> None:
    yard.history(8)
    clean = learned.state(yard.services).learned
    for name in ("sealed 1", "sealed 2", "sealed 3"):
        handle = yard.pour(name, 80)
        for age in (1, 3, 7, 14):
            yard.read(handle, age)
        for age in (28, 45):
            yard.read(handle, age, sealed(age))
    state = learned.state(yard.services)
    assert len(state.coats) == 6
    assert yard.uid is not None
    before, after = (each.recipe(yard.uid)[0] for each in (clean, state.learned))
    assert after[:3] == pytest.approx(before[:3], abs=0.6)


def test_the_forecast_comes_from_early_readings_and_history(yard: Yard) -> None:
    yard.history(8)
    handle = yard.pour("now", 8)
    for age in (1, 3, 7):
        yard.read(handle, age)
    found = yard.job(handle)
    track = found.areas[0]
    assert found.history_jobs == 9
    assert track.recipe_jobs == 8
    assert found.poured_on == (NOW - timedelta(days=8)).date()
    assert track.final_color_on == found.poured_on + timedelta(days=45)
    assert track.final is not None
    assert track.final.lab == pytest.approx(SETTLED, abs=1.5)
    assert 0.5 < track.final.radius90_de00 < 3.5
    assert [point.age_days for point in track.forecast] == [1, 3, 7, 14, 28, 45, 180]
    assert track.today is not None
    assert track.today.age_days == pytest.approx(8)
    assert track.compare_from is not None
    assert 18 <= (track.compare_from - found.poured_on).days <= 36
    assert all(reading.in_curve for reading in track.readings)
    assert "lighter" in words.sentence(found, track)
    early, late = track.band[0], track.band[-1]
    assert early[1][0] < late[1][0]


def test_a_first_job_is_forecast_widely_and_says_that_there_is_no_history(yard: Yard) -> None:
    handle = yard.pour("first", 4)
    yard.read(handle, 3)
    track = yard.field(handle)
    assert track.flags[0].startswith("No history yet")
    assert track.final is not None
    assert track.final.lab[0] == pytest.approx(60, abs=2)
    assert track.final.radius90_de00 > 3


def test_damp_and_sealed_readings_never_enter_the_dry_bare_curve(yard: Yard) -> None:
    yard.history(6)
    handle = yard.pour("now", 30)
    yard.read(handle, 3)
    yard.read(handle, 14)
    before = yard.field(handle).final
    damp = yard.read(handle, 15, (41.0, 6.0, 15.0), damp=True)
    yard.read(handle, 20, (50.0, 6.5, 16.0), sealed=True)
    track = yard.field(handle)
    assert before is not None
    assert track.final is not None
    assert [reading.in_curve for reading in track.readings] == [True, True, False, False]
    assert track.final.lab == pytest.approx(before.lab, abs=0.01)
    assert track.damp_preview is not None
    assert track.damp_preview.entry == damp
    assert any("preview of the sealed look" in flag for flag in track.flags)
    assert any("1 sealed reading kept out" in flag for flag in track.flags)


def test_the_sealed_look_is_unknown_until_a_slab_was_read_bare_and_sealed(yard: Yard) -> None:
    yard.history(6)
    handle = yard.pour("bare", 40)
    for age in (3, 14, 28):
        yard.read(handle, age)
    assert yard.field(handle).sealed is None
    assert any("Sealed look unknown" in flag for flag in yard.field(handle).flags)
    other = yard.pour("sealed", 80)
    for age in (7, 28):
        yard.read(other, age)
    look = learned.state(yard.services).look
    yard.read(other, 35, tuple(map(float, sealed_colors(look, np.array(curve(35))))), sealed=True)  # type: ignore[arg-type]
    track = yard.field(handle)
    assert track.sealed is not None
    assert track.final is not None
    assert track.sealed.pairs == 1
    assert track.sealed.point.lab[0] < track.final.lab[0] - 3
    assert track.sealed.point.lab_sd[0] > track.final.lab_sd[0]


def test_a_penetrating_sealer_has_a_look_of_its_own(yard: Yard) -> None:
    """Its pairs teach nothing about films; where nothing is learned yet it hardly changes the color."""
    yard.history(6)
    pairs = {}
    for name, facts in (("soaked", {"chemistry": "penetrating"}), ("filmed", {"chemistry": "acrylic"})):
        handle = pairs[name] = yard.pour(name, 80)
        for age in (7, 28):
            yard.read(handle, age)
        with yard.services.log().writing() as log:
            log.add_entry(
                handle, NewEntry("seal", yard.poured + timedelta(days=30), area="field", facts=facts)
            )
        before = learned.state(yard.services)
        assert (before.look.pairs, before.soaked.pairs) == (0, len(pairs) - 1)
        look = before.look_of(name == "soaked")
        L, a, b = map(float, sealed_colors(look, np.array(curve(35))))
        assert (curve(35)[0] - 2 < L) == (name == "soaked")
        yard.read(handle, 35, (L, a, b), sealed=True)
    state = learned.state(yard.services)
    assert (state.look.pairs, state.soaked.pairs) == (1, 1)
    soaked, filmed = (yard.field(pairs[name]).sealed for name in ("soaked", "filmed"))
    assert soaked is not None
    assert filmed is not None
    assert soaked.point.lab[0] > filmed.point.lab[0] + 7


def test_of_a_slab_read_only_sealed_the_bare_color_goes_by_what_lies_on_it(yard: Yard) -> None:
    yard.history(6)
    bare = {}
    for chemistry in ("penetrating", "acrylic"):
        old = yard.pour(f"old {chemistry}", 400)
        with yard.services.log().writing() as log:
            log.add_entry(
                old,
                NewEntry(
                    "seal", yard.poured + timedelta(days=30), area="field", facts={"chemistry": chemistry}
                ),
            )
        yard.read(old, 60, (52.0, 5.0, 13.0), sealed=True)
        new = yard.pour(f"new {chemistry}", 40, reference=old)
        yard.read(new, 28)
        found = odds.of_job(yard.services, new)
        assert found is not None
        assert found.bare_pair is not None
        bare[chemistry] = found.bare_pair[0][0]
    assert bare["penetrating"] < bare["acrylic"] - 1


def test_a_slab_sealed_early_goes_on_by_the_bare_half_of_its_sample(yard: Yard) -> None:
    yard.history(6)
    handle = yard.pour("early", 50)
    yard.read(handle, 3)
    with yard.services.log().writing() as log:
        load = log.add_entry(handle, NewEntry("load", yard.poured, area="field", load=NewLoad()))
        made = log.add_entry(
            handle, NewEntry("sample", yard.poured, area="field", sample=NewSample(load=load.number))
        )
    assert made.sample is not None
    wide = yard.field(handle).final
    for age in (14, 28, 45):
        yard.read(handle, age, sample=made.sample.number)
    found = yard.job(handle)
    track = found.areas[0]
    assert wide is not None
    assert track.final is not None
    assert track.final.lab_sd[0] < wide.lab_sd[0]
    assert any("by the bare half of sample" in flag for flag in track.flags)
    assert [one.sample for one in found.samples] == [made.sample.number]


def test_a_test_sample_poured_apart_tells_nothing_of_the_slab(yard: Yard) -> None:
    yard.history(6)
    handle = yard.pour("now", 50)
    yard.read(handle, 3)
    before = yard.field(handle).final
    with yard.services.log().writing() as log:
        doses = ((NewProduct("Otter Buff", "pigment"), 6.0),)
        made = log.add_entry(
            handle, NewEntry("sample", yard.poured, area="field", sample=NewSample(doses=doses))
        )
    assert made.sample is not None
    yard.read(handle, 28, (35.0, 15.0, 25.0), sample=made.sample.number)
    found = yard.job(handle)
    assert before is not None
    assert found.areas[0].final == before
    assert found.samples[0].final is not None
    assert found.samples[0].final.lab[1] > 10


def test_contradicting_readings_are_kept_and_named(yard: Yard) -> None:
    yard.history(6)
    handle = yard.pour("now", 30)
    yard.read(handle, 3)
    one = yard.read(handle, 7)
    two = yard.read(handle, 7.01, (76.0, 5.0, 13.0))
    yard.read(handle, 14)
    track = yard.field(handle)
    assert len([reading for reading in track.readings if reading.in_curve]) == 4
    assert any(f"Entries {one} and {two}" in flag and "both kept" in flag for flag in track.flags)
    assert any(f"Entry {two}, day 7, stands apart" in flag for flag in track.flags)
    assert track.final is not None
    assert track.final.lab[0] == pytest.approx(60, abs=2)


def test_without_the_end_of_a_pour_nothing_is_forecast(yard: Yard) -> None:
    with yard.services.log().writing() as log:
        job = log.add_job(
            NewJob("stub", NewCustomer("Odo Tatterby"), NewSite("9 Kettle Row"), areas=(NewArea("field"),))
        )
        log.add_entry(job.handle, NewEntry("reading", NOW, area="field", reading=Reading(50, 5, 12)))
    track = yard.field(job.handle)
    assert track.forecast == ()
    assert track.final_color_on is None
    assert track.flags == (flags.NO_POUR,)
    assert track.readings[0].age_days is None
    with pytest.raises(InputError, match="no forecast to save"):
        color.keep_forecast(yard.services, job.handle)


def test_a_planned_job_says_that_it_is_not_poured(yard: Yard) -> None:
    with yard.services.log().writing() as log:
        job = log.add_job(
            NewJob("stub", NewCustomer("Odo Tatterby"), NewSite("9 Kettle Row"), areas=(NewArea("field"),),
                   state="planned")
        )  # fmt: skip
    assert yard.field(job.handle).flags == (flags.PLANNED,)


def test_nothing_read_and_no_history_says_so_and_history_of_the_recipe_is_enough(yard: Yard) -> None:
    alone = yard.pour("alone", 2, own=True)
    assert yard.field(alone).forecast == ()
    assert "nothing to forecast from" in yard.field(alone).flags[0]
    yard.history(6)
    track = yard.field(yard.pour("unread", 2))
    assert track.recipe_jobs == 6
    assert track.final is not None
    assert track.final.lab == pytest.approx(SETTLED, abs=2)


def test_late_readings_move_only_what_comes_after_the_cure(yard: Yard) -> None:
    yard.history(6)
    handle = yard.pour("old", 800)
    for age in USUAL:
        yard.read(handle, age)
    before = color.job(yard.services, handle, by=[790]).areas[0]
    yard.read(handle, 780, (52.0, 5.0, 13.0))
    after = color.job(yard.services, handle, by=[790]).areas[0]
    assert before.final is not None
    assert after.final is not None
    assert after.final.lab == pytest.approx(before.final.lab, abs=0.01)
    assert after.forecast[-1].age_days == 790
    assert after.forecast[-1].lab[0] < before.forecast[-1].lab[0] - 3
    assert not after.readings[-1].in_curve


def test_it_learns_again_only_when_a_reading_or_a_pour_has_changed(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    yard.history(5)
    handle = yard.pour("now", 10)
    yard.read(handle, 3)
    runs: list[int] = []
    whole = learn.learn
    monkeypatch.setattr(learn, "learn", lambda slabs: (runs.append(len(slabs)), whole(slabs))[1])
    yard.job(handle)
    yard.job(handle)
    with yard.services.log().writing() as log:
        log.add_entry(handle, NewEntry("note", NOW, note="a frog sat on it"))
    yard.job(handle)
    assert len(runs) == 1
    yard.read(handle, 7)
    yard.job(handle)
    assert len(runs) == 2


def test_its_own_readings_are_not_used_twice(yard: Yard) -> None:
    """What the desk expects is the fit under a prior learned with the job's own message taken out."""
    yard.history(6)
    handle = yard.pour("now", 30)
    ages = (3, 14)
    for age in ages:
        yard.read(handle, age)
    state = learned.state(yard.services)
    with yard.services.log().reading() as log:
        row = next(row for row in log.learning_rows() if row.job == handle)
    key = learned.key_of(handle, row.area)
    readings = cure.track(ages, [curve(age) for age in ages], (1.0, 0.5, 0.7))
    expected = cure.fit(readings, state.learned.prior(row.recipe, (key,))).at([45.0])[0][0]
    twice = cure.fit(readings, state.learned.prior(row.recipe)).at([45.0])[1][0]
    final = yard.field(handle).final
    assert final is not None
    assert final.lab == pytest.approx(expected, abs=1e-6)
    assert final.lab_sd[0] > float(twice[0, 0] ** 0.5)


# --- kept, and how good -------------------------------------------------------------------------------


def test_a_kept_forecast_is_judged_by_the_readings_that_come_after(yard: Yard) -> None:
    yard.history(8)
    handle = yard.pour("now", 8)
    for age in (1, 3, 7):
        yard.read(handle, age)
    assert how_good.how_good(yard.services).kept.ranges == 0
    color.keep_forecast(yard.services, handle)
    with yard.services.log().reading() as log:
        [kept] = log.advices(handle)
    assert (kept.kind, kept.method) == ("forecast", color.METHOD)
    assert json.loads(kept.answer)["final_color_on"] == (NOW.date() + timedelta(days=37)).isoformat()
    assert len(json.loads(kept.inputs)["readings"]) == 3
    yard.read(handle, 28)
    yard.read(handle, 45, (75.0, 5.0, 13.0))
    found = how_good.how_good(yard.services)
    assert (found.kept.ranges, found.kept.held) == (2, 1)
    assert found.hindcasts.ranges >= 16
    said = words.how_good(found)
    assert "Of 2 saved ranges" in said
    assert "Hindcasts, from the readings" in said


def test_nothing_to_judge_is_said(yard: Yard) -> None:
    assert "Nothing to judge yet" in words.how_good(how_good.how_good(yard.services))


# --- odds ---------------------------------------------------------------------------------------------


def odds_of(yard: Yard, handle: str, on: date | None = None) -> tuple[object, str]:
    with yard.services.log().reading() as log:
        job, shop = log.job(handle), log.shop()
    told = odds.of_plan(yard.services, job, job.areas[0], on or NOW.date(), shop)
    return told.odds, told.why


def test_the_odds_of_a_plan(yard: Yard) -> None:
    yard.history(8)
    handle = yard.pour("old", 120)
    for age in USUAL:
        yard.read(handle, age)
    found, why = odds_of(yard, handle)
    assert why == ""
    answer = as_json.odds_json(found)  # type: ignore[arg-type]
    assert {
        "probability",
        "threshold_de00",
        "dominant",
        "compare_from",
        "radius90_de00",
        "verdict",
    } <= answer.keys()
    assert answer["threshold_de00"] == 3
    assert answer["dominant"] == "job_scatter"
    assert 0.5 < answer["probability"] < 1
    later, _ = odds_of(yard, handle, NOW.date() + timedelta(days=3000))
    assert as_json.odds_json(later)["probability"] < answer["probability"]  # type: ignore[arg-type]


def test_no_odds_where_the_old_slab_was_never_read(yard: Yard) -> None:
    yard.history(4)
    handle = yard.pour("old", 120)
    found, why = odds_of(yard, handle)
    assert found is None
    assert "never read" in why
    yard.read(handle, 30, damp=True)
    assert odds_of(yard, handle)[0] is None


def test_an_old_slab_read_sealed_only_has_odds_that_say_so(yard: Yard) -> None:
    yard.history(8)
    handle = yard.pour("old", 120)
    yard.read(handle, 100, (51.0, 6.0, 16.0), sealed=True)
    found, _ = odds_of(yard, handle)
    answer = as_json.odds_json(found)  # type: ignore[arg-type]
    assert any("sealed only" in note for note in answer["notes"])


def test_the_field_stands_in_where_the_base_was_never_read_and_beside_it_where_it_was(yard: Yard) -> None:
    yard.history(5)
    handle = yard.pour("old", 120)
    for age in USUAL:
        L, a, b = curve(age)
        yard.read(handle, age, (L - 4, a, b), spot="field")
    found, _ = odds_of(yard, handle)
    alone = as_json.odds_json(found)  # type: ignore[arg-type]
    assert alone["spot"] == "field"
    assert [one["spot"] for one in alone["by_spot"]] == ["field"]
    assert any("never read: whole field" in note for note in alone["notes"])
    yard.read(handle, 50)
    found, _ = odds_of(yard, handle)
    both = as_json.odds_json(found)  # type: ignore[arg-type]
    assert both["spot"] == "base"
    assert [one["spot"] for one in both["by_spot"]] == ["base", "field"]
    assert both["by_spot"][0]["probability"] == both["probability"]
    assert both["by_spot"][1]["probability"] == alone["probability"]
    rows = dict(words.odds_rows(found))  # type: ignore[arg-type]
    assert "bare" in rows["By the field"]
    for label in ("Bare", "Sealed alike"):
        assert "14" in rows[label]
        assert "180 days" in rows[label]


def test_an_addition_that_was_poured_has_odds_by_its_own_readings(yard: Yard) -> None:
    yard.history(8)
    old = yard.pour("old", 300)
    for age in USUAL:
        yard.read(old, age)
    chances = {}
    for name, off in (("near", 0.0), ("far", 12.0)):
        new = yard.pour(name, 20, reference=old)
        for age in (3, 7, 14):
            L, a, b = curve(age)
            yard.read(new, age, (L + off, a, b))
        with yard.services.log().reading() as log:
            job, shop = log.job(new), log.shop()
        found = odds.of_addition(yard.services, job, job.areas[0], shop)
        assert found is not None
        assert odds.of_job(yard.services, new) == found
        chances[name] = found.probability
    assert chances["near"] > 0.7
    assert chances["far"] < 0.1


def test_a_black_reading_long_after_is_named_and_not_believed(yard: Yard) -> None:
    yard.history(6)
    handle = yard.pour("now", 120)
    for age in (3, 7, 28, 45):
        yard.read(handle, age)
    before = yard.field(handle)
    wrong = yard.read(handle, 107, (20.0, 0.0, 0.0))
    found = yard.job(handle)
    track = found.areas[0]
    assert "bluish black" not in words.sentence(found, track)
    assert any(f"Entry {wrong}, day 107, stands apart and is rejected" in flag for flag in track.flags)
    told = next(reading for reading in track.readings if reading.entry == wrong)
    assert (told.in_curve, told.apart) == (False, True)
    for old, new in zip(before.forecast, track.forecast, strict=True):
        assert new.lab == pytest.approx(old.lab, abs=0.5)
        assert new.lab_sd[0] <= old.lab_sd[0] * 1.2


def test_a_color_that_no_concrete_has_is_kept_named_and_tells_nothing(yard: Yard) -> None:
    handle = yard.pour("typed wrong", 120)
    wrong = yard.read(handle, 107, (0.0, 0.0, 0.0))
    said = f"Entry {wrong}, day 107, is rejected: L*a*b* 0, 0, 0 is not a color of concrete"
    assert any(said in flag for flag in yard.field(handle).flags)
    yard.read(handle, 28)
    found = yard.job(handle)
    track = found.areas[0]
    assert [reading.apart for reading in track.readings] == [False, True]
    assert sum(said in flag for flag in track.flags) == 1
    assert not any("stands apart" in flag for flag in track.flags)
    assert track.today is not None
    assert track.today.lab[0] == pytest.approx(60, abs=3)


def test_good_late_readings_count_and_no_flag_is_raised(yard: Yard) -> None:
    yard.history(6)
    handle = yard.pour("now", 120)
    for age in (3, 28, 100):
        yard.read(handle, age)
    track = yard.field(handle)
    assert not any("stands apart" in flag for flag in track.flags)
    assert track.readings[-1].weight == pytest.approx(1, abs=0.05)


def test_a_slab_unlike_its_recipe_goes_by_its_own_readings_and_says_so(yard: Yard) -> None:
    yard.history(8)
    handle = yard.pour("dark", 50)
    for age in USUAL:
        L, a, b = curve(age)
        yard.read(handle, age, (L - 22, a, b))
    track = yard.field(handle)
    assert track.final is not None
    assert track.final.lab[0] == pytest.approx(curve(45)[0] - 22, abs=2)
    assert any("Unlike its recipe" in flag for flag in track.flags)
