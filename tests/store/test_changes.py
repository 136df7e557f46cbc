"""Change orders, copied recipes, new owners, customers that are one."""

from datetime import UTC, date, datetime

import pytest

from finishlog.errors import InputError
from finishlog.records.log import Owner, Recipe
from finishlog.records.writing import (
    NewArea,
    NewCustomer,
    NewEntry,
    NewJob,
    NewProduct,
    NewRecipe,
    NewSite,
    NewStage,
    NewStageMaterial,
)
from finishlog.store import Log, Writer

MORNING = datetime(2025, 5, 14, 13, 30, tzinfo=UTC)
PIGMENT = NewProduct("Wet Biscuit", "pigment", "Moonhill Colors")
STAGES = (
    NewStage("integral_color", {}, (NewStageMaterial(PIGMENT, "B-7", 4.0, "%"),)),
    NewStage("stamp", {"pattern": "ashlar slate"}),
)
DARKER = NewRecipe("darker", STAGES, reason="the customer chose a darker one")


def a_job(
    name: str = "patio", customer: str = "Ines Puddlecombe", street: str = "12 Teakettle Lane"
) -> NewJob:
    areas = (
        NewArea("field", recipe=NewRecipe("biscuit", STAGES)),
        NewArea("border", recipe=NewRecipe("plain")),
        NewArea("stairs"),
    )
    return NewJob(name, NewCustomer(customer), NewSite(street), areas=areas)


def recipe_of(writer: Writer, handle: str, area: str) -> Recipe:
    found = next(each.recipe for each in writer.job(handle).areas if each.name == area)
    assert found is not None
    return found


