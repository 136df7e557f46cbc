"""Everything that is logged: stages and events found by one name, drawn from one declaration."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import pytest

from finishlog import units
from finishlog.errors import InputError, LogError
from finishlog.records import log
from finishlog.records.shop import Shop
from finishlog.trade.events import EVENTS, ORDER, EntryKind, entry_kind, kinds_in_order
from finishlog.trade.stages import KINDS
from finishlog.trade.stages.base import Param

SHOP = Shop.from_values({})
EVERY: tuple[EntryKind, ...] = (*kinds_in_order(), entry_kind("integral_color"))
PARAMS = [(event, param) for event in EVENTS for param in event.params]


def name(value: object) -> str:
    return value.name if isinstance(value, Param) else str(getattr(value, "key", value))


def test_every_stage_and_event_is_found_and_stands_in_the_order_once() -> None:
    # Integral color goes in with its load, so it is logged there.
    logged = {kind.key for kind in (*KINDS, *EVENTS) if not kind.logged_as}
    assert len(ORDER) == len(set(ORDER))
    assert set(ORDER) == logged == {kind.key for kind in kinds_in_order()}
    assert [kind.key for kind in KINDS if kind.logged_as] == ["integral_color"]
    stages = [kind.key for kind in KINDS if not kind.logged_as]
    assert [key for key in ORDER if key in stages] == stages
    for kind in EVERY:
        assert entry_kind(kind.key) is kind


def test_the_events_of_the_records_are_all_there() -> None:
    said = (log.Entry.__doc__ or "").split("one of")[1]
    for word in ("load", "finishing", "weather", "sweep", "reading", "sample", "approval", "claim", "change"):
        assert word in said
    for key in ("pour", "load", "finishing", "weather", "sweep", "reading", "sample", "approval", "claim",
                "change", "visit", "note"):  # fmt: skip
        assert entry_kind(key).key == key


@pytest.mark.parametrize("kind", EVERY, ids=name)
def test_a_kind_says_what_a_form_needs(kind: EntryKind) -> None:
    assert kind.title[0].isupper()
    assert kind.verb
    assert kind.verb == kind.verb.strip()
    assert not kind.detail or kind.detail in {field.name for field in dataclasses.fields(log.Entry)}
    assert kind.sources
    names = [param.name for param in kind.params]
    assert len(set(names)) == len(names)
    assert set(kind.placed) <= set(kind.params)
    window = kind.window({}, SHOP)
    assert window is None or window.opens_h <= window.usual_from_h <= window.usual_to_h <= window.closes_h


@pytest.mark.parametrize("kind", EVERY, ids=name)
def test_a_kind_takes_its_own_facts_and_lists_them_for_a_wrong_one(kind: EntryKind) -> None:
    assert kind.validate({param.name: None for param in kind.params}) == {}
    with pytest.raises(InputError) as caught:
        kind.validate({"shoe_size": 9})
    assert all(param.name in caught.value.line() for param in kind.params)
    assert kind.upgrade({}, kind.params_version) == {}
    with pytest.raises(LogError):
        kind.upgrade({}, kind.params_version + 1)


def test_no_fact_stands_in_two_places() -> None:
    # What the detail row holds is not asked again among the facts.
    rows = {"load": log.Load, "coat": log.Coat, "reading": log.Reading, "sample": log.Sample,
            "approval": log.Approval, "claim": log.Claim}  # fmt: skip
    for kind in EVERY:
        if kind.detail:
            held = {field.name for field in dataclasses.fields(rows[kind.detail])}
            assert not held & {param.name for param in kind.placed}, kind.key
        assert not {"note", "person", "happened", "area"} & {param.name for param in kind.params}


@pytest.mark.parametrize(("kind", "param"), PARAMS, ids=name)
def test_a_fact_reads_its_own_example_and_refuses_nonsense(kind: EntryKind, param: Param) -> None:
    assert param.title
    assert param.unit in ("", *units.QUANTITIES)
    value = param.read(param.example().split(",")[0].split(" or ")[0])
    assert param.check(value) == value
    assert json.loads(json.dumps(value)) == value
    assert param.takes()
    assert "_" not in param.takes() + param.example()
    for bad in ("", "9" * 400) if param.kind == "text" else ("", "\x1b[31m", "9" * 400, "NaN"):
        with pytest.raises(InputError) as caught:
            param.read(bad)
        assert caught.value.where == param.name
        assert caught.value.line().isprintable()
    if param.kind in ("number", "count"):
        assert param.low is not None
        assert param.high is not None
        assert param.check(param.low) == param.low
        assert param.check(param.high) == param.high
        for wrong in (param.low - 1, param.high + 1, float("nan"), True, "4"):
            with pytest.raises(InputError):
                kind.validate({param.name: wrong})


def test_choices_are_read_as_people_say_them() -> None:
    assert entry_kind("load").param("accelerator").read("non-chloride") == "non_chloride"
    assert entry_kind("weather").param("low_f").read("-4 F") == -4
    assert entry_kind("bag_mix").param("bags").read("7 1/2") == 7.5


def test_an_unknown_kind_lists_what_there_is() -> None:
    with pytest.raises(InputError) as caught:
        entry_kind("\x1b[31mbroom")
    assert all(key in caught.value.line() for key in ORDER)
    assert caught.value.line().isprintable()


def test_what_may_be_typed_is_what_was_released() -> None:
    """A narrower range would refuse what a log holds, a wider one what an older program reads: say so here first.

    A new kind has released nothing yet.
    """
    released = json.loads((Path(__file__).parent / "data" / "limits.json").read_text(encoding="utf-8"))
    ranges = {
        kind.key: {p.name: f"{p.low} to {p.high}" for p in kind.params if p.low is not None} for kind in EVERY
    }
    assert {key: ranges[key] for key in released} == released
