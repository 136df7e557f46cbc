"""Logging: what is offered, what is asked, what is kept; corrections, undo, drafts, the day card."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from finishlog.desk.doubts import odd as doubts
from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.forms import daycard, offers
from finishlog.desk.jobs import edit
from finishlog.desk.record import drafts, record, taking_back
from finishlog.desk.record.record import WrongFields
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.records.log import Entry, Job, Reading
from finishlog.records.writing import NewEntry, NewMaterialUse, NewProduct
from finishlog.store import Log

ZONE = ZoneInfo("America/Chicago")
START = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)  # 7:40 in the morning
JOB = "ottoline-quillfeather-back-patio"


class Clock:
    """A clock that a test can set."""

    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def services(tmp_path: Path, clock: Clock) -> Iterator[Services]:
    uids = count(1)
    log = Log.create(tmp_path / "l.finishlog", clock=clock, new_uid=lambda: f"u{next(uids)}")
    made = Services(
        open_log=lambda: log, has_log=lambda: True, make_log=lambda *_: log, clock=clock,
        find_zone=lambda: ZONE,
    )  # fmt: skip
    edit.new_job(
        made,
        {
            "customer": "Ottoline Quillfeather", "job": "back patio", "street": "12 Teakettle Lane",
            "areas": "field 24x18 4in, border 76 ft2, steps",
        },
    )  # fmt: skip
    yield made
    log.close()


def job(services: Services) -> Job:
    with services.log().reading() as log:
        return log.job(JOB)


def standing(services: Services, number: int) -> Entry:
    return next(entry for entry in job(services).entries if entry.number == number)


def load(services: Services, **texts: str) -> record.Recorded:
    return record.record(services, JOB, "load", {"area": "all", **texts})


def poured(services: Services, at: str = "2026-06-15 11:20") -> None:
    record.record(services, JOB, "pour", {"at": at})


# one entry


def test_an_entry_is_kept_as_it_was_told(services: Services) -> None:
    done = record.record(
        services, "ottoline", "stamp", {"pattern": "ashlar", "mats": "5", "area": "field", "by": "Bo"}
    )
    held = job(services)
    assert held.entries == (done.entry,)
    assert done.entry.number == 1
    assert (done.entry.kind, done.entry.facts, done.entry.person) == (
        "stamp",
        {"pattern": "ashlar", "mats": 5},
        "Bo",
    )
    assert done.entry.area == held.areas[0].uid
    assert done.sentence == "Entry 1: stamped, ashlar. Jun 16 2026, 7:40a."
    assert ("mats", "Mats in use", "5") in done.understood


def test_happened_and_logged_are_kept_apart(services: Services, clock: Clock) -> None:
    poured(services)
    done = record.record(services, JOB, "rinse", {"at": "about 6a"})
    assert done.entry.happened == datetime(2026, 6, 16, 11, 0, tzinfo=UTC)
    assert (done.entry.logged, done.entry.exactness) == (clock.now, "about")


def test_nothing_is_kept_of_a_wrong_entry(services: Services) -> None:
    with pytest.raises(WrongFields) as failure:
        record.record(services, JOB, "rinse", {"pressure_psi": "junk", "passes": "many"})
    assert [wrong.key for wrong in failure.value.wrongs] == ["pressure_psi", "passes"]
    assert "Also wrong: passes." in failure.value.line()
    assert job(services).history == ()


def test_a_load_may_not_feed_more_than_it_brought(services: Services) -> None:
    with pytest.raises(InputError, match=r"5\.5 yd³, and the load had 5 yd³"):
        record.record(services, JOB, "load", {"yards": "5", "map": "field=4, border=1.5"})
    assert job(services).history == ()


def test_a_name_of_emoji_and_combining_marks_comes_back_as_typed(services: Services) -> None:
    name = "🧑🏽‍🔧 Z̷o̸e̶ ﷽ é"
    done = record.record(services, JOB, "note", {"by": name, "note": name})
    assert (done.entry.person, done.entry.note) == (name, name)


def test_the_maker_is_added_where_there_can_be_only_one(services: Services) -> None:
    load(services, yards="5", product="Wet Biscuit", maker="Toadstone Pigments")
    done = load(services, yards="4", product="wet biscuit")
    assert done.entry.materials[0].product.maker == "Toadstone Pigments"
    load(services, yards="3", product="Wet Biscuit", maker="Mudlark Pigments")
    assert load(services, yards="2", product="Wet Biscuit").entry.materials[0].product.maker is None


def test_a_load_over_the_pigment_limit_is_kept_and_flagged(services: Services) -> None:
    done = load(services, yards="5", product="Wet Biscuit", amount="300", cement_lb_per_yd3="564")
    assert standing(services, done.entry.number).load is not None
    assert any("10 % of the cement" in warning for warning in done.warnings)


def test_a_load_off_the_others_is_named(services: Services) -> None:
    load(services, yards="5", product="Wet Biscuit", amount="35")
    assert any(
        "heavy" in warning
        for warning in load(services, yards="5", product="Wet Biscuit", amount="42").warnings
    )


TWO = {"product": "Otter Back", "amount": "10 lb", "product_2": "Moth Pocket"}


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        (TWO, "Two shades need their ratio by parts."),
        ({**TWO, "mix_ratio": "2:1"}, ""),
        ({**TWO, "amount_2": "5 lb"}, ""),
        ({"product": "Otter Back", "mix_ratio": "2:1"}, "A ratio needs two shades. There is 1 of them."),
        ({"product": "Otter Back", "amount": "10 lb"}, ""),
    ],
)
def test_shades_without_their_parts_are_said(services: Services, texts: dict[str, str], words: str) -> None:
    done = record.record(services, JOB, "powder_release", {"at": "7a", "area": "field", **texts})
    assert " ".join(done.warnings) == words


def test_a_ratio_is_planned_of_two_shades(services: Services) -> None:
    ratio = {"powder_release.product": "Otter Back", "powder_release.mix_ratio": "2:1"}
    with pytest.raises(InputError, match="A ratio needs two shades") as wrong:
        edit.change_order(services, JOB, "field", ratio, reason="she chose darker")
    assert wrong.value.where == "powder_release.mix_ratio"


def test_choices_are_said_in_words_and_kept_as_keys(services: Services) -> None:
    with pytest.raises(WrongFields) as wrong:
        record.record(services, JOB, "cure", {"at": "7a", "area": "field", "method": "pancake"})
    assert "cure and seal" in wrong.value.line()
    assert "_" not in wrong.value.line()
    done = record.record(services, JOB, "cure", {"at": "7a", "area": "field", "method": "cure and seal"})
    assert done.entry.facts["method"] == "cure_and_seal"


def test_attachments_are_kept_with_the_entry(services: Services, tmp_path: Path) -> None:
    ticket = tmp_path / "ticket.txt"
    ticket.write_bytes(b"40731\n")
    done = record.record(services, JOB, "note", {"note": "the ticket"}, files=(ticket,))
    assert [(file.name, file.size) for file in done.entry.files] == [("ticket.txt", 6)]
    again = record.record(services, JOB, "note", {"note": "its ticket"}, replaces=done.entry.number)
    assert again.entry.files == done.entry.files


# what is odd


@pytest.mark.parametrize(
    ("kind", "texts", "said"),
    [
        ("rinse", {"at": "2026-06-15 9a"}, "before the pour of Jun 15 2026, 11:20a"),
        ("rinse", {"at": "2026-06-14"}, "before the pour"),
        ("seal", {"at": "Jun 1"}, "before the pour"),
        ("reading", {"at": "Jun 1", "color": "62,4,16"}, "before the pour"),
        ("stamp", {"at": "2026-06-14 9a"}, "before the pour"),
        ("rinse", {"at": "2026-06-15 4p"}, "4.7 h after the pour"),
        ("rinse", {"at": "2026-06-17 9a"}, "is in the future"),
        ("visit", {"at": "2:30a"}, "2:30 at night? Write 2:30p for the afternoon."),
        ("visit", {"at": "yesterday 2:30"}, "2:30 at night? Write 2:30p for the afternoon."),
        ("visit", {"at": "about 9:30p yesterday"}, "9:30 at night? Write 9:30a for the morning."),
        ("note", {"at": "2027-01-01", "note": "x"}, "is in the future"),
        ("load", {"area": "all", "yards": "65"}, "more than a truck holds"),
        ("load", {"area": "all", "slump_in": "7"}, "A slump of 7 in is wet"),
        ("load", {"area": "all", "slump_in": "1"}, "A slump of 1 in is stiff"),
    ],
)
def test_what_is_odd_is_asked_and_allowed_with_a_reason(
    services: Services, kind: str, texts: dict[str, str], said: str
) -> None:
    poured(services)
    with pytest.raises(Doubt) as asked:
        record.record(services, JOB, kind, texts)
    assert said in asked.value.line()
    assert "--because" in asked.value.line()
    assert asked.value.exit_status == 2
    assert len(job(services).history) == 1
    with pytest.raises(Doubt):
        record.record(services, JOB, kind, texts, because="  ")
    done = record.record(services, JOB, kind, texts, because="the clock was wrong")
    assert said in str(done.entry.note)
    assert str(done.entry.note).endswith("Because: the clock was wrong")


@pytest.mark.parametrize(
    ("kind", "texts"),
    [
        ("rinse", {"at": "2026-06-16 6a"}),
        ("rinse", {"at": "2026-06-15"}),  # only the day is known: it may have been after
        ("sweep", {"at": "about 2026-06-15 11a"}),  # about may be an hour off
        ("powder_release", {"at": "2026-06-15 9a"}),
        ("load", {"at": "2026-06-15 8a", "area": "all", "slump_in": "6 1/2", "yards": "13"}),
        ("note", {"at": "2020-01-01", "note": "she asked first"}),
    ],
)
def test_what_is_plain_is_not_asked(services: Services, kind: str, texts: dict[str, str]) -> None:
    poured(services)
    assert record.record(services, JOB, kind, texts).entry.number == 2


def test_the_night_is_not_asked_of_who_works_in_it(services: Services, clock: Clock) -> None:
    clock.now = datetime(2026, 6, 16, 8, 10, tzinfo=UTC)  # 3:10 at night
    load(services, at="2:30a")
    clock.now = START
    load(services, at="3:15a")  # of the same night's pour
    record.record(services, JOB, "joint", {"at": "yesterday 11p"})
    with pytest.raises(Doubt, match="at night"):
        load(services, at="2026-06-14 2:30a")


def test_a_pour_after_its_own_rinse_is_asked(services: Services) -> None:
    record.record(services, JOB, "load", {"area": "all", "at": "2026-06-10", "yards": "5"})
    record.record(services, JOB, "rinse", {"at": "2026-06-12 8a"})
    with pytest.raises(Doubt, match="comes after entry 2, rinsed"):
        poured(services)


def test_a_second_pour_is_not_asked_about_the_work_on_the_first(services: Services) -> None:
    poured(services, "2026-06-10 11a")
    record.record(services, JOB, "rinse", {"at": "2026-06-12 8a"})
    poured(services, "2026-06-15 11a")
    late = record.record(services, JOB, "reading", {"at": "2026-06-13", "color": "62,4,16"})
    assert late.entry.number == 4


@pytest.mark.parametrize(
    ("kind", "texts", "words"),
    [
        ("seal", {"product": "Slow Duck 25", "amount": "99999 gal"}, "99999 gal of sealer on 432 ft²"),
        ("seal", {"product": "Slow Duck 25", "amount": "0.1 gal", "area_ft2": "432"}, "0.1 gal of sealer"),
        ("powder_release", {"product": "Otter Back", "amount": "152 lb"}, "152 lb of powder release on 432"),
        ("powder_release", {"lb_per_100ft2": "36"}, "36 lb/100 ft² of powder release"),
        ("color_hardener", {"product": "Otter Back", "amount": "2600 lb"}, "2600 lb of color hardener"),
        ("liquid_release", {"product": "Otter Oil", "amount": "22 gal"}, "22 gal of liquid release on 432"),
        ("load", {"yards": "2", "product": "Old Toast", "amount": "340 lb"}, "340 lb of pigment in 2 yd³"),
        ("load", {"product": "Old Toast", "amount": "1600 lb"}, "1600 lb of pigment in a load"),
    ],
)
def test_an_amount_far_from_usual_is_asked_once_and_kept_with_its_reason(
    services: Services, kind: str, texts: dict[str, str], words: str
) -> None:
    whole = {"area": "field", "at": "2026-06-16 07:30", **texts}
    record.record(services, JOB, "pour", {"area": "field", "at": "2026-06-16 07:00"})
    with pytest.raises(Doubt, match=re.escape(words)):
        record.record(services, JOB, kind, whole)
    done = record.record(services, JOB, kind, whole, because="that is right")
    again = record.record(services, JOB, kind, {"by": "Moss"}, replaces=done.entry.number)
    assert again.entry.materials == done.entry.materials


@pytest.mark.parametrize(
    ("kind", "texts"),
    [
        ("seal", {"product": "Slow Duck 25", "amount": "9 gal"}),
        ("seal", {"product": "Slow Duck 25", "amount": "0.1 gal"}),  # a touch-up
        ("powder_release", {"product": "Otter Back", "amount": "151 lb"}),
        ("load", {"yards": "2", "product": "Old Toast", "amount": "335 lb"}),
    ],
)
def test_an_amount_that_may_be_is_not_asked(services: Services, kind: str, texts: dict[str, str]) -> None:
    assert record.record(services, JOB, kind, {"area": "field", "at": "2026-06-16 07:30", **texts},
                         because=None if kind == "load" else "the job is planned")  # fmt: skip


def test_a_reading_says_damp_or_sealed_where_the_log_speaks_for_it(services: Services) -> None:
    def read(at: str, **said: str) -> Reading | None:
        texts = {"area": "field", "color": "62,4,16", "at": at, **said}
        return record.record(services, JOB, "reading", texts).entry.reading

    for kind, at in (("pour", "2026-06-01 9:00"), ("rinse", "2026-06-02 9:00")):
        record.record(services, JOB, kind, {"area": "field", "at": at})
    with pytest.raises(WrongFields, match="rinsed on Jun 2 2026") as wrong:
        read("2026-06-02 15:00")
    assert [each.key for each in wrong.value.wrongs] == ["damp"]
    assert read("2026-06-02 15:00", damp="yes") == Reading(62, 4, 16, damp=True, source="by hand")
    bare = read("2026-06-05 15:00")
    assert (bare.damp, bare.sealed) == (False, False) if bare else False
    record.record(services, JOB, "seal", {"area": "field", "at": "2026-06-10"}, because="a trial")
    with pytest.raises(WrongFields, match="sealed on Jun 10 2026") as wrong:
        read("2026-06-12 15:00")
    assert [each.key for each in wrong.value.wrongs] == ["sealed"]
    kept = read("2026-06-12 15:00", sealed="no")
    assert kept is not None
    assert not kept.sealed


def test_a_planned_job_is_not_rinsed_without_a_question(services: Services) -> None:
    with pytest.raises(Doubt, match="planned, not poured"):
        record.record(services, JOB, "rinse", {})


def test_outside_the_window_it_is_kept_and_said(services: Services) -> None:
    poured(services, "2026-06-15 4p")
    assert any(
        "rinse is usually at 18 h to 4 days" in w for w in record.record(services, JOB, "rinse", {}).warnings
    )
    hard = record.record(services, JOB, "rinse", {"pressure_psi": "3500", "at": "-1h"}, because="dry heat")
    assert any("3,000 at most" in warning for warning in hard.warnings)


# corrections


def test_a_correction_changes_what_it_names_and_keeps_the_rest(services: Services) -> None:
    first = load(
        services, yards="6.6", product="Wet Biscuit", amount="24 lb 6 oz", lot="K-131", ticket="40731",
        map="field=5, border=1", at="about 2026-06-15 8:50a", by="Bo", note="late", plant="Gravelpit",
        water_when="at the site", accelerator="none",
    ).entry  # fmt: skip
    second = record.record(services, JOB, "load", {"yards": "6.75"}, replaces=first.number).entry
    assert second.replaces == first.number
    assert second.load is not None
    assert first.load is not None
    assert (second.load.yards, second.load.ticket, second.load.areas) == (6.75, "40731", first.load.areas)
    assert (second.happened, second.exactness, second.person, second.note) == (
        first.happened, "about", "Bo", "late",
    )  # fmt: skip
    assert [(u.product, u.amount, u.unit, u.lot) for u in second.materials] == [
        (u.product, u.amount, u.unit, u.lot) for u in first.materials
    ]
    assert (second.load.mix, second.load.water_when, second.facts) == (
        first.load.mix, "at the site", {"accelerator": "none"},
    )  # fmt: skip
    held = job(services)
    assert [entry.number for entry in held.entries] == [2]
    assert [entry.number for entry in held.history] == [1, 2]
    assert held.history[0] == first


def test_the_time_of_a_correction_is_of_the_entrys_day(services: Services) -> None:
    load(services, yards="6.5", at="2026-06-04 8:50a")
    moved = record.record(services, JOB, "load", {"at": "about 9:10a"}, replaces=1).entry
    assert (moved.happened, moved.exactness) == (datetime(2026, 6, 4, 14, 10, tzinfo=UTC), "about")


def test_what_the_fields_do_not_show_stays_with_a_correction(services: Services) -> None:
    """A log of another program version may hold more: facts, spots and products no field asks for."""
    with services.log().writing() as log:
        first = log.add_entry(
            JOB,
            NewEntry(
                "reading", START, facts={"by_lamp": True}, reading=Reading(62, 4, 16, spot="band", source="card"),
                materials=(NewMaterialUse(NewProduct("Gray Card", "card"), 1, "lb"),),
            ),
        )  # fmt: skip
        slurry = log.add_entry(JOB, NewEntry("powder_release", START, materials=tuple(
            NewMaterialUse(NewProduct(f"Shade {n}", "old release"), n, "lb") for n in (1, 2, 3)
        )))  # fmt: skip
    again = record.record(services, JOB, "reading", {"note": "x"}, replaces=first.number).entry
    assert (again.facts, again.reading) == (first.facts, first.reading)
    assert again.materials == first.materials
    assert record.record(
        services, JOB, "powder_release", {"note": "x"}, replaces=slurry.number
    ).entry.materials == (slurry.materials)


def test_a_correction_to_blank_makes_it_unknown(services: Services) -> None:
    first = load(services, yards="6.5", ticket="40731").entry
    second = record.record(services, JOB, "load", {"ticket": ""}, replaces=first.number).entry
    assert second.load is not None
    assert (second.load.yards, second.load.ticket) == (6.5, None)


@pytest.mark.parametrize(
    ("kind", "texts"),
    [
        (
            "reading",
            {"color": "62.123456,4.000001,-16.7", "instrument": "colorimeter", "spot": "release color"},
        ),
        ("reading", {"color": "10YR 6/3", "damp": "yes", "sealed": "yes"}),
        (
            "seal",
            {"product": "Duckback 25", "amount": "2", "number": "1", "slab_f": "62", "chemistry": "acrylic"},
        ),
        ("sample", {"load": "1", "size": "2x2 ft", "half_sealed": "no"}),
        ("approval", {"sample": "1", "signed_by": "Ottoline", "approved": "no"}),
        ("claim", {"complaint": "lighter", "cause": "new cement"}),
        ("weather", {"low_f": "20 C", "rain_in": "1/3 in"}),
        (
            "powder_release",
            {"product": "Otter Back", "amount": "15", "reclaimed": "yes", "product_2": "Soot Cat"},
        ),
        ("bag_mix", {"bags": "14", "product": "Skim 40", "amount": "14 bags"}),
    ],
)
def test_a_correction_of_the_note_alone_loses_nothing(
    services: Services, kind: str, texts: dict[str, str]
) -> None:
    load(services, yards="5")
    poured(services)
    record.record(services, JOB, "sample", {})
    because = "the sealer is made for it" if kind == "seal" else None  # half an hour after the pour
    whole = {"area": "field", "at": "2026-06-16 7:30", **texts}
    first = record.record(services, JOB, kind, whole, because=because).entry
    second = record.record(services, JOB, kind, {"note": "said again"}, replaces=first.number).entry
    same = ("kind", "happened", "exactness", "area", "facts", "materials", "load", "coat", "reading", "sample",
            "approval", "claim")  # fmt: skip
    for name in same:
        assert getattr(second, name) == getattr(first, name), name
    assert second.note == "said again"


def test_the_sample_of_a_corrected_load_is_still_of_that_load(services: Services) -> None:
    load(services, yards="5")
    sample = record.record(services, JOB, "sample", {"load": "1"}).entry
    record.record(services, JOB, "load", {"yards": "5.25"}, replaces=1)
    kept = record.record(services, JOB, "sample", {"size": "2x2 ft"}, replaces=sample.number).entry
    assert kept.sample is not None
    assert kept.sample.load in (1, 3)
    assert offers.correction(services, JOB, kept.number).values["load"] == "1"


def test_a_replaced_entry_is_not_replaced_again_and_the_newer_is_named(services: Services) -> None:
    load(services, yards="5")
    record.record(services, JOB, "load", {"yards": "6"}, replaces=1)
    for act in (
        lambda: record.record(services, JOB, "load", {"yards": "7"}, replaces=1),
        lambda: taking_back.undo(services, JOB, 1),
        lambda: offers.correction(services, JOB, 1),
    ):
        with pytest.raises(InputError, match="already replaced by entry 2"):
            act()
    assert len(job(services).history) == 2


def test_what_was_answered_once_is_not_asked_again(services: Services) -> None:
    record.record(services, JOB, "load", {"area": "all", "slump_in": "8"}, because="superplasticizer")
    record.record(services, JOB, "load", {"note": "x"}, replaces=1)
    with pytest.raises(Doubt, match="A slump of 9 in"):
        record.record(services, JOB, "load", {"slump_in": "9"}, replaces=2)


def test_an_entry_that_is_not_there_is_said(services: Services) -> None:
    with pytest.raises(InputError, match="has no entry 9"):
        record.record(services, JOB, "load", {"yards": "7"}, replaces=9)


def test_the_reason_of_a_correction_is_kept(services: Services) -> None:
    load(services, yards="5")
    done = record.record(services, JOB, "load", {"yards": "6"}, replaces=1, because="ticket misread")
    assert done.entry.note == "Because: ticket misread"


def test_an_entry_of_a_wrong_kind_is_replaced_by_one_of_the_right(services: Services) -> None:
    record.record(services, JOB, "note", {"note": "stamped"})
    done = record.record(services, JOB, "stamp", {"pattern": "ashlar"}, replaces=1)
    assert [entry.kind for entry in job(services).entries] == ["stamp"]
    assert done.entry.replaces == 1


def test_undo_takes_back_the_last_or_the_named_entry_and_keeps_both(services: Services) -> None:
    load(services, yards="5")
    load(services, yards="6")
    done = taking_back.undo(services, JOB)
    assert "Undone. Entry 2: load 6.00 yd³" in done.sentence
    assert [entry.number for entry in job(services).entries] == [1]
    taking_back.undo(services, JOB, 1)
    assert job(services).entries == ()
    assert len(job(services).history) == 4
    with pytest.raises(InputError, match="No entry to undo"):
        taking_back.undo(services, JOB)
    taking_back.undo(services, JOB, 4)
    assert [entry.load and entry.load.yards for entry in job(services).entries] == [5]


# what is offered


def recipe(services: Services) -> None:
    edit.change_order(
        services, JOB, "field",
        {
            "integral_color.product": "Wet Biscuit", "integral_color.maker": "Toadstone Pigments",
            "integral_color.lot": "K-131", "integral_color.rate": "7 lb/yd3", "stamp.pattern": "ashlar slate",
            "rinse.pressure_psi": "2000", "powder_release.product": "Otter Back",
        },
        reason="first plan",
    )  # fmt: skip


def test_the_recipe_is_offered_first(services: Services) -> None:
    recipe(services)
    offer = offers.offer(services, JOB, "load", "field")
    assert offer.copied == "From the recipe."
    assert {k: offer.values[k] for k in ("product", "maker", "lot", "area")} == {
        "product": "Wet Biscuit", "maker": "Toadstone Pigments", "lot": "K-131", "area": "field",
    }  # fmt: skip
    assert offers.offer(services, JOB, "stamp", "field").values["pattern"] == "ashlar slate"
    assert offers.offer(services, JOB, "rinse", "field").values["pressure_psi"] == "2000 psi"
    assert (
        "Never work it in: the spot is permanent." in offers.offer(services, JOB, "powder_release").cautions
    )


def test_the_next_load_begins_as_the_last_was_and_says_so(services: Services) -> None:
    load(services, yards="6.5", ticket="40731", product="Wet Biscuit", lot="K-131", amount="45", plant="Gravelpit",
         slump_in="4.5", by="Bo", at="-1h")  # fmt: skip
    offer = offers.offer(services, JOB, "load")
    assert offer.copied == "Filled from load 1."
    assert (offer.values["product"], offer.values["lot"], offer.values["plant"], offer.values["by"]) == (
        "Wet Biscuit", "K-131", "Gravelpit", "Bo",
    )  # fmt: skip
    assert not offer.values.keys() & {"yards", "ticket", "amount", "slump_in", "at", "water_gal"}
    assert offer.choices["product"] == ("Wet Biscuit",)
    assert offer.choices["area"] == ("field", "border", "steps", "all")
    entry = record.record(services, JOB, "load", {**offer.values, "area": "field"}).entry
    assert entry.materials[0].lot == "K-131"


def test_the_next_coat_is_offered(services: Services) -> None:
    poured(services, "2026-05-01")
    assert offers.offer(services, JOB, "seal", "field").values["number"] == "1"
    record.record(
        services, JOB, "seal", {"number": "1", "product": "Duckback 25", "amount": "2", "area": "field"}
    )
    offer = offers.offer(services, JOB, "seal", "field")
    assert (offer.values["number"], offer.values["product"], offer.values["area_ft2"]) == (
        "2",
        "Duckback 25",
        "432 ft²",
    )
    assert "amount" not in offer.values


def test_a_correction_is_offered_with_what_the_entry_says(services: Services) -> None:
    load(services, yards="6.5", ticket="40731", map="field=5")
    offer = offers.correction(services, JOB, 1)
    assert (offer.kind, offer.replaces) == ("load", 1)
    assert (offer.values["yards"], offer.values["map"], offer.values["ticket"]) == (
        "6.5 yd³",
        "field=5",
        "40731",
    )


@pytest.mark.parametrize("kind", [kind.key for kind in record.entries.kinds()])
def test_what_is_offered_can_be_logged_as_it_is(services: Services, kind: str) -> None:
    recipe(services)
    poured(services)
    load(services, yards="5", product="Wet Biscuit", at="2026-06-15 8a")
    if kind == "approval":
        record.record(services, JOB, "sample", {"number": "12"})
    offer = offers.offer(services, JOB, kind, "field")
    needed = {field.key: field.sample for field in offer.fields if field.required}
    done = record.record(services, JOB, kind, {**offer.values, **needed}, because="as offered")
    assert done.entry.kind == kind


# drafts


def test_a_draft_survives_and_goes_when_it_is_logged(services: Services) -> None:
    key = drafts.draft_key(JOB, "load")
    drafts.keep_draft(services, key, {"yards": "6 1/", "note": "😀", "lot": ""})
    assert drafts.draft(services, key) == {"yards": "6 1/", "note": "😀"}
    assert drafts.drafts(services, "ottoline") == (("load", {"yards": "6 1/", "note": "😀"}),)
    assert offers.offer(services, JOB, "load").draft == {"yards": "6 1/", "note": "😀"}
    load(services, yards="6.5")
    assert drafts.draft(services, key) is None
    drafts.keep_draft(services, key, {})
    assert drafts.drafts(services, JOB) == ()


def test_a_draft_that_nobody_can_read_is_none(services: Services) -> None:
    with services.log().writing() as log:
        log.save_draft("entry x load", "{broken")
    assert drafts.draft(services, "entry x load") is None


# the day card

CARD = {
    "day": "2026-06-15", "crew": "Bo", "weather.low_f": "61", "weather.sky": "sun",
    "load.1.ticket": "40731", "load.1.at": "8:50a", "load.1.yards": "6.5", "load.1.product": "Wet Biscuit",
    "load.1.lot": "K-131", "load.1.amount": "45 lb 8 oz", "load.1.map": "field=5, border=1.5",
    "load.1.plant": "Gravelpit plant", "load.1.mix_number": "4000-6", "load.1.slump_in": "4.5",
    "load.2.ticket": "40735", "load.2.at": "about 10:30a", "load.2.yards": "2", "load.2.amount": "14",
    "load.2.is_balance": "yes", "load.2.area": "steps", "leftover.returned_yd3": "0.25",
    "powder_release.product": "Otter Back", "powder_release.amount": "15", "stamp.pattern": "ashlar slate",
    "joint.method": "saw", "cure.method": "none", "pour.at": "11:20a", "sample.1.kept_where": "rack",
    "rinse.at": "Jun 16 6a", "rinse.passes": "2",
}  # fmt: skip


def test_a_pour_from_the_card_is_many_entries_in_one_go(services: Services) -> None:
    done = daycard.pour_day(services, JOB, CARD)
    held = job(services)
    assert sorted(entry.kind for entry in held.entries) == sorted(
        ["weather", "load", "load", "powder_release", "stamp", "joint", "cure", "pour", "sample", "rinse"]
    )
    assert len(done) == 10
    assert {entry.person for entry in held.entries} == {"Bo"}
    first, second = (entry for entry in held.of_kind("load"))
    assert first.load is not None
    assert second.load is not None
    assert (first.load.returned_yd3, second.load.returned_yd3, second.load.dumped_yd3) == (0, 0.25, None)
    assert second.load.is_balance
    assert second.load.mix == first.load.mix
    assert second.materials[0].product.name == "Wet Biscuit"
    assert second.exactness == "about"
    sample = held.of_kind("sample")[0].sample
    assert sample is not None
    assert (sample.number, sample.load) == (1, first.number)
    stamp = held.of_kind("stamp")[0]
    assert (stamp.exactness, stamp.happened.astimezone(ZONE).date().isoformat()) == ("day", "2026-06-15")
    assert held.of_kind("rinse")[0].happened == datetime(2026, 6, 16, 11, 0, tzinfo=UTC)
    assert held.state == "poured"


def test_of_a_card_that_is_wrong_nothing_is_kept_and_all_is_said(services: Services) -> None:
    with pytest.raises(WrongFields) as failure:
        daycard.pour_day(services, JOB, {**CARD, "load.2.yards": "two", "stamp.mats": "-1", "rinse.at": ""})
    assert {wrong.key for wrong in failure.value.wrongs} == {"load.2.yards", "stamp.mats", "rinse.at"}
    assert job(services).history == ()


def test_of_an_odd_card_nothing_is_kept_until_there_is_a_reason(services: Services) -> None:
    odd = {**CARD, "load.2.slump_in": "8", "rinse.at": "Jun 15 5p"}
    with pytest.raises(Doubt) as asked:
        daycard.pour_day(services, JOB, odd)
    assert len(asked.value.doubts) == 2
    assert job(services).history == ()
    daycard.pour_day(services, JOB, odd, because="storm coming")
    noted = [entry.kind for entry in job(services).entries if "storm coming" in str(entry.note)]
    assert noted == ["load", "rinse"]


def test_a_color_on_the_card_says_what_it_was_read_on_and_where(services: Services) -> None:
    read = {"reading.color": "62,4,16", "reading.at": "Jun 16 7:30a"}
    coat = {"seal.1.at": "Jun 16 7:10a", "seal.1.product": "Slow Duck 25"}
    rinsed = {"rinse.at": "Jun 16 7:00a"}

    def wrong(texts: dict[str, str]) -> set[str]:
        with pytest.raises(WrongFields) as failure:
            daycard.pour_day(services, JOB, texts)
        assert job(services).history == ()
        return {each.key for each in failure.value.wrongs}

    assert wrong({**CARD, **rinsed, **coat, **read}) == {"reading.area", "reading.damp", "reading.sealed"}
    told = {**CARD, **rinsed, **coat, **read, "reading.area": "field"}
    assert wrong(told) == {"reading.damp", "reading.sealed"}
    assert wrong({**told, "reading.damp": "no"}) == {"reading.sealed"}
    texts = {**told, "reading.damp": "no", "reading.sealed": "yes"}
    done = daycard.pour_day(services, JOB, texts, because="a trial")
    [kept] = [one.entry.reading for one in done if one.entry.reading is not None]
    assert (kept.damp, kept.sealed) == (False, True)


def test_a_color_on_the_card_before_any_coat_is_dry_and_bare(services: Services) -> None:
    texts = {
        **CARD,
        "rinse.at": "",
        "reading.color": "62,4,16",
        "reading.at": "Jun 16 7:30a",
        "reading.area": "field",
    }
    texts = {key: text for key, text in texts.items() if not key.startswith(("rinse.", "seal."))}
    done = daycard.pour_day(services, JOB, texts)
    [kept] = [one.entry.reading for one in done if one.entry.reading is not None]
    assert (kept.damp, kept.sealed) == (False, False)


def test_what_was_only_offered_is_not_logged(services: Services) -> None:
    recipe(services)
    card = daycard.day_card(services, JOB)
    offered = {f"{s.key}.{key}": text for s in card.sections for key, text in s.values.items()}
    assert offered["stamp.pattern"] == "ashlar slate"
    with pytest.raises(InputError, match="Nothing filled in"):
        daycard.pour_day(services, JOB, offered)
    done = daycard.pour_day(services, JOB, {**offered, "stamp.mats": "5"})
    assert [(one.entry.kind, one.entry.facts) for one in done] == [
        ("stamp", {"pattern": "ashlar slate", "mats": 5})
    ]


def test_the_card_stands_in_the_order_of_the_paper(services: Services) -> None:
    recipe(services)
    keys = [section.key for section in daycard.day_card(services, JOB, loads=1).sections]
    assert keys == [
        "weather", "load.1", "powder_release", "stamp", "finishing", "joint", "cure", "pour", "leftover", "sample.1",
        "sweep", "rinse", "seal.1", "seal.2", "reading",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "key", ["loud.1.yards", "load.1.nope", "load.x.yards", "load", "stamp", "load.1.2.yards"]
)
def test_a_key_the_card_does_not_have_is_said(services: Services, key: str) -> None:
    with pytest.raises(InputError):
        daycard.pour_day(services, JOB, {**CARD, key: "1"})
    assert job(services).history == ()


def test_doubts_name_the_reason_option(services: Services) -> None:
    with pytest.raises(Doubt) as asked:
        doubts.ask(("It is odd.",))
    assert asked.value.doubts == ("It is odd.",)


def test_pounds_to_the_yard_that_do_not_fit_the_pounds_are_asked(services: Services) -> None:
    texts = {"area": "all", "yards": "4", "product": "Wet Biscuit", "dose_told_lb_per_yd3": "7"}
    with pytest.raises(Doubt, match=r"48 lb of pigment in 4 yd³ are 12 lb/yd³, and 7 lb/yd³ is entered too"):
        record.record(services, JOB, "load", {**texts, "amount": "48 lb"})
    fits = record.record(services, JOB, "load", {**texts, "amount": "28 lb 4 oz"})
    alone = record.record(services, JOB, "load", texts)
    assert [done.entry.materials[0].amount for done in (fits, alone)] == [28.25, 28]
    assert alone.entry.facts["dose_told_lb_per_yd3"] == 7


def test_wind_light_and_why_it_ran_short_are_kept(services: Services) -> None:
    told = {"area": "all", "load_wind_mph": "12", "light": "part shade"}
    assert record.record(services, JOB, "load", told).entry.facts == {
        "load_wind_mph": 12,
        "light": "part_shade",
    }
    ran = record.record(services, JOB, "pour", {"area": "all", "ran_short": "yes", "why_short": "low grade"})
    assert ran.entry.facts == {"ran_short": True, "why_short": "low grade"}
