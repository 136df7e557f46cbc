"""Jobs written and read back: everything that was given comes back, as a frozen value."""

from dataclasses import replace
from datetime import UTC, date, datetime
from unittest.mock import patch

import pytest

from finishlog.errors import InputError
from finishlog.records.log import Coat, Reading, Shape
from finishlog.records.shop import Shop
from finishlog.records.writing import (
    NewAdvice,
    NewArea,
    NewBuried,
    NewCustomer,
    NewEntry,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewMix,
    NewProduct,
    NewRecipe,
    NewSite,
    NewStage,
    NewStageMaterial,
)
from finishlog.store import Log
from finishlog.trade import events
from finishlog.trade.stages import kind

BISCUIT = NewProduct("Wet Biscuit", "pigment", "Moonhill Colors", "powder", None, 8.0, 5.0)
OTTER = NewProduct("Otter Back", "powder release", "Moonhill Colors")
RECIPE = NewRecipe(
    "biscuit and otter",
    (
        NewStage("integral_color", {}, (NewStageMaterial(BISCUIT, "B-7", 4.0, "%"),)),
        NewStage("stamp", {"pattern": "ashlar slate"}),
    ),
)
FIELD = NewArea(
    "field",
    "field",
    "sun",
    400.0,
    4.0,
    0.25,
    RECIPE,
    shapes=(Shape(1, "rect", "25x16"), Shape(-1, "circle", "2")),
)
JOB = NewJob(
    "back patio",
    NewCustomer("Ines Puddlecombe", "555-0101", "ines@example.com", "calls at noon"),
    NewSite("12 Teakettle Lane", "Nowhere Falls", "America/Chicago", "part shade", "gate on the left"),
    areas=(FIELD, NewArea("border", "border", area_ft2=40.0, depth_in=4.0)),
    buried=(NewBuried("gas line", "along the fence", 18.0),),
    note="slopes to the drain",
)
MIX = NewMix(
    "Stoneport", "4021", "Type IL", "Old Mill", 451.0, "fly ash", 113.0, "air", "river", date(2025, 1, 1)
)
MORNING = datetime(2025, 5, 14, 13, 30, tzinfo=UTC)


def test_a_job_comes_back_as_it_was_given(log: Log) -> None:
    with log.writing() as writer:
        made = writer.add_job(JOB)
    with log.reading() as reader:
        job = reader.job("ines-puddlecombe-back-patio")
    assert job == made
    assert (job.customer.name, job.customer.phone, job.customer.email) == (
        "Ines Puddlecombe",
        "555-0101",
        "ines@example.com",
    )
    assert (job.site.street, job.site.town, job.site.zone, job.site.exposure, job.site.map_note) == (
        "12 Teakettle Lane",
        "Nowhere Falls",
        "America/Chicago",
        "part shade",
        "gate on the left",
    )
    assert job.note == "slopes to the drain"
    field, border = job.areas
    assert (field.area_ft2, field.depth_in, field.edge_yd3, field.exposure) == (400.0, 4.0, 0.25, "sun")
    assert field.shapes == (Shape(1, "rect", "25x16"), Shape(-1, "circle", "2"))
    assert border.recipe is None
    assert border.edge_yd3 is None
    assert field.recipe is not None
    color, stamp = field.recipe.stages
    assert stamp.params == {"pattern": "ashlar slate"}
    (planned,) = color.materials
    assert (planned.lot, planned.rate, planned.unit) == ("B-7", 4.0, "%")
    assert (planned.product.name, planned.product.maker) == ("Wet Biscuit", "Moonhill Colors")
    assert (planned.product.max_percent_of_cement, planned.product.pack_lb) == (8.0, 5.0)
    assert [(b.what, b.where, b.depth_in) for b in job.buried] == [("gas line", "along the fence", 18.0)]


