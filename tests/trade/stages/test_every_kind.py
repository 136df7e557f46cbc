"""Whatever can be logged says all that the house asks of it, or says why there is none."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from datetime import UTC, datetime

import pytest

from finishlog.errors import InputError
from finishlog.inputs.entry import entries
from finishlog.inputs.entry.entries import Context
from finishlog.records import log
from finishlog.records.shop import SETTINGS, Shop
from finishlog.trade.cautions import MATTERS, cautions
from finishlog.trade.events import ALL_DUE, EVENTS, ORDER, EntryKind
from finishlog.trade.stages import KINDS, StageKind
from finishlog.trade.stages.base import DayCard, Without
from finishlog.trade.upkeep import due_rules
from tests.trade.stages.grind import KIND as GRIND

SHOP = Shop.from_values({})
CONTEXT = Context(datetime(2026, 8, 30, tzinfo=UTC), UTC, ("field", "border"), (1,))
KNOWN = {setting.key for setting in SETTINGS}
EVERY: tuple[EntryKind, ...] = (*KINDS, *EVENTS)
STATED = ("cautions", "due", "day_card", "in_plan")
"""What a kind has, or has not and says why."""


OF_OLD = [
    *("load", "bag_mix", "pour", "color_hardener", "finishing", "powder_release", "liquid_release", "stamp"),
    *("cure", "joint", "weather", "sample", "sweep", "rinse", "antiquing_wash", "stain", "photo"),
    *("reading", "dryness_test", "seal", "approval", "visit", "strip", "change", "claim", "put_off", "care"),
    *("reminder", "note"),
]  # fmt: skip
"""The order of the work; a new kind may stand anywhere in it."""


def lacking(kind: EntryKind) -> Iterator[str]:
    """What the house asks of a kind and this one does not say."""
    for asked in STATED:
        said = getattr(kind, asked)
        if not said and not (isinstance(said, Without) and said.why.strip()):
            yield f"{asked}: neither any nor why there is none"
    yield from _names(kind)
    yield from _cautions(kind)
    yield from _due(kind)
    yield from _fields(kind)
    if kind.in_plan not in ("stage", "day") and kind.in_plan:
        yield "in_plan: no place of the plan"
    if kind.comes not in ("on_the_day", "afterwards", "any_time") or kind.again not in (
        "once",
        "soon",
        "often",
    ):
        yield "comes, again: no word of the house"
    if isinstance(kind, StageKind):
        yield from _stage(kind)


def _names(kind: EntryKind) -> Iterator[str]:
    if not kind.title[:1].isupper() or not kind.verb.strip() or not kind.sources:
        yield "title, verb or sources"
    names = [param.name for param in kind.params]
    if len(set(names)) != len(names):
        yield "two params of one name"
    if kind.detail and kind.detail not in {field.name for field in dataclasses.fields(log.Entry)}:
        yield "detail: no field of an entry"


def _cautions(kind: EntryKind) -> Iterator[str]:
    """Every key it names warns of something, and lines of its own are named."""
    for key in kind.cautions:
        try:
            found = kind.warns or key in MATTERS if key == kind.key else cautions(key)
        except InputError:
            found = ()
        if not found:
            yield f"cautions: nothing is said of {key}"
    own = isinstance(kind, StageKind) or kind.warns
    if own and kind.cautions and kind.key not in kind.cautions:
        yield "cautions: not its own"


def _due(kind: EntryKind) -> Iterator[str]:
    for due in kind.due:
        if not due.key or (not due.noun and due is not due_rules.POUR_END):
            yield "due: no key or noun"
    if isinstance(kind, StageKind) and kind.window({}, SHOP) is not None and not kind.due:
        yield "due: it has a window, and nothing falls due"


def _fields(kind: EntryKind) -> Iterator[str]:
    """The fields that it names are asked of it, the settings are the shop's."""
    asked = {field.key for field in entries.fields_of(kind.key, CONTEXT)} if kind.key in ORDER else set()
    if kind.key == GRIND.key:
        asked = {"at", *(param.name for param in kind.params)}
    card = kind.day_card.fields if isinstance(kind.day_card, DayCard) else ()
    for key in (*card, *kind.same_as_last, *kind.asks):
        if key not in asked:
            yield f"{key}: it has no such field"
    if set(kind.usual_settings) - KNOWN:
        yield "usual_settings: no setting"


