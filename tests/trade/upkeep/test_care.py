"""When a slab is due for care, how it is prepared, what the office said of it. Common practice, no source."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from finishlog.records.care import Reseal
from finishlog.records.log import Area, Customer, Exposure, Job, Owner
from finishlog.records.shop import Shop
from finishlog.trade.upkeep import care
from finishlog.trade.upkeep.season import season_words
from tests.trade.care_build import EMPTY, FIELD, SOLVENT, ZONE, logged, sealed, taken_back

SHOP = Shop.from_values({})
TODAY = date(2026, 6, 16)


def due(job: Job, today: date = TODAY, shop: Shop = SHOP) -> Reseal:
    found = care.reseal(job, shop, ZONE, today)
    assert found is not None
    return found


def window(job: Job, shop: Shop = SHOP) -> tuple[str, str]:
    line = due(job, shop=shop)
    return line.due_from.isoformat(), line.due_to.isoformat()


def test_what_was_never_sealed_is_not_due() -> None:
    assert care.reseal(EMPTY, SHOP, ZONE, TODAY) is None


def test_three_to_five_years_from_the_last_coat() -> None:
    job = sealed(sealed(EMPTY, "2023-07-01"), "2023-07-03")
    assert window(job) == ("2026-07-03", "2028-07-03")
    assert window(job, Shop.from_values({"reseal_from_years": 2, "reseal_to_years": 4})) == (
        "2025-07-03",
        "2027-07-03",
    )


@pytest.mark.parametrize(("coat", "opens"), [("2020-02-29", "2023-02-28"), ("2021-02-28", "2024-02-28")])
def test_leap_days(coat: str, opens: str) -> None:
    assert window(sealed(EMPTY, coat))[0] == opens


def test_the_day_is_the_sites() -> None:
    """A coat at 11 in the evening in Chicago is of that day, though the next has begun in UTC."""
    job = sealed(EMPTY, "2023-07-01")
    late = replace(job.entries[0], happened=job.entries[0].happened.replace(day=2, hour=4))
    assert due(replace(job, entries=(late,))).sealed_on == date(2023, 7, 1)


@pytest.mark.parametrize("harsh", ["pool", "salt", "traffic"])
def test_harsh_exposure_is_one_to_three_years(harsh: str) -> None:
    job = logged(sealed(EMPTY, "2025-07-01"), "visit", "2025-07-01", harsh=harsh)
    assert window(job) == ("2026-07-01", "2028-07-01")
    mild = logged(job, "visit", "2025-08-01", harsh="nothing_harsh")
    assert window(mild) == ("2028-07-01", "2030-07-01")


@pytest.mark.parametrize(("site", "area", "words"), [
    ("unknown", "unknown", "no pool, salt or traffic noted; not"),
    ("sun", "unknown", "noted; in sun; not"),
    ("sun", "covered", "noted; under cover; not"),  # the area's own before its site's
    ("unknown", "part shade", "noted; in part shade; not"),
])  # fmt: skip
def test_how_it_lies_is_read_and_moves_no_day(site: Exposure, area: Exposure, words: str) -> None:
    lying = replace(EMPTY, site=replace(EMPTY.site, exposure=site), areas=(replace(FIELD, exposure=area),))
    job = sealed(lying, "2025-07-01")
    assert words in due(job).why
    assert window(job) == ("2028-07-01", "2030-07-01")


def test_a_reseal_that_was_done_beside_a_pool_had_the_window_of_a_pool() -> None:
    job = logged(sealed(EMPTY, "2023-07-01"), "visit", "2023-07-01", harsh="pool")
    done = care.done_since(sealed(job, "2026-06-10", reseal=True), SHOP, ZONE, date(2026, 6, 1), TODAY)
    assert done is not None
    assert (done.due_from, done.due_to) == (date(2024, 7, 1), date(2026, 7, 1))


@pytest.mark.parametrize("condition", ["whitening", "peeling", "tacky", "dull", "worn"])
def test_a_worn_one_is_due_when_it_is_seen(condition: str) -> None:
    job = logged(sealed(EMPTY, "2025-07-01"), "visit", "2026-06-01", condition=condition)
    assert window(job) == ("2026-06-01", "2026-12-01")
    assert due(job).why.startswith(condition.capitalize())
    assert due(job).worn
    again = sealed(job, "2026-06-10", reseal=True)
    assert window(again)[0] == "2029-06-10"


def test_a_clean_one_waits_past_the_years() -> None:
    job = sealed(EMPTY, "2021-07-01")
    assert window(logged(job, "visit", "2023-08-01", condition="clean")) == ("2024-08-01", "2026-07-01")
    assert window(logged(job, "visit", "2026-06-01", condition="clean")) == ("2027-06-01", "2027-12-01")


def test_a_condition_from_before_the_coat_is_over() -> None:
    job = sealed(logged(EMPTY, "visit", "2022-05-01", condition="peeling"), "2023-07-01")
    assert window(job)[0] == "2026-07-01"


def test_a_whole_life_with_the_wipe_at_the_fifth_reseal() -> None:
    """Sealed in 2007, resealed after 3, 7, 11, 15 and 19 years; gallons unknown, so that only the count tells."""
    job = sealed(EMPTY, "2007-07-01", gallons=None)
    seen = []
    for number, year in enumerate((2010, 2014, 2018, 2022, 2026), 1):
        line = due(job, date(year, 6, 16))
        assert line.number == number
        assert line.due_from <= date(year, 7, 1) <= line.due_to
        seen.append(line.wipe)
        job = sealed(job, f"{year}-07-01", reseal=True, gallons=None)
        assert due(job, date(year, 7, 2)).due_from == date(year + 3, 7, 1)
    assert seen == [False, False, False, False, True]
    assert due(job).wipe
    assert not due(sealed(logged(job, "strip", "2029-07-01", how="wiped"), "2029-07-02", reseal=True)).wipe


def test_coats_of_one_visit_are_one_reseal_and_a_forgotten_word_is_none_more() -> None:
    job = sealed(sealed(EMPTY, "2019-07-01"), "2019-07-02")
    job = sealed(sealed(job, "2023-07-01"), "2023-07-02", reseal=True)
    assert due(job).number == 2
    assert due(sealed(EMPTY, "2019-07-01", reseal=True)).number == 2


def test_a_thick_film_is_wiped_whatever_the_count() -> None:
    job = EMPTY
    for day in ("2020-07-01", "2020-07-02", "2023-07-01"):
        job = sealed(job, day, gallons=2.0)
    assert due(job).wipe
    assert "6 mil" in due(job).prepare_why


@pytest.mark.parametrize(
    ("chemistry", "prepare"),
    [
        ("solvent acrylic", "wipe"),
        ("acrylic", "wipe"),
        ("water acrylic", "strip"),
        ("urethane", "strip"),
        ("penetrating", "nothing"),
    ],
)
def test_wiping_melts_solvent_acrylic_only(chemistry: str, prepare: str) -> None:
    job = sealed(EMPTY, "2023-07-01", product=replace(SOLVENT, chemistry=chemistry))
    job = logged(job, "visit", "2026-05-01", condition="whitening")
    assert due(job).prepare == prepare
    if chemistry == "acrylic":
        assert "rag test" in due(job).prepare_why


def test_what_peels_is_stripped() -> None:
    job = logged(sealed(EMPTY, "2023-07-01"), "visit", "2026-05-01", condition="peeling")
    assert (due(job).strip, due(job).wipe) == (True, False)


def test_the_area_that_is_due_first_leads_and_takes_the_others_along() -> None:
    border = Area("a2", "border", area_ft2=70.0)
    job = sealed(replace(EMPTY, areas=(FIELD, border)), "2022-07-01", area="a2")
    job = sealed(job, "2023-08-01", area="a1")
    line = due(job)
    assert (line.due_from.isoformat(), line.number, line.areas) == ("2025-07-01", 1, ("field", "border"))


# what the office said


def test_states_in_their_order_and_the_last_one_counts() -> None:
    job = sealed(EMPTY, "2023-07-01")
    assert due(job).state == "due"
    job = logged(job, "care", "2026-06-01", area=None, state="contacted", note="wants a Friday")
    assert (due(job).state, due(job).note) == ("contacted", "wants a Friday")
    job = logged(job, "care", "2026-06-02", area=None, state="booked", on="2026-07-10")
    assert (due(job).state, due(job).on, due(job).planned) == ("booked", date(2026, 7, 10), False)
    assert due(taken_back(job, 3)).state == "contacted"
    job = logged(job, "care", "2026-06-03", area=None, state="declined")
    assert (due(job).state, due(job).open) == ("declined", False)


def test_asked_again_it_comes_back_on_its_day() -> None:
    job = sealed(EMPTY, "2023-07-01")
    job = logged(job, "care", "2026-06-01", area=None, state="ask_again", on="2027-04-01")
    assert (due(job).state, due(job).on) == ("ask_again", date(2027, 4, 1))
    assert due(job, date(2027, 4, 1)).state == "due"
    open_end = logged(sealed(EMPTY, "2023-07-01"), "care", "2026-01-31", area=None, state="ask_again")
    assert due(open_end, date(2026, 4, 29)).on == date(2026, 4, 30)


def test_a_day_that_is_none_is_no_day() -> None:
    job = logged(sealed(EMPTY, "2023-07-01"), "care", "2026-06-01", area=None, state="booked", on="soon")
    assert due(job).on is None


def test_done_opens_the_next_window_with_or_without_a_coat() -> None:
    job = logged(
        sealed(EMPTY, "2023-07-01"), "care", "2026-06-02", area=None, state="booked", on="2026-06-10"
    )
    coated = sealed(job, "2026-06-10", reseal=True)
    said = logged(job, "care", "2026-06-10", area=None, state="done")
    for done in (coated, said, logged(coated, "care", "2026-06-11", area=None, state="done")):
        assert (due(done).state, due(done).number) == ("due", 2)
        assert due(done).due_from >= date(2029, 6, 10)
        finished = care.done_since(done, SHOP, ZONE, date(2026, 6, 1), TODAY)
        assert finished is not None
        assert (finished.state, finished.uid) == ("done", due(job).uid)
    assert care.done_since(coated, SHOP, ZONE, date(2026, 7, 1), TODAY) is None
    assert care.done_since(job, SHOP, ZONE, date(2000, 1, 1), TODAY) is None


def test_who_said_no_is_left_alone_and_a_new_owner_is_asked() -> None:
    job = sealed(replace(EMPTY, customer=replace(EMPTY.customer, leave_alone=True)), "2023-07-01")
    assert (due(job).state, due(job).left_alone, due(job).open) == ("declined", True, False)
    sold = replace(job, owners=(Owner(Customer("c2", "Bertram Puddlecombe"), date(2025, 1, 1)),))
    assert (due(sold).customer.name, due(sold).open) == ("Bertram Puddlecombe", True)


# names that stay


def test_a_name_stays_and_the_count_of_changes_rises() -> None:
    job = sealed(EMPTY, "2023-07-01")
    first = due(job)
    booked = logged(job, "care", "2026-06-02", area=None, state="booked", on="2026-07-10")
    back = taken_back(booked, 2)
    assert {due(each).uid for each in (booked, back)} == {first.uid}
    assert first.sequence < due(booked).sequence < due(back).sequence
    again = sealed(booked, "2026-07-10", reseal=True)
    assert due(again).uid != first.uid
    assert care.gone(again, SHOP, ZONE, TODAY) == ()
    undone = taken_back(again, 3)
    assert care.gone(undone, SHOP, ZONE, TODAY) == (due(again).uid,)
    assert care.gone(taken_back(job, 1), SHOP, ZONE, TODAY) == (first.uid,)


# months


@pytest.mark.parametrize(
    ("season", "day", "month"),
    [
        ((4, 5, 6, 7, 8, 9, 10), "2026-07-03", (2026, 7)),
        ((4, 5, 6, 7, 8, 9, 10), "2026-11-30", (2027, 4)),
        ((4, 5, 6, 7, 8, 9, 10), "2027-02-01", (2027, 4)),
        ((10, 11, 12, 1, 2, 3), "2026-07-03", (2026, 10)),
    ],
)
def test_the_next_month_in_which_we_seal(season: tuple[int, ...], day: str, month: tuple[int, int]) -> None:
    assert care.open_month(date.fromisoformat(day), season) == month


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("4-10", "Apr to Oct"),
        ("10-3", "Oct to Mar"),
        ("Apr to Jun, sep", "Apr to Jun, Sep"),
        ("1-12", "all year"),
        ("5", "May"),
    ],
)
def test_a_season_as_people_write_it(text: str, words: str) -> None:
    assert season_words(Shop.from_values({"care_months": text}).care_months) == words


def test_what_a_person_took_off_the_plans_day_is_marked() -> None:
    job = sealed(EMPTY, "2023-06-26")
    planned = logged(job, "care", "2026-06-01", state="due", on="2026-07-01", by_plan=True)

    assert not due(planned).moved
    assert not due(logged(planned, "care", "2026-06-02", state="booked", on="2026-07-01")).moved
    assert due(logged(planned, "care", "2026-06-02", state="booked", on="2026-07-08")).moved
    assert due(logged(job, "care", "2026-06-02", state="contacted", on="2026-07-08")).moved
    assert not due(logged(planned, "care", "2026-06-02", state="ask_again", on="2026-12-16")).moved


def test_why_says_what_the_window_rests_on() -> None:
    job = sealed(EMPTY, "2023-06-26")
    usual = "due after 3 to 5 years; no pool, salt or traffic noted"
    assert due(job).why == f"Sealed Jun 26 2023; {usual}; not looked at since."
    salt = logged(job, "visit", "2026-05-01", harsh="salt")
    assert due(salt).why == "Sealed Jun 26 2023; due after 1 to 3 years in salt; not looked at since."
    dull = logged(job, "visit", "2026-05-01", condition="dull")
    assert due(dull).why == f"Dull on May 1 2026, so within 6 months; sealed Jun 26 2023; {usual}."
    clean = logged(job, "visit", "2026-05-01", condition="good")
    assert "so not for 12 months" in due(clean).why


# the edges


@pytest.mark.parametrize(("second", "sealings"), [("2023-07-14", 1), ("2023-07-15", 2)])
def test_coats_two_weeks_apart_are_two_sealings(second: str, sealings: int) -> None:
    job = sealed(sealed(EMPTY, "2023-07-01"), second)
    assert [done.last for done in care.sealings(job.entries, ZONE)][-1] == date.fromisoformat(second)
    assert len(care.sealings(job.entries, ZONE)) == sealings
    assert due(job).number == sealings


def test_a_look_on_the_day_of_the_coat_was_before_it() -> None:
    job = sealed(EMPTY, "2023-07-01")
    assert not due(logged(job, "visit", "2023-07-01", condition="worn")).worn
    assert due(logged(job, "visit", "2023-07-02", condition="worn")).worn


def test_worn_after_its_window_it_has_the_months_from_when_it_was_seen() -> None:
    job = sealed(EMPTY, "2019-07-01")  # closes 2024-07-01
    assert window(logged(job, "visit", "2024-07-01", condition="worn")) == ("2024-07-01", "2024-07-01")
    assert window(logged(job, "visit", "2024-07-02", condition="worn")) == ("2024-07-02", "2025-01-02")
    assert window(logged(job, "visit", "2023-07-01", condition="clean")) == ("2024-07-01", "2024-07-01")
    assert window(logged(job, "visit", "2023-07-02", condition="clean")) == ("2024-07-02", "2025-01-02")


@pytest.mark.parametrize(
    ("years", "words"),
    [((3, 5), "3 to 5 years"), ((2, 2), "2 years"), ((1, 1), "a year"), ((1, 2), "1 to 2 years")],
)
def test_a_span_of_years_in_words(years: tuple[int, int], words: str) -> None:
    shop = Shop.from_values({"reseal_from_years": years[0], "reseal_to_years": years[1]})
    assert f"due after {words}; no pool" in due(sealed(EMPTY, "2023-07-01"), shop=shop).why


@pytest.mark.parametrize(
    ("months", "words"),
    [(0, "worn on May 1 2026; "), (1, "so within 1 month; "), (2, "so within 2 months; ")],
)
def test_months_that_a_condition_gives_in_words(months: int, words: str) -> None:
    shop = Shop(vars(SHOP) | {"reseal_worn_months": months})
    job = logged(sealed(EMPTY, "2023-07-01"), "visit", "2026-05-01", condition="worn")
    assert words in due(job, shop=shop).why[:1].lower() + due(job, shop=shop).why[1:]


@pytest.mark.parametrize(
    ("harsh", "words"), [("pool", "1 to 3 years beside a pool;"), ("traffic", "1 to 3 years in traffic;")]
)
def test_where_it_lies_in_words(harsh: str, words: str) -> None:
    assert words in due(logged(sealed(EMPTY, "2023-07-01"), "visit", "2026-05-01", harsh=harsh)).why


@pytest.mark.parametrize(("reseals", "word"), [(4, "fifth"), (9, "tenth"), (10, "11th"), (12, "13th")])
def test_how_many_since_the_last_wipe(reseals: int, word: str) -> None:
    job = sealed(EMPTY, "2000-07-01", gallons=None)
    for year in range(1, reseals + 1):
        job = sealed(job, f"{2000 + year}-07-01", reseal=True, gallons=None)
    assert due(job).prepare_why.startswith(f"The {word} reseal since the last wipe: wipe")


@pytest.mark.parametrize(
    ("strip", "wipe"),
    [({"how": "wiped"}, False), ({"how": "stripped"}, False), ({"how": "washed"}, True),
     ({"how": "stripped", "extent": "small_patch"}, True)],
)  # fmt: skip
def test_what_counts_as_a_wipe(strip: dict[str, str], wipe: bool) -> None:
    job = sealed(EMPTY, "2000-07-01", gallons=None)
    for year in range(2001, 2005):
        job = sealed(job, f"{year}-07-01", reseal=True, gallons=None)
    assert due(logged(job, "strip", "2004-06-30", **strip)).wipe == wipe


def test_an_area_goes_along_up_to_the_last_day_of_the_one_that_leads() -> None:
    border = Area("a2", "border", area_ft2=70.0)
    job = sealed(replace(EMPTY, areas=(FIELD, border)), "2022-07-01", area="a2")  # due to 2027-07-01
    assert due(sealed(job, "2024-07-01", area="a1")).areas == ("field", "border")
    assert due(sealed(job, "2024-07-02", area="a1")).areas == ("border",)


def test_the_strictest_of_the_areas_says_how_it_is_prepared() -> None:
    border = Area("a2", "border", area_ft2=70.0)
    job = sealed(replace(EMPTY, areas=(FIELD, border)), "2022-07-01", area="a2")
    job = sealed(job, "2023-07-01", area="a1")
    assert due(job).prepare == "nothing"
    white = logged(job, "visit", "2026-05-01", area="a1", condition="whitening")
    assert due(white).prepare == "wipe"
    assert due(logged(white, "visit", "2026-05-02", area="a2", condition="peeling")).prepare == "strip"


def test_the_last_of_two_areas_to_be_done_is_what_was_done() -> None:
    border = Area("a2", "border", area_ft2=70.0)
    job = replace(EMPTY, areas=(FIELD, border))
    for area, first, again in (("a1", "2020-07-01", "2026-05-01"), ("a2", "2021-07-01", "2026-05-20")):
        job = sealed(sealed(job, first, area=area), again, area=area, reseal=True)
    finished = care.done_since(job, SHOP, ZONE, date(2026, 5, 20), TODAY)
    assert finished is not None
    assert (finished.areas, finished.number, finished.on) == (("border",), 1, date(2026, 5, 20))
    assert (finished.sealed_on, finished.due_from, finished.due_to) == (
        date(2021, 7, 1), date(2024, 7, 1), date(2026, 7, 1),
    )  # fmt: skip
    assert care.done_since(job, SHOP, ZONE, date(2026, 5, 21), TODAY) is None
    turned = replace(job, areas=(border, FIELD))
    assert care.done_since(turned, SHOP, ZONE, date(2026, 5, 1), TODAY) == finished


def test_a_reseal_of_what_was_never_logged_before_stands_by_its_own_days() -> None:
    job = sealed(sealed(EMPTY, "2026-06-01", reseal=True), "2026-06-03", reseal=True)
    finished = care.done_since(job, SHOP, ZONE, date(2026, 6, 1), TODAY)
    assert finished is not None
    assert (finished.sealed_on, finished.due_from, finished.due_to, finished.number) == (
        date(2026, 6, 1), date(2026, 6, 1), date(2026, 6, 3), 1,
    )  # fmt: skip


def test_the_book_has_a_booked_day_else_the_first_open_month() -> None:
    season = (4, 5, 6, 7, 8, 9, 10)
    job = sealed(EMPTY, "2023-12-01")  # opens 2026-12-01
    assert care.month_of(due(job), TODAY, season) == (2027, 4)
    assert care.month_of(due(sealed(EMPTY, "2021-07-01")), TODAY, season) == (2026, 6)  # open already
    booked = logged(job, "care", "2026-06-02", area=None, state="booked", on="2026-11-20")
    assert care.month_of(due(booked), TODAY, season) == (2026, 11)


@pytest.mark.parametrize(
    ("fact", "day"),
    [("1900-01-01", date(1900, 1, 1)), ("2199-12-31", date(2199, 12, 31)), ("1899-12-31", None),
     ("2200-01-01", None), ("soon", None), (20260616, None), (None, None)],
)  # fmt: skip
def test_a_day_kept_as_text(fact: object, day: date | None) -> None:
    assert care.day_of(fact) == day


def test_asked_again_without_a_note_says_from_when() -> None:
    job = logged(
        sealed(EMPTY, "2023-07-01"), "care", "2026-01-31", area=None, state="ask_again", on="2026-06-16"
    )
    assert due(job).note == "ask again from Jun 16 2026"
    said = logged(sealed(EMPTY, "2023-07-01"), "care", "2026-01-31", area=None, state="ask_again", on="2026-06-16",
                  note="back from the coast")  # fmt: skip
    assert due(said).note == "back from the coast"


def test_each_area_is_prepared_by_what_is_on_it() -> None:
    border = Area("a2", "border", area_ft2=70.0)
    job = sealed(replace(EMPTY, areas=(FIELD, border)), "2023-07-01", area="a1")
    job = sealed(job, "2023-07-02", area="a2", product=replace(SOLVENT, chemistry="urethane"))
    for area, prepare in ((FIELD, "wipe"), (border, "strip")):
        white = logged(job, "visit", "2026-05-01", area=area.uid, condition="whitening")
        found = care.window(white, area, SHOP, ZONE)
        assert found is not None
        assert found.prepare == prepare