def test_an_entry_comes_back_with_every_detail(log: Log) -> None:
    load = NewLoad(
        5.5,
        0.25,
        0.5,
        "T-1029",
        MIX,
        3.0,
        "after the color",
        4.5,
        5.0,
        True,
        (("Field", 4.75), ("border", None)),
    )
    with log.writing() as writer:
        handle = writer.add_job(JOB).handle
        placed = writer.add_entry(
            handle,
            NewEntry("load", MORNING, "about", "field", "Ada", "late truck",
                     facts={"drum_turns": 40, "hot": True},
                     materials=(NewMaterialUse(BISCUIT, 120.25, "lb", "B-7", True),), load=load),
        )  # fmt: skip
        coat = writer.add_entry(
            handle, NewEntry("seal", MORNING, coat=Coat(1, True, 440.0, 71.0, 75.0, 40.0))
        )
        read = writer.add_entry(
            handle,
            NewEntry(
                "reading",
                MORNING,
                reading=Reading(62.5, 5.5, 15.25, 1.0, 0.5, 0.25, "release color", True, True, "chip"),
            ),
        )
    with log.reading() as reader:
        job = reader.job(handle)
    assert job.entries == (placed, coat, read)
    entry = job.entries[0]
    assert (entry.number, entry.kind, entry.exactness, entry.person, entry.note) == (
        1,
        "load",
        "about",
        "Ada",
        "late truck",
    )
    assert entry.happened == MORNING
    assert entry.logged > entry.happened
    assert entry.area == job.areas[0].uid
    assert entry.facts == {"drum_turns": 40, "hot": True}
    (use,) = entry.materials
    assert (use.product.name, use.amount, use.unit, use.lot, use.reclaimed) == (
        "Wet Biscuit",
        120.25,
        "lb",
        "B-7",
        True,
    )
    got = entry.load
    assert got is not None
    assert (got.yards, got.returned_yd3, got.dumped_yd3, got.ticket) == (5.5, 0.25, 0.5, "T-1029")
    assert (got.water_gal, got.water_when, got.slump_in, got.slump_end_in, got.is_balance) == (
        3.0,
        "after the color",
        4.5,
        5.0,
        True,
    )
    assert got.areas == ((job.areas[0].uid, 4.75), (job.areas[1].uid, None))
    mix = got.mix
    assert mix is not None
    assert (mix.plant, mix.number, mix.cement_kind, mix.cement_mill) == (
        "Stoneport",
        "4021",
        "Type IL",
        "Old Mill",
    )
    assert (mix.cement_lb_per_yd3, mix.scm_kind, mix.scm_lb_per_yd3) == (451.0, "fly ash", 113.0)
    assert (mix.admixtures, mix.sand, mix.valid_from, mix.valid_to) == (
        "air",
        "river",
        date(2025, 1, 1),
        None,
    )
    assert job.entries[1].coat == Coat(1, True, 440.0, 71.0, 75.0, 40.0)
    assert job.entries[2].reading == Reading(
        62.5, 5.5, 15.25, 1.0, 0.5, 0.25, "release color", True, True, "chip"
    )


def test_a_stub_of_three_facts_is_kept(log: Log) -> None:
    with log.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer("Bo"), NewSite("Owl Hollow")))
    with log.reading() as reader:
        (line,) = reader.lines()
    assert (line.customer, line.street, line.town, line.base, line.poured_on) == (
        "Bo",
        "Owl Hollow",
        None,
        None,
        None,
    )


def test_handles_are_made_unique(log: Log) -> None:
    with log.writing() as writer:
        handles = [writer.add_job(JOB).handle for _ in range(3)]
        odd = writer.add_job(NewJob("·", NewCustomer("雪"), NewSite("x"))).handle
    assert handles == [f"ines-puddlecombe-back-patio{end}" for end in ("", "-2", "-3")]
    assert odd == "job"


@pytest.mark.parametrize("handle", ["Has Space", "", "a/b", "x" * 61, "ünder"])
def test_a_given_handle_is_checked(log: Log, handle: str) -> None:
    with pytest.raises(InputError, match="Not a valid handle"), log.writing() as writer:
        writer.add_job(NewJob("p", NewCustomer("c"), NewSite("s"), handle=handle))


