"""The film on a slab, from its coats since the last strip."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction as F

from finishlog.records.care import FilmNow
from finishlog.records.log import Coat, Job, MaterialUse
from finishlog.records.shop import Shop
from finishlog.trade.sealing.chemistry import chemistry_on
from finishlog.trade.sealing.film import film_now
from tests.trade.care_build import EMPTY, FIELD, SOLVENT, ZONE, logged, sealed

SHOP = Shop.from_values({})
COAT = F(231000, 144) * F(2, 400) / 4
"""2 gal on 400 ft2 at 25 %: 1604.1667 mil·ft2/gal × 1/200 × 1/4 = 2.0052 mil (exact)."""


def film(job: Job) -> FilmNow:
    return film_now(job, FIELD, SHOP, ZONE)


def test_a_bare_slab_has_none() -> None:
    assert film(EMPTY) == FilmNow(F(0), False, 0, 0, None, False)


def test_coats_add_up_and_the_alarm_goes_over_six_mil() -> None:
    # Film alarm at 6 mil in all: common practice, no source; a setting.
    two = sealed(sealed(EMPTY, "2020-06-01"), "2020-06-02")
    assert film(two).dry_mil == 2 * COAT
    assert not film(two).over
    three = sealed(two, "2023-06-01", reseal=True)
    assert film(three).dry_mil == 3 * COAT
    assert film(three).over
    assert not film_now(three, FIELD, Shop.from_values({"film_alarm_mil": "7"}), ZONE).over


def test_what_is_not_known_is_at_least() -> None:
    job = sealed(sealed(EMPTY, "2020-06-01"), "2020-06-02", gallons=None)
    assert (film(job).dry_mil, film(job).at_least, film(job).unknown) == (COAT, True, 1)
    alone = sealed(EMPTY, "2020-06-01", product=replace(SOLVENT, solids_percent=None))
    assert (film(alone).dry_mil, film(alone).at_least) == (None, True)


def test_a_coats_own_facts_and_units_count() -> None:
    use = MaterialUse(replace(SOLVENT, solids_percent=None), 256.0, "fl oz")
    job = logged(EMPTY, "seal", "2020-06-01", coat=Coat(), use=use, solids_percent=25)
    assert film(job).dry_mil == COAT


def test_a_strip_begins_anew_a_wipe_leaves_something_a_patch_nothing() -> None:
    job = sealed(sealed(EMPTY, "2020-06-01"), "2020-06-02")
    assert film(logged(job, "strip", "2024-05-01", how="stripped")).dry_mil == 0
    wiped = film(logged(job, "strip", "2024-05-01", how="wiped"))
    assert (wiped.dry_mil, wiped.at_least) == (0, True)
    assert film(logged(job, "strip", "2024-05-01", how="stripped", extent="small_patch")).dry_mil == 2 * COAT
    assert film(logged(job, "strip", "2024-05-01", how="washed")).dry_mil == 2 * COAT


def test_a_measured_film_is_what_counts_from_then_on() -> None:
    job = logged(sealed(EMPTY, "2020-06-01", gallons=None), "visit", "2023-05-01", film_mil=4.5)
    assert film(job).dry_mil == F("4.5")
    assert film(sealed(job, "2023-06-01", reseal=True)).dry_mil == F("4.5") + COAT


def test_a_penetrating_sealer_leaves_no_film() -> None:
    job = sealed(EMPTY, "2020-06-01", product=replace(SOLVENT, chemistry="penetrating"))
    assert film(job).dry_mil == 0


def test_what_is_on_a_slab() -> None:
    assert chemistry_on(EMPTY, "a1") == "none"
    job = sealed(EMPTY, "2020-06-01")
    assert chemistry_on(job, "a1") == "solvent_acrylic"
    vague = sealed(EMPTY, "2020-06-01", product=replace(SOLVENT, chemistry="acrylic"))
    assert chemistry_on(vague, "a1") is None
    assert chemistry_on(logged(vague, "visit", "2021-01-01", rag_test="softens"), "a1") == "solvent_acrylic"
    assert chemistry_on(logged(vague, "visit", "2021-01-01", old_film="urethane"), "a1") == "urethane"
    assert chemistry_on(logged(job, "strip", "2021-01-01", how="stripped"), "a1") == "none"


def test_the_surface_is_the_coats_own_else_its_areas() -> None:
    border = replace(FIELD, uid="a2", name="border", area_ft2=100.0)
    job = replace(EMPTY, areas=(FIELD, border))
    use = MaterialUse(SOLVENT, 2.0, "gal")
    assert film(logged(job, "seal", "2020-06-01", use=use)).dry_mil == COAT
    whole = logged(job, "seal", "2020-06-01", area=None, use=use)
    assert film(whole).dry_mil == COAT * F(400, 500)
    unknown = replace(job, areas=(FIELD, replace(border, area_ft2=None)))
    assert film(logged(unknown, "seal", "2020-06-01", area=None, use=use)).dry_mil is None


def test_two_sealers_of_one_coat_are_known_only_together() -> None:
    two = logged(EMPTY, "seal", "2020-06-01", coat=Coat(area_ft2=400.0), use=MaterialUse(SOLVENT, 1.0, "gal"))
    [entry] = two.entries
    more = replace(entry, materials=(*entry.materials, MaterialUse(SOLVENT, 128.0, "fl oz")))
    assert film(replace(two, entries=(more,))).dry_mil == COAT
    odd = replace(entry, materials=(*entry.materials, MaterialUse(SOLVENT, None, "gal")))
    assert film(replace(two, entries=(odd,))).dry_mil is None


def test_only_a_whole_strip_bares_a_slab_and_only_an_unknown_film_is_told_by_a_rag() -> None:
    job = sealed(EMPTY, "2020-06-01", product=replace(SOLVENT, chemistry="urethane"))
    assert (
        chemistry_on(logged(job, "strip", "2021-01-01", how="stripped", extent="small_patch"), "a1")
        == "urethane"
    )
    assert chemistry_on(logged(job, "strip", "2021-01-01", how="wiped"), "a1") == "urethane"
    assert chemistry_on(logged(job, "visit", "2021-01-01", rag_test="softens"), "a1") == "urethane"
    assert chemistry_on(logged(job, "visit", "2021-01-01", old_film="unknown"), "a1") == "urethane"
    carrier = logged(
        EMPTY,
        "seal",
        "2020-06-01",
        use=MaterialUse(SOLVENT, 2.0, "gal"),
        carrier="water",
        chemistry="acrylic",
    )
    assert chemistry_on(carrier, "a1") == "water_acrylic"


def test_a_film_of_just_six_mil_is_not_over_and_a_reseal_only_called_done_is_unknown() -> None:
    measured = logged(EMPTY, "visit", "2023-05-01", film_mil=6)
    assert not film(measured).over
    assert film(logged(EMPTY, "visit", "2023-05-01", film_mil=6.1)).over
    assert str(film(measured).since) == "2023-05-01"
    done = film(logged(measured, "care", "2024-05-01", state="done"))
    assert (done.coats, done.unknown, done.at_least, done.dry_mil) == (1, 1, True, 6)
