"""Samples, approvals, claims, area maps, bags: what makes the record whole, and what is refused."""

from collections.abc import Callable
from datetime import UTC, datetime

import pytest

from finishlog.errors import InputError
from finishlog.records.log import Approval, Claim, Sample
from finishlog.records.writing import (
    NewArea,
    NewCustomer,
    NewEntry,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewMix,
    NewProduct,
    NewSample,
    NewSite,
)
from finishlog.store import Log, Writer

MORNING = datetime(2025, 5, 14, 13, 30, tzinfo=UTC)


def a_job(name: str = "patio") -> NewJob:
    areas = tuple(NewArea(area) for area in ("field", "border", "stairs"))
    return NewJob(name, NewCustomer("Ines Puddlecombe"), NewSite("s"), areas=areas)


def entry(kind: str, **details: object) -> NewEntry:
    return NewEntry(kind, MORNING, **details)  # type: ignore[arg-type]


def sample(**facts: object) -> NewEntry:
    replaces = facts.pop("replaces", None)
    return NewEntry("sample", MORNING, sample=NewSample(**facts), replaces=replaces)  # type: ignore[arg-type]


def test_everything_comes_back_as_it_was_given(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        load = writer.add_entry(handle, entry("load", load=NewLoad(5.5, slump_in=4.5, slump_end_in=5.25)))
        first = writer.add_entry(
            handle, sample(load=load.number, size="2x2 ft", kept_where="shed", half_sealed=False)
        )
        yes = writer.add_entry(handle, entry("approval", approval=Approval(1, "Ines Puddlecombe", False)))
        said = Claim("white haze", "sealed damp", "stripped it", "gone", True)
        claim = writer.add_entry(handle, entry("claim", claim=said))
        job = writer.job(handle)
    assert first.sample == Sample(1, 1, "2x2 ft", "shed", False)
    assert yes.approval == Approval(1, "Ines Puddlecombe", False)
    assert claim.claim == said
    assert job.entries == (load, first, yes, claim)
    with log.reading() as reader:
        assert reader.job(handle) == job
        assert [line.handle for line in reader.lines(words="haze")] == [handle]
        assert [line.handle for line in reader.lines(words="shed")] == [handle]


def test_samples_are_numbered_over_the_whole_shop(log: Log) -> None:
    with log.writing() as writer:
        one, two = (writer.add_job(a_job(name)).handle for name in ("one", "two"))
        numbers = [writer.add_entry(job, sample()).sample for job in (one, two, one)]
        assert [each.number for each in numbers if each] == [1, 2, 3]
        assert writer.add_entry(two, sample(number=40)).sample == Sample(40)
        assert writer.add_entry(two, sample()).sample == Sample(41)
        with pytest.raises(InputError, match="already a sample 2") as error:
            writer.add_entry(one, sample(number=2))
        assert error.value.example == "42"


def test_a_corrected_sample_keeps_its_number_or_gives_it_up(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        writer.add_entry(handle, sample(size="1x1 ft"))
        assert writer.add_entry(handle, sample(size="2x2 ft", replaces=1)).sample == Sample(1, None, "2x2 ft")
        assert writer.add_entry(handle, sample(number=1, replaces=2)).sample == Sample(1)
        assert writer.add_entry(handle, sample(number=7, replaces=3)).sample == Sample(7)
        assert writer.add_entry(handle, sample(number=1)).sample == Sample(1)
        writer.undo(handle)
        assert writer.add_entry(handle, sample(number=1)).sample == Sample(1)
        assert [e.sample.number for e in writer.job(handle).entries if e.sample] == [7, 1]


def test_a_sample_follows_the_correction_of_its_load(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        writer.add_entry(handle, entry("load", load=NewLoad(5.0)))
        writer.add_entry(handle, sample(load=1))
        writer.add_entry(handle, entry("load", load=NewLoad(5.5), replaces=1))
        writer.add_entry(handle, entry("load", load=NewLoad(5.75), replaces=3))
        assert [e.sample.load for e in writer.job(handle).entries if e.sample] == [4]
        writer.undo(handle, 4)
        assert [e.sample.load for e in writer.job(handle).entries if e.sample] == [4]


def test_what_a_sample_or_an_approval_may_not_name(log: Log) -> None:
    with log.writing() as writer:
        one, two = (writer.add_job(a_job(name)).handle for name in ("one", "two"))
        writer.add_entry(one, entry("rinse"))
        writer.add_entry(two, entry("load", load=NewLoad(5.0)))
        for load in (1, 9):
            with pytest.raises(InputError, match=f"Entry {load} is not a load of this job"):
                writer.add_entry(one, sample(load=load))
        with pytest.raises(InputError, match="No sample 1"):
            writer.add_entry(one, entry("approval", approval=Approval(1, "Ines")))
        writer.add_entry(two, sample())
        writer.add_entry(one, entry("approval", approval=Approval(1, "Ines")))  # of another job: an old slab
        with pytest.raises(InputError, match="name that signed is empty"):
            writer.add_entry(one, entry("approval", approval=Approval(1, " ")))
        with pytest.raises(InputError, match="complaint is empty"):
            writer.add_entry(one, entry("claim", claim=Claim("")))
        assert [e.number for e in writer.job(one).history] == [1, 2]


Splits = tuple[tuple[str, float | None], ...]


@pytest.mark.parametrize(
    ("yards", "split"),
    [
        (0.3, (("field", 0.1), ("border", 0.2))),  # 0.1 + 0.2 is more than 0.3 in binary fractions
        (6.75, (("field", 5.0), ("border", None))),
        (None, (("field", 50.0),)),
        (6.75, ()),
        (6.75, (("field", 6.5), ("border", 0.0))),
    ],
)
def test_an_area_map_that_fits(log: Log, yards: float | None, split: Splits) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        made = writer.add_entry(handle, entry("load", load=NewLoad(yards, areas=split)))
    assert made.load is not None
    assert [given for _, given in made.load.areas] == [given for _, given in split]


@pytest.mark.parametrize(
    ("yards", "split", "said"),
    [
        (6.75, (("field", 6.0), ("border", 0.8)), r"take 6\.8 yd³, the load brought 6\.75"),
        (0.0, (("field", 0.25),), "brought 0"),
        (6.75, (("wall", 1.0),), 'no area "wall"'),
        (6.75, (("field", float("nan")),), "no number"),
        (float("inf"), (("field", 1.0),), "no number"),
    ],
)
def test_an_area_map_that_does_not(log: Log, yards: float, split: Splits, said: str) -> None:
    """Whatever is refused leaves no half entry, also where the caller goes on."""
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        new = NewProduct("Wet Biscuit", "pigment", "Moonhill Colors")
        use = NewMaterialUse(new, 3.0, lot="B")
        bad = entry("load", load=NewLoad(yards, areas=split), materials=(use,), person="Ada")
        with pytest.raises(InputError, match=said):
            writer.add_entry(handle, bad)
        assert writer.job(handle).history == ()
        assert writer.products() == ()
        again = writer.add_entry(handle, entry("load", load=NewLoad(1.0), materials=(use,), person="Ada"))
        assert again.number == 1
    assert log.check().ok


def test_an_overlay_has_bags_and_no_load(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        bags = NewMaterialUse(NewProduct("Gray Topping", "overlay"), 3.5, "bag")
        made = writer.add_entry(handle, entry("note", materials=(bags,), facts={"mix_water_gal": 4.5}))
    assert (made.materials[0].amount, made.materials[0].unit, made.facts["mix_water_gal"]) == (
        3.5,
        "bag",
        4.5,
    )
    box = NewMaterialUse(NewProduct("Gray Topping", "overlay"), 3.5, "box")
    with pytest.raises(InputError, match="unit is out of range"), log.writing() as writer:
        writer.add_entry(handle, entry("note", materials=(box,)))


def test_mixes_keep_their_dates(log: Log) -> None:
    from datetime import date

    spring, fall = (
        NewMix("Stoneport", "4021", cement, valid_from=start, valid_to=end)
        for cement, start, end in (
            ("Type I", date(2025, 1, 1), date(2025, 6, 30)),
            ("Type IL", date(2025, 7, 1), None),
        )
    )
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        made = [
            writer.add_entry(handle, entry("load", load=NewLoad(5.0, mix=m))).load for m in (spring, fall)
        ]
    mixes = [load.mix for load in made if load and load.mix]
    assert [(m.cement_kind, m.valid_from, m.valid_to) for m in mixes] == [
        ("Type I", date(2025, 1, 1), date(2025, 6, 30)),
        ("Type IL", date(2025, 7, 1), None),
    ]


def test_archived_jobs_are_out_of_the_list_and_stay_findable(log: Log) -> None:
    with log.writing() as writer:
        kept, gone = (writer.add_job(a_job(name)).handle for name in ("patio", "walk"))
        assert writer.archive(gone).state == "archived"
        assert [line.handle for line in writer.lines()] == [kept]
        assert writer.lines(words="walk") == ()
        assert (writer.count(), writer.count(archived=True), writer.count(words="puddlecombe")) == (1, 2, 1)
        assert {line.handle for line in writer.lines(archived=True)} == {kept, gone}
        assert (writer.resolve(gone), writer.line(gone).state, writer.job(gone).name) == (
            gone,
            "archived",
            "walk",
        )
        assert writer.archive(gone).state == "archived"
        assert writer.unarchive(gone).state == "poured"
        assert writer.unarchive(gone).state == "poured"
        assert writer.count() == 2
        with pytest.raises(InputError, match="No job"):
            writer.archive("nobody")


@pytest.mark.parametrize("pour", [False, True])
def test_an_archived_plan_goes_back_to_what_it_was(fresh: Callable[[], Log], pour: bool) -> None:
    def act(writer: Writer, handle: str) -> None:
        if pour:
            writer.add_entry(handle, entry("pour"))

    log = fresh()
    with log.writing() as writer:
        new = NewJob("later", NewCustomer("Bo"), NewSite("s"), state="planned")
        handle = writer.add_job(new).handle
        writer.archive(handle)
        act(writer, handle)
        assert writer.job(handle).state == "archived"
        assert writer.unarchive(handle).state == ("poured" if pour else "planned")


def test_two_people_archiving_are_told(log: Log) -> None:
    with log.writing() as writer:
        job = writer.add_job(a_job())
        writer.update_note(job.handle, "slopes")
        with pytest.raises(InputError, match="changed meanwhile"):
            writer.archive(job.handle, version=job.version)


def test_one_value_of_the_shop_by_its_key(log: Log) -> None:
    with log.writing() as writer:
        assert writer.setting("csv mapping: cu yds") is None
        writer.set_setting("csv mapping: cu yds", '{"yards": "Cu Yds"}')
        assert writer.setting("csv mapping: cu yds") == '{"yards": "Cu Yds"}'
        assert writer.shop().truck_yd3 == 9  # a key that is no setting of the shop is left alone
        writer.set_setting("csv mapping: cu yds", None)
        assert writer.setting("csv mapping: cu yds") is None