def test_the_same_people_and_products_are_found_again(log: Log) -> None:
    with log.writing() as writer:
        one = writer.add_job(JOB)
        two = writer.add_job(
            NewJob("side yard", NewCustomer("INES  puddlecombe"), NewSite("12 teakettle lane"),
                   areas=(NewArea("field", recipe=RECIPE),))
        )  # fmt: skip
    assert (two.customer, two.site) == (one.customer, one.site)
    assert two.buried == one.buried
    first, second = one.areas[0].recipe, two.areas[0].recipe
    assert first is not None
    assert second is not None
    assert first.uid != second.uid
    assert first.stages[0].materials[0].product == second.stages[0].materials[0].product


def test_a_name_shared_by_two_people_is_two_customers(log: Log) -> None:
    with log.writing() as writer:
        one = writer.add_job(NewJob("a", NewCustomer("Ann Lark", phone="555-0101"), NewSite("1 Owl Hollow")))
        two = writer.add_job(NewJob("b", NewCustomer("Ann Lark", phone="555-0102"), NewSite("9 Owl Hollow")))
    assert one.customer.uid != two.customer.uid


def test_a_street_without_its_town_is_no_site_of_somebody_else(log: Log) -> None:
    with log.writing() as writer:
        one = writer.add_job(NewJob("a", NewCustomer("Ann Lark"), NewSite("1 Main Street", "Upper Nonesuch")))
        two = writer.add_job(NewJob("b", NewCustomer("Bo Finch"), NewSite("1 Main Street")))
        three = writer.add_job(NewJob("c", NewCustomer("Cy Wren"), NewSite("1 Main Street", "Elsewhere")))
    assert len({one.site.uid, two.site.uid, three.site.uid}) == 3


def test_a_shade_of_another_maker_is_another_product(log: Log) -> None:
    other = NewProduct("Wet Biscuit", "pigment", "Tin Roof Tints")
    bare = NewProduct("Wet Biscuit", "pigment")
    with log.writing() as writer:
        handle = writer.add_job(JOB).handle
        for product in (other, bare, bare):
            writer.add_entry(handle, NewEntry("load", MORNING, materials=(NewMaterialUse(product),)))
        assert sorted(str(p.maker) for p in writer.products("pigment")) == [
            "Moonhill Colors",
            "None",
            "Tin Roof Tints",
        ]