def test_a_change_order_is_a_new_version_with_its_reason(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        writer.add_entry(handle, NewEntry("pour", MORNING))
        before = recipe_of(writer, handle, "field")
        assert before.frozen is not None
        made = writer.change_recipe(handle, "Field", DARKER, version=before.version, person="Ada")
        assert (made.version, made.reason, made.from_recipe, made.frozen) == (
            2,
            DARKER.reason,
            before.uid,
            None,
        )
        assert [stage.kind for stage in made.stages] == ["integral_color", "stamp"]
        assert recipe_of(writer, handle, "field") == made
        assert recipe_of(writer, handle, "border").version == 1
        change = writer.job(handle).history[-1]
        assert (change.kind, change.note, change.person) == ("change", DARKER.reason, "Ada")
        assert change.area == writer.job(handle).areas[0].uid
        assert change.facts == {"recipe": "darker", "version": 2}
        assert before in writer.recipes()  # the frozen one is as it was
        assert writer.lines(words="darker")[0].handle == handle
    assert log.check().ok


def test_two_people_changing_one_recipe(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        writer.change_recipe(handle, "field", DARKER, version=1)
        with pytest.raises(InputError, match="Someone else changed the recipe of field meanwhile") as error:
            writer.change_recipe(handle, "field", DARKER, version=1)
        assert "You read version 1; it is now version 2" in error.value.cause
        assert len(writer.job(handle).history) == 1
        assert writer.change_recipe(handle, "field", DARKER, version=2).version == 3


def test_an_area_without_a_recipe_starts_at_version_0(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        with pytest.raises(InputError, match="meanwhile"):
            writer.change_recipe(handle, "stairs", DARKER, version=1)
        made = writer.change_recipe(handle, "stairs", DARKER, version=0)
        assert (made.version, made.from_recipe) == (1, None)


def test_a_change_needs_a_reason_and_an_area(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        for reason in (None, "  "):
            with pytest.raises(InputError, match="needs a reason"):
                writer.change_recipe(handle, "field", NewRecipe("x", reason=reason), version=1)
        with pytest.raises(InputError, match='no area "roof"'):
            writer.change_recipe(handle, "roof", DARKER, version=1)
        assert writer.job(handle).history == ()


def test_a_change_that_is_refused_leaves_nothing_of_itself(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        before = writer.job(handle)
        stage = NewStage("stamp", {"pattern": "half\0"})
        with pytest.raises(InputError, match="unreadable character"):
            writer.change_recipe(handle, "field", NewRecipe("x", (*STAGES, stage), reason="why"), version=1)
        assert writer.job(handle) == before
        assert [recipe.name for recipe in writer.recipes()].count("x") == 0
        assert writer.change_recipe(handle, "field", DARKER, version=1).version == 2
    assert log.check().ok


def test_a_shared_recipe_is_changed_for_one_area_only(log: Log) -> None:
    with log.writing() as writer:
        first = writer.add_job(a_job())
        shared = first.areas[0].recipe
        assert shared is not None
        areas = (NewArea("field", recipe_uid=shared.uid),)
        other = writer.add_job(NewJob("walk", NewCustomer("Bo"), NewSite("s"), areas=areas)).handle
        writer.change_recipe(other, "field", DARKER, version=1)
        assert recipe_of(writer, first.handle, "field") == shared
        assert recipe_of(writer, other, "field").from_recipe == shared.uid


def test_a_recipe_is_copied_to_any_job(log: Log) -> None:
    with log.writing() as writer:
        one, two = (writer.add_job(a_job(name)).handle for name in ("one", "two"))
        source = recipe_of(writer, one, "field")
        made = writer.copy_recipe(one, "field", two, "stairs")
        assert made.uid != source.uid
        assert (made.from_recipe, made.version, made.name) == (source.uid, 1, source.name)
        assert made.stages == source.stages
        assert recipe_of(writer, two, "stairs") == made
        assert writer.job(two).history == ()
        with pytest.raises(InputError, match="no recipe to copy"):
            writer.copy_recipe(one, "stairs", two, "field")
        assert writer.copy_recipe(one, "field", two, "border").version == 2


def test_a_copy_over_what_was_poured_is_a_change_order(log: Log) -> None:
    with log.writing() as writer:
        handle = writer.add_job(a_job()).handle
        writer.add_entry(handle, NewEntry("pour", MORNING, area="border"))
        with pytest.raises(InputError, match="needs a reason"):
            writer.copy_recipe(handle, "field", handle, "border")
        made = writer.copy_recipe(handle, "field", handle, "border", reason="one look all over")
        assert (made.reason, made.version) == ("one look all over", 2)
        assert writer.job(handle).history[-1].kind == "change"
        with pytest.raises(InputError, match="meanwhile"):
            writer.change_recipe(handle, "border", DARKER, version=1)  # read before the copy


def test_a_house_changes_hands(log: Log) -> None:
    with log.writing() as writer:
        patio, walk = (writer.add_job(a_job(name)).handle for name in ("patio", "walk"))
        owner = writer.add_owner(
            patio, NewCustomer("Barnaby Quillfeather", "555-0102"), date(2026, 3, 1), "keen"
        )
        earlier = writer.add_owner(walk, NewCustomer("Odd Gravelpit"), date(2025, 9, 1))
        job = writer.job(patio)
        assert job.customer.name == "Ines Puddlecombe"
        assert job.owners == writer.job(walk).owners == (earlier, owner)
        assert owner == Owner(owner.customer, date(2026, 3, 1), "keen")
        assert owner.customer.phone == "555-0102"
        for words in ("quillfeather", "gravelpit", "puddlecombe", "keen"):
            assert {line.handle for line in writer.lines(words=words)} == {patio, walk}
        assert writer.lines(words="quillfeather")[0].customer == "Ines Puddlecombe"
        with pytest.raises(InputError, match="already the owner"):
            writer.add_owner(walk, NewCustomer("Barnaby Quillfeather"), date(2026, 3, 1))
        with pytest.raises(InputError, match="No job"):
            writer.add_owner("nobody", NewCustomer("Bo"), date(2026, 3, 1))
    assert log.check().ok


def test_two_customers_that_are_one(log: Log) -> None:
    with log.writing() as writer:
        one = writer.add_job(a_job("patio", "Ines Puddlecombe")).handle
        two = writer.add_job(a_job("walk", "Ines Puddelcombe", "other")).handle
        third = writer.add_job(a_job("porch", "Bo", "third")).handle
        writer.add_owner(third, NewCustomer("Ines Puddelcombe", "555-0101"), date(2026, 1, 1))
        kept = writer.merge_customers("ines puddlecombe", "Ines Puddelcombe")
        assert (kept.name, kept.phone) == ("Ines Puddlecombe", "555-0101")
        assert writer.job(one).customer == writer.job(two).customer == kept
        assert writer.job(third).owners[0].customer == kept
        assert "Ines Puddelcombe" not in writer.customers()
        assert {line.handle for line in writer.lines(words="puddlecombe")} == {one, two, third}
        assert two in {line.handle for line in writer.lines(words="puddelcombe")}  # the handle has it still
        again = writer.add_job(a_job("steps", "Ines Puddelcombe"))  # the old spelling, typed again
        assert again.customer == kept
        with pytest.raises(InputError, match="already one customer"):
            writer.merge_customers(one, two)
        with pytest.raises(InputError, match='No customer "Ines Puddelcombe"'):
            writer.merge_customers("Bo", "Ines Puddelcombe")
    assert log.check().ok


def test_two_people_of_one_name_are_told_apart_by_their_jobs(log: Log) -> None:
    with log.writing() as writer:
        first, second = (
            writer.add_job(NewJob("patio", NewCustomer("Bo", phone), NewSite(phone))).handle
            for phone in ("555-0101", "555-0102")
        )
        writer.add_job(a_job("walk", "Ada"))
        with pytest.raises(InputError, match="More than one customer") as error:
            writer.merge_customers("Ada", "Bo")
        assert error.value.example == first
        assert writer.merge_customers(first, second).phone == "555-0101"
        assert writer.customers().count("Bo") == 1
        assert writer.merge_customers("Ada", "Bo").name == "Ada"
        assert {writer.job(handle).customer.name for handle in (first, second)} == {"Ada"}


def test_a_pour_of_a_merged_customer_is_known_again(log: Log) -> None:
    with log.writing() as writer:
        writer.add_job(a_job("porch", "Ines Puddlecombe", "elsewhere"))
        handle = writer.add_job(a_job("patio", "Ines Puddelcombe")).handle
        writer.add_entry(handle, NewEntry("pour", MORNING))
        writer.merge_customers("Ines Puddlecombe", "Ines Puddelcombe")
        for name in ("Ines Puddlecombe", "Ines Puddelcombe"):
            assert writer.same_pour(name, "12 Teakettle Lane", "patio", date(2025, 5, 14)) == handle