def _stage(kind: StageKind) -> Iterator[str]:
    if not kind.reproduce:
        yield "reproduce"
    if not kind.labels and not isinstance(kind.labels, Without):
        yield "labels: neither any nor why there is none"
    if set(kind.labels) - set(kind.product_kinds):
        yield "labels: of a product that it does not take"
    if kind.rate is not None and (set(kind.rate.usual) - KNOWN or (kind.rate.usual and not kind.rate.title)):
        yield "rate: no setting or no title"
    for param in kind.params:
        figure = param.kind in ("number", "count", "ratio") and param.when == "both"
        if figure and param.observed is None:
            yield f"{param.name}: how it is done, or observed?"


@pytest.mark.parametrize("kind", [*EVERY, GRIND], ids=lambda kind: kind.key)
def test_a_kind_lacks_nothing(kind: EntryKind) -> None:
    assert list(lacking(kind)) == []


def test_every_kind_has_its_place() -> None:
    assert [key for key in ORDER if key in OF_OLD] == OF_OLD
    stages = {kind.key for kind in KINDS}
    assert {kind.before for kind in EVENTS} <= {"", *stages}
    places = [kind.day_card.place for kind in EVERY if isinstance(kind.day_card, DayCard)]
    assert len(set(places)) == len(places)
    keys = [due.key for due, _ in ALL_DUE]
    assert len(set(keys)) == len(keys)
    assert {logs for _, logs in ALL_DUE} <= set(ORDER)


def without(*names: str) -> dict[str, object]:
    held = {field.name: getattr(GRIND, field.name) for field in dataclasses.fields(GRIND)}
    return {name: value for name, value in held.items() if name not in names}


@pytest.mark.parametrize(
    "left_out",
    [*STATED, "comes", "again", "labels", "needs", "window", "reproduce", "sources", "example", "upgrade"],
)
def test_a_kind_that_forgets_one_is_not_made(left_out: str) -> None:
    with pytest.raises(TypeError, match=left_out):
        StageKind(**without(left_out))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ({"cautions": ()}, "cautions"),
        ({"warns": ()}, "nothing is said of grind"),
        ({"cautions": ("trades",)}, "not its own"),
        ({"cautions": Without(" ")}, "cautions"),
        ({"due": ()}, "due"),
        ({"due": Without("forgotten")}, "it has a window"),
        ({"day_card": ()}, "day_card"),
        ({"day_card": DayCard(1, ("shoe_size",))}, "shoe_size"),
        ({"in_plan": ""}, "in_plan"),
        ({"in_plan": "attic"}, "in_plan"),
        ({"comes": ""}, "comes"),
        ({"verb": ""}, "verb"),
        ({"labels": ()}, "labels"),
        ({"labels": ("sealer",)}, "labels"),
        ({"reproduce": ()}, "reproduce"),
        (
            {"params": (dataclasses.replace(GRIND.params[0], observed=None),), "day_card": Without("-")},
            "grit",
        ),
    ],
)
def test_a_kind_that_says_too_little_is_found(change: dict[str, object], found: str) -> None:
    made = StageKind(**{**without(*change), **change})  # type: ignore[arg-type]
    assert any(found in each for each in lacking(made)), list(lacking(made))


def test_a_reason_reads_as_none() -> None:
    none = Without("it is only noted")
    assert not none
    assert list(none) == []
    assert none.why == "it is only noted"