def test_what_is_unknown_is_filled_in_and_what_is_known_stays(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(JOB).handle
        more = NewProduct("otter back", "powder release", "moonhill colors", pack_lb=30.0, chemistry="lime")
        less = NewProduct("Otter Back", "powder release", "Moonhill Colors", pack_lb=99.0)
        for product in (OTTER, more, less):
            writer.add_entry(
                handle, NewEntry("powder_release", MORNING, materials=(NewMaterialUse(product),))
            )
        (kept,) = writer.products("powder release")
    assert (kept.name, kept.pack_lb, kept.chemistry) == ("Otter Back", 30.0, "lime")


def test_a_ticket_that_names_only_the_plant_borrows_no_cement(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(JOB).handle
        whole = writer.add_entry(handle, NewEntry("load", MORNING, load=NewLoad(mix=MIX)))
        bare = writer.add_entry(handle, NewEntry("load", MORNING, load=NewLoad(mix=NewMix("Stoneport"))))
        again = writer.add_entry(handle, NewEntry("load", MORNING, load=NewLoad(mix=MIX)))
    assert whole.load is not None
    assert bare.load is not None
    assert again.load is not None
    assert bare.load.mix is not None
    assert bare.load.mix.cement_lb_per_yd3 is None
    assert again.load.mix == whole.load.mix


def test_a_recipe_is_shared_by_uid_and_derived_by_name(log: Log) -> None:
    with log.writing() as writer:
        first = writer.add_job(JOB).areas[0].recipe
        assert first is not None
        new = writer.add_job(
            NewJob("addition", NewCustomer("Bo"), NewSite("s"), state="planned",
                   reference="ines-puddlecombe-back-patio",
                   areas=(NewArea("field", recipe_uid=first.uid),
                          NewArea("border", recipe=NewRecipe("again", from_recipe=first.uid))))
        )  # fmt: skip
    shared, derived = (area.recipe for area in new.areas)
    assert shared == first
    assert derived is not None
    assert derived.from_recipe == first.uid
    assert new.reference == "ines-puddlecombe-back-patio"


def test_a_second_area_of_one_name_is_refused(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(JOB).handle
        assert writer.add_area(handle, NewArea("steps", "stairs")).kind == "stairs"
        with pytest.raises(InputError, match="already has an area"):
            writer.add_area(handle, NewArea("FIELD"))


@pytest.mark.parametrize("bad", ["", "   ", "nul\0", "half \ud800", "x" * 301])
def test_a_name_that_is_no_text_is_refused(log: Log, bad: str) -> None:
    with pytest.raises(InputError), log.writing() as writer:
        writer.add_job(NewJob("patio", NewCustomer(bad), NewSite("s")))
    with log.reading() as reader:
        assert reader.count() == 0


@pytest.mark.parametrize(
    "text", ["[/nope]", "\x1b[31mred", "\u202eevil", "a'; DROP TABLE job;--", "👩‍👩‍👧 \u0301"]
)
def test_odd_texts_are_kept_as_typed(log: Log, text: str) -> None:
    with log.writing() as writer:
        handle = writer.add_job(NewJob(text, NewCustomer(text), NewSite(text))).handle
    with log.reading() as reader:
        job = reader.job(handle)
    assert (job.name, job.customer.name, job.site.street) == (text, text, text)


def test_a_value_out_of_range_is_an_input_error_and_nothing_is_kept(log: Log) -> None:
    load = NewLoad(5.0, returned_yd3=-1.0)
    with pytest.raises(InputError, match="returned yd3 is out of range"), log.writing() as writer:
        writer.add_entry(writer.add_job(JOB).handle, NewEntry("load", MORNING, load=load))
    with log.reading() as reader:
        assert reader.count() == 0


def test_state_and_note_change_with_their_version(log: Log) -> None:
    with log.writing() as writer:
        job = writer.add_job(JOB)
        writer.update_job_state(job.handle, "archived", version=job.version)
        with pytest.raises(InputError, match="changed meanwhile"):
            writer.update_note(job.handle, "late", version=job.version)
        assert writer.update_note(job.handle, None).note is None
    with log.reading() as reader:
        assert reader.line(job.handle).state == "archived"


def test_advice_is_kept_as_given(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(JOB).handle
        writer.add_advice(handle, NewAdvice("order", "nu=4, 1", '{"yards": 6}', '{"order_yd3": 6.75}'))
    with log.reading() as reader:
        (advice,) = reader.advices(handle)
    assert (advice.kind, advice.method, advice.inputs, advice.answer) == (
        "order",
        "nu=4, 1",
        '{"yards": 6}',
        '{"order_yd3": 6.75}',
    )


def test_settings_and_drafts(log: Log) -> None:
    with log.writing() as writer:
        writer.set_setting("price_per_yd3", "170")
        writer.set_setting("price_per_yd3", "180")
        writer.set_setting("waste_percent", "3")
        writer.set_setting("waste_percent", None)
        writer.save_draft("load", "{}")
    with log.reading() as reader:
        assert reader.settings() == {"price_per_yd3": "180"}
        assert reader.shop().price_per_yd3 == 180
        assert reader.draft("load") == "{}"
    with log.writing() as writer:
        writer.save_draft("load", None)
        assert writer.draft("load") is None


def test_suggestions_come_last_used_first(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(JOB).handle
        for day, who, product, lot in (
            (1, "Ada", BISCUIT, "B-1"),
            (3, "Bo", OTTER, "O-1"),
            (2, "Cy", BISCUIT, "B-2"),
        ):
            use = NewMaterialUse(product, 1.0, lot=lot)
            load = NewLoad(mix=NewMix(f"Plant {who}"))
            moment = MORNING.replace(day=day)
            writer.add_entry(handle, NewEntry("load", moment, person=who, materials=(use,), load=load))
        assert writer.people() == ("Bo", "Cy", "Ada")
        assert writer.plants() == ("Plant Bo", "Plant Cy", "Plant Ada")
        assert [p.name for p in writer.products()] == ["Otter Back", "Wet Biscuit"]
        assert [p.name for p in writer.products("pigment")] == ["Wet Biscuit"]
        assert writer.lots("wet biscuit") == ("B-2", "B-1", "B-7")
        assert writer.makers() == ("Moonhill Colors",)
        assert writer.customers() == ("Ines Puddlecombe",)
        assert [r.name for r in writer.recipes()] == ["biscuit and otter"]


def test_a_pour_is_recognised_by_the_day_of_its_site(log: Log) -> None:
    late = datetime(2025, 5, 15, 3, 0, tzinfo=UTC)  # still May 14 in Chicago
    with log.writing() as writer:
        handle = writer.add_job(JOB).handle
        writer.add_entry(handle, NewEntry("pour", late))
        who = ("ines puddlecombe", "12 Teakettle  Lane", "Back Patio")
        assert writer.same_pour(*who, date(2025, 5, 14)) == handle
        assert writer.same_pour(*who, date(2025, 5, 15)) is None
        assert writer.same_pour("Bo", *who[1:], date(2025, 5, 14)) is None


def test_resolve(log: Log) -> None:
    with log.writing() as writer:
        for customer in ("Puddlecombe", "Puddlewick", "Gravelpit"):
            writer.add_job(NewJob("patio", NewCustomer(customer), NewSite("s")))
        assert writer.resolve("gravel") == "gravelpit-patio"
        assert writer.resolve("Puddlewick Patio") == "puddlewick-patio"
        with pytest.raises(InputError, match="More than one job") as many:
            writer.resolve("puddle")
        assert "puddlecombe-patio, puddlewick-patio" in many.value.line()
        with pytest.raises(InputError, match="No job") as none:
            writer.resolve("gravelpot")
        assert "gravelpit-patio" in none.value.line()
        for odd in ("", "%", "_", "'", "\0", "x" * 100_000):
            with pytest.raises(InputError):
                writer.resolve(odd)


def test_a_site_without_a_zone_takes_the_shop_s(log: Log) -> None:
    with log.writing() as writer:
        assert writer.add_job(NewJob("a", NewCustomer("Bo"), NewSite("1 Owl Hollow"))).site.zone == "UTC"
        writer.set_setting("zone", "America/Denver")
        assert (
            writer.add_job(NewJob("b", NewCustomer("Bo"), NewSite("2 Owl Hollow"))).site.zone
            == "America/Denver"
        )
        assert writer.shop() == Shop.from_values({})


def test_parameters_and_facts_carry_the_version_of_their_kind(log: Log) -> None:
    """Older parameters are read as today's version of the kind; what is no stage has version 1."""
    older = replace(kind("stamp"), params_version=3, upgrade=lambda params, found: {**params, "from": found})
    with log.writing() as writer:
        handle = writer.add_job(JOB).handle
        writer.add_entry(handle, NewEntry("stamp", MORNING, facts={"mats": 4}))
        writer.add_entry(handle, NewEntry("visit", MORNING, facts={"weather": "fair"}))
        with patch.dict(events._ALL, {"stamp": older}):
            stamp, visit = writer.job(handle).entries
            later = writer.add_entry(handle, NewEntry("stamp", MORNING, facts={"mats": 5}))
            recipe = writer.job(handle).areas[0].recipe
    assert (stamp.facts, stamp.facts_version) == ({"mats": 4, "from": 1}, 3)
    assert (visit.facts, visit.facts_version) == ({"weather": "fair"}, 1)
    assert (later.facts, later.facts_version) == ({"mats": 5}, 3)
    assert recipe is not None
    assert recipe.stages[1].params == {"pattern": "ashlar slate", "from": 1}
