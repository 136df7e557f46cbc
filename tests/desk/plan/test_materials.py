"""What a plan weighs in and coats: taken from the reference as placed, through the log's floats."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from fractions import Fraction as F
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.desk.placed.placed import as_placed
from finishlog.desk.plan.differences import differences
from finishlog.desk.plan.materials import pigment, sealer
from finishlog.errors import LimitError
from finishlog.records.log import (
    Area,
    Coat,
    Customer,
    Entry,
    Job,
    Load,
    MaterialUse,
    Mix,
    Product,
    Reading,
    Site,
)
from finishlog.records.placed import AsPlaced
from finishlog.records.plan import PlanRequest
from finishlog.records.shop import Shop
from finishlog.units import ounces, read_content_lb_per_yd3

ZONE = ZoneInfo("America/Chicago")
POURED = datetime(2026, 6, 4, 15, 5, tzinfo=UTC)
BISCUIT = Product("p1", "Wet Biscuit", "pigment", "Loamworks", max_percent_of_cement=8, pack_lb=5)
SOOT = Product("p2", "Lamp Soot", "pigment", "Loamworks", pack_lb=25)
BADGER = Product("p3", "Slick Badger", "sealer", solids_percent=25)
FIELD = Area("a1", "patio", area_ft2=276, depth_in=4)
REQUEST = PlanRequest("gravelpit-patio", (), "4")


def reference(
    *uses: tuple[Product, float], mix: Mix | None = None, coats: tuple[Entry, ...] = ()
) -> AsPlaced:
    materials = tuple(MaterialUse(product, pounds, "lb", "K-131") for product, pounds in uses)
    load = Entry(1, "e1", "load", POURED, POURED, materials=materials, load=Load(5.0, mix=mix))
    stamp = Entry(2, "e2", "stamp", POURED, POURED, facts={"pattern": "ashlar slate"})
    entries = (load, stamp, *coats)
    job = Job("j1", "gravelpit-patio", "patio", Customer("c1", "Gravelpit"), Site("s1", "1 Kettle Row"),
              areas=(FIELD,), entries=entries, history=entries)  # fmt: skip
    return as_placed(job, FIELD, ZONE)


def said(request: PlanRequest, placed: AsPlaced, system: str = "us") -> dict[str, str]:
    plan = pigment(request, placed, [F(4)])
    found = differences(request, date(2027, 4, 12), placed, plan, system)
    return {difference.key: difference.text for difference in found}


def test_the_same_cement_in_metric_is_no_difference() -> None:
    cement = read_content_lb_per_yd3("335 kg/m3")
    placed = reference((BISCUIT, 90), mix=Mix("m1", cement_lb_per_yd3=float(cement)))
    request = replace(REQUEST, cement_lb_per_yd3=cement)
    plan = pigment(request, placed, [F(4)])
    assert plan is not None
    assert (plan.kept, plan.dose_lb_per_yd3, plan.other_dose_lb_per_yd3) == ("ratio", 18, None)
    assert not {"cement_content", "dose"} & said(request, placed).keys()


def test_a_float_sum_of_cement_and_the_rest_is_no_difference() -> None:
    # 480.1 + 84.2 is 564.3000000000001 in floats.
    placed = reference((BISCUIT, 90), mix=Mix("m1", cement_lb_per_yd3=480.1, scm_lb_per_yd3=84.2))
    request = replace(REQUEST, cement_lb_per_yd3=F("480.1"), scm_lb_per_yd3=F("84.2"))
    plan = pigment(request, placed, [F(4)])
    assert plan is not None
    assert plan.other_dose_lb_per_yd3 is None


def test_the_rest_of_the_powder_that_was_not_given_is_not_left_out_in_silence() -> None:
    placed = reference((BISCUIT, 90), mix=Mix("m1", cement_lb_per_yd3=480, scm_lb_per_yd3=84))
    texts = said(replace(REQUEST, cement_lb_per_yd3=F(480)), placed)
    assert texts["scm"] == "not given, so the old 84 lb/yd³ is kept; ask the plant"
    assert "scm" not in said(REQUEST, placed)
    assert "scm" not in said(replace(REQUEST, cement_lb_per_yd3=F(480), scm_lb_per_yd3=F(84)), placed)


def test_the_cement_alone_leaves_the_pounds_that_the_fly_ash_was_part_of() -> None:
    placed = reference((BISCUIT, 90), mix=Mix("m1", cement_lb_per_yd3=517, scm_lb_per_yd3=84))
    unsaid, same = (
        pigment(REQUEST, placed, [F(4)]),
        pigment(replace(REQUEST, cement_lb_per_yd3=F(517)), placed, [F(4)]),
    )
    none = pigment(replace(REQUEST, cement_lb_per_yd3=F(517), scm_lb_per_yd3=F(0)), placed, [F(4)])
    assert unsaid is not None
    assert same is not None
    assert none is not None
    assert unsaid.total_lb == same.total_lb == 72
    assert same.other_dose_lb_per_yd3 is None
    assert none.total_lb == F(72) * 517 / 601


def test_other_cementitious_of_mixes_that_differ_is_asked_and_the_pounds_by_the_yard_kept() -> None:
    placed = reference((BISCUIT, 90), mix=Mix("m1", cement_lb_per_yd3=517, scm_lb_per_yd3=84))
    placed = replace(placed, mixes=(*placed.mixes, Mix("m2", cement_lb_per_yd3=601)))
    request = replace(REQUEST, cement_lb_per_yd3=F(700))
    plan = pigment(request, placed, [F(4)])
    assert plan is not None
    assert (plan.kept, plan.total_lb) == ("lb/yd3", 72)
    assert said(request, placed)["scm"] == (
        "not given; was 0 lb/yd³ and 84 lb/yd³, unknown which to keep, so the old dose per yard is kept: "
        "ask the plant"
    )


def test_what_changed_reads_in_order_of_time() -> None:
    old = Mix("m1", plant="Ash Fork", number="7", cement_kind="Type I/II", cement_lb_per_yd3=517)
    new = replace(old, uid="m2", cement_kind="Type IL")
    placed = reference((BISCUIT, 90), mix=old)
    request = replace(
        REQUEST, cement_kind="Type IL", plant="Cold Kettle", lots=("K-200",), makers=("Otherworks",)
    )
    found = differences(request, date(2027, 4, 12), placed, None, sent=[(new, date(2027, 3, 1))])
    texts = {each.key: each.text for each in found}
    assert texts["cement"] == "was Type I/II, now Type IL"
    assert texts["plant"] == "was Ash Fork, now Cold Kettle"
    assert texts["season"] == "was summer, now spring"
    assert texts["maker"].startswith("was Loamworks, now Otherworks: ")
    assert texts["mix_switched_since"] == (
        "Ash Fork, mix 7: was Type I/II, now Type IL, since Mar 1 2027; ask before ordering"
    )


def test_differences_are_said_in_metric_too() -> None:
    placed = reference((BISCUIT, 90), mix=Mix("m1", cement_lb_per_yd3=564))
    texts = said(replace(REQUEST, cement_lb_per_yd3=F(600)), placed, "metric")
    assert texts["cement_content"] == "was 335 kg/m³, now 356 kg/m³"
    assert texts["dose"] == "was 10.68 kg/m³, now 11.36 kg/m³: keeps the ratio to cementitious"


def test_a_reference_at_its_limit_can_be_matched_and_one_over_it_says_so() -> None:
    mix = Mix("m1", cement_lb_per_yd3=500)
    at, over = reference((BISCUIT, 200), mix=mix), reference((BISCUIT, 201), mix=mix)
    request = replace(REQUEST, cement_lb_per_yd3=F(500))
    plan = pigment(request, at, [F(4)])
    assert plan is not None
    assert plan.percent_of_cement == 8
    with pytest.raises(LimitError, match=r"8.04 % of cement is over the limit of 8 %"):
        pigment(request, over, [F(4)])
    assert "a plan over the limit is refused" in said(REQUEST, over)["limit"]
    assert "limit" not in said(REQUEST, at)


def test_a_blend_is_weighed_and_packed_part_by_part() -> None:
    plan = pigment(REQUEST, reference((BISCUIT, 71.3), (SOOT, 33.1)), [F(9), F(4), F("2.25")])
    assert plan is not None
    assert [part.name for part in plan.parts] == ["Wet Biscuit", "Lamp Soot"]
    for part, pack in zip(plan.parts, (5, 25), strict=True):
        assert [load.pigment_lb for load in part.loads] == list(part.loads_lb)
        assert abs(sum(part.loads_lb) * 16 - ounces(part.total_lb)) <= 1
        for load in part.loads:
            assert load.packs is not None
            assert load.remainder_lb is not None
            assert load.packs * pack + load.remainder_lb == load.pigment_lb
    for i, load in enumerate(plan.loads):
        assert sum(part.loads_lb[i] for part in plan.parts) == load.pigment_lb


def test_logged_sealer_went_over_the_relief_already() -> None:
    def coat(number: int, gallons: float, *, reseal: bool = False) -> Entry:
        use = (MaterialUse(BADGER, gallons, "gal"),)
        coat = Coat(number, reseal, area_ft2=276)
        return Entry(9 + number, f"c{number}", "seal", POURED, POURED, materials=use, coat=coat)

    placed = reference((BISCUIT, 90), coats=(coat(1, 1.5), coat(2, 1.0), coat(3, 1.0, reseal=True)))
    shop = Shop.from_values({})
    plan = sealer(placed, F(276), shop)
    assert plan.relief_percent == 10
    assert [c.gal for c in plan.coats] == [F("1.5"), 1]
    assert plan.old_slab_gal == 1  # what the last coat took
    assert plan.coats[1].wet_mil == F(231 * 1000, 144) / (F(276) * F("1.1"))
    unknown = sealer(reference((BISCUIT, 90)), F(225), shop)
    assert [c.gal for c in unknown.coats] == [F("1.1"), F(225) * F("1.1") / 300]


def test_the_limit_is_on_the_pigment_in_a_liquid() -> None:
    """100 lb/yd3 of a liquid at 40 % solids are 40 lb of pigment on 480 lb of cement; with 121 lb it is too much."""
    soup = Product("p4", "Soot Soup", "pigment", "Loamworks", form="liquid", solids_percent=40)
    mix = Mix("m1", cement_lb_per_yd3=480, scm_lb_per_yd3=0)
    request = replace(REQUEST, cement_lb_per_yd3=F(480))
    held = reference((soup, 100 * 5), mix=mix)
    assert not held.over_limit
    plan = pigment(request, held, [F(4)])
    assert plan is not None
    assert (plan.dose_lb_per_yd3, plan.percent_of_cement) == (100, F(100 * 40, 480))
    assert plan.loads[0].pigment_lb == 400
    assert reference((soup, 121 * 5), mix=mix).over_limit
    with pytest.raises(LimitError):
        pigment(request, reference((soup, 121 * 5), mix=mix), [F(4)])


def test_a_powder_with_a_figure_for_solids_is_all_pigment() -> None:
    powder = Product("p4", "Soot", "pigment", solids_percent=40)
    assert reference((powder, 100 * 5), mix=Mix("m1", cement_lb_per_yd3=480)).over_limit


@given(
    st.lists(st.fractions(F(1, 1000), F(1, 2), max_denominator=1000), min_size=2, max_size=7),
    st.lists(st.sampled_from((F(1), F(2), F("3.25"), F("8.5"))), min_size=1, max_size=4),
)
def test_parts_are_never_less_than_nothing_and_sum_to_their_load(doses: list[F], yards: list[F]) -> None:
    """Four pinches that each round up to an ounce are more than the load has."""
    pigments = [(Product(f"p{i}", f"Pinch {i}", "pigment"), float(d) * 5) for i, d in enumerate(doses)]
    plan = pigment(REQUEST, reference(*pigments), yards)
    assert plan is not None
    assert all(pounds >= 0 for part in plan.parts for pounds in part.loads_lb)
    for i, load in enumerate(plan.loads):
        assert sum(part.loads_lb[i] for part in plan.parts) == load.pigment_lb


def test_four_pinches() -> None:
    pinches = [(Product(f"p{i}", f"Pinch {i}", "pigment"), 5 * (0.036 + i / 1000)) for i in range(5)]
    plan = pigment(REQUEST, reference(*pinches), [F(1)])
    assert plan is not None
    assert sorted(part.loads_lb[0] * 16 for part in plan.parts) == [0, 0, 1, 1, 1]


def test_a_day_before_the_old_pour_is_asked() -> None:
    placed = reference((BISCUIT, 50))
    on = {d.key: d for d in differences(REQUEST, date(2026, 5, 1), placed, None)}
    assert (on["day"].weight, on["day"].text) == (
        "ask", "May 1 2026 is before the old slab was poured, Jun 4 2026: which day is it?",
    )  # fmt: skip
    assert "day" not in {d.key for d in differences(REQUEST, date(2026, 6, 4), placed, None)}


@pytest.mark.parametrize(
    ("lots", "new", "asked"),
    [
        ((), "", ()),
        (("K-131",), "", ("Lot of Otter Back",)),
        (("R-77",), "", ("Lot of Wet Biscuit",)),
        (("k-131", "R-77"), "", ()),
        (("K-999",), "K-999", ("Lot of Otter Back",)),
        (("K-999", "R-88"), "K-999 and R-88", ()),
        (("K-131", "R-88"), "R-88", ()),
    ],
)
def test_the_lot_that_was_not_said_is_asked(lots: tuple[str, ...], new: str, asked: tuple[str, ...]) -> None:
    placed = replace(reference((BISCUIT, 50)), release="Otter Back", release_lots=("R-77",))
    found = differences(replace(REQUEST, lots=lots), date(2027, 4, 12), placed, None)
    assert tuple(d.title for d in found if d.key == "lot_unsaid") == asked
    acts = [d.text for d in found if d.key == "lot" and d.weight == "act"]
    assert [text.startswith(f"was K-131 and R-77, now {new}: ") for text in acts] == ([True] if new else [])


@pytest.mark.parametrize(("base", "release", "asked"), [(62, 44, False), (44, 44, False), (44, 62, True)])
def test_an_accent_lighter_than_its_base_is_asked(base: float, release: float, asked: bool) -> None:
    """Common practice, no source: the accent is a darker shade than the base."""
    placed = replace(
        reference((BISCUIT, 50)),
        base_reading=Reading(base, 4, 16),
        release_reading=Reading(release, 4, 9),
    )
    keys = {each.key for each in differences(REQUEST, date(2027, 4, 12), placed, None)}
    assert ("accent" in keys) == asked
