"""The one declaration of what can be logged: keys, readers, echoes, and back to text."""

from __future__ import annotations

import dataclasses
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.errors import InputError
from finishlog.inputs import colors
from finishlog.inputs.asking import Field
from finishlog.inputs.entry import entries, materials
from finishlog.inputs.entry.entries import Context
from finishlog.records import log as records
from finishlog.records.writing import NewEntry
from finishlog.trade.events import entry_kind, kinds_in_order

NOW = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
CONTEXT = Context(NOW, ZoneInfo("America/Chicago"), ("field", "Stairs"), loads=(3, 5))
KINDS = [kind.key for kind in kinds_in_order()]
DETAILS = {
    "load": (records.Load, records.Mix),
    "coat": (records.Coat,),
    "reading": (records.Reading,),
    "sample": (records.Sample,),
    "approval": (records.Approval,),
    "claim": (records.Claim,),
}


def fields(kind: str) -> dict[str, Field]:
    return {field.key: field for field in entries.fields_of(kind, CONTEXT)}


def read(kind: str, **texts: str) -> NewEntry:
    entry, wrongs = entries.read(kind, texts, CONTEXT)
    assert entry is not None, wrongs
    return entry


def wrong(kind: str, **texts: str) -> dict[str, str]:
    entry, wrongs = entries.read(kind, texts, CONTEXT)
    assert entry is None
    return {each.key: each.what for each in wrongs}


@pytest.mark.parametrize("kind", KINDS)
def test_every_field_has_its_own_key_a_title_and_examples_that_read(kind: str) -> None:
    keys = [field.key for field in entries.fields_of(kind, CONTEXT)]
    assert len(set(keys)) == len(keys)
    for field in fields(kind).values():
        assert field.title
        value = field.read(field.sample)
        assert value is not None
        assert field.read(field.text(value)) == value, field.key
        for choice in field.choices:
            field.read(choice)
        with pytest.raises(InputError) as failure:
            field.read("\0")
        assert failure.value.where == field.key


@pytest.mark.parametrize("kind", KINDS)
def test_every_fact_of_a_kind_is_asked_for_or_said_elsewhere(kind: str) -> None:
    known = {param.name for param in entry_kind(kind).placed}
    assert known - fields(kind).keys() <= {"thrown_lb", "coats", "coat_1_ft2_per_gal", "coat_2_ft2_per_gal"}


@pytest.mark.parametrize("kind", [kind for kind in KINDS if entry_kind(kind).detail])
def test_keys_are_those_of_the_json(kind: str) -> None:
    """What `show --json` calls a fact of a load, a coat… is the key it is set by."""
    other = {
        "L": "color", "a": "color", "b": "color", "sd_L": "sd", "sd_a": "sd", "sd_b": "sd", "source": "instrument",
        "mix": "mix_number", "uid": "mix_number", "areas": "map", "by": "signed_by",
        "valid_from": "at", "valid_to": "at", "doses": "pigment", "photo": "color", "box": "color",
        "camera": "color", "card": "color",
    }  # fmt: skip
    for record in DETAILS[entry_kind(kind).detail]:
        names = {field.name for field in dataclasses.fields(record)}
        if record is records.Mix:
            names = {"mix_number" if name == "number" else name for name in names}
        assert {other.get(name, name) if name not in fields(kind) else name for name in names} <= fields(
            kind
        ).keys()


def test_a_load_stands_in_the_order_of_the_day_card() -> None:
    card = ["ticket", "at", "yards", "amount", "water_gal", "slump_in", "returned_yd3"]
    keys = list(fields("load"))
    assert [keys.index(key) for key in card] == sorted(keys.index(key) for key in card)


def test_a_load() -> None:
    entry = read(
        "load", ticket="40731", at="about 8:50a", yards="6 1/2 yd", product="Wet Biscuit", amount="24 lb 6 oz",
        lot="K-131", water_gal="5", slump_in="4½", map="field=5, stairs=1.5 yd", returned_yd3="0", by="Bo",
        plant="Gravelpit plant", mix_number="4000-6", cement_lb_per_yd3="6 sack", is_balance="no",
    )  # fmt: skip
    assert entry.exactness == "about"
    assert (entry.area, entry.person) == (None, "Bo")
    load = entry.load
    assert load is not None
    assert (load.yards, load.returned_yd3, load.dumped_yd3, load.slump_in) == (6.5, 0, None, 4.5)
    assert load.areas == (("field", 5.0), ("Stairs", 1.5))
    assert load.mix is not None
    assert (load.mix.plant, load.mix.number, load.mix.cement_lb_per_yd3) == ("Gravelpit plant", "4000-6", 564)
    assert [(u.product.name, u.product.kind, u.amount, u.unit, u.lot) for u in entry.materials] == [
        ("Wet Biscuit", "pigment", 24.375, "lb", "K-131")
    ]


def test_a_blank_is_unknown_and_a_blank_time_is_now() -> None:
    entry = read("rinse", pressure_psi=" ", passes="")
    assert (entry.happened, entry.exactness, entry.facts) == (NOW, "exact", {})
    assert entry.materials == ()


@pytest.mark.parametrize(
    ("text", "amount", "unit"),
    [
        ("24 lb 6 oz", 24.375, "lb"), ("24.4", 24.4, "lb"), ("40 oz", 40, "oz"), ("11 kg", 11, "kg"),
        ("500 g", 0.5 / 0.45359237, "lb"), ("2 bags", 2, "bag"), ("1/2 bag", 0.5, "bag"), ("20 fl oz", 20, "fl oz"),
        ("2.5 gal", 2.5, "gal"), ("9.5 L", 9.5, "L"), ("2 qt", 0.5, "gal"),
    ],
)  # fmt: skip
def test_an_amount_keeps_the_unit_of_the_bag(text: str, amount: float, unit: str) -> None:
    found = materials.read_amount(text)
    assert (float(found.value), found.unit) == (pytest.approx(amount), unit)


def test_a_bare_amount_of_a_liquid_is_gallons_and_bare_ounces_are_asked_back() -> None:
    assert read("seal", product="Duckback 25", amount="2").materials[0].unit == "gal"
    assert "weight or volume" in wrong("seal", product="Duckback 25", amount="20 oz")["amount"]


def test_a_blend_is_several_products() -> None:
    entry = read(
        "load", area="field", product="Wet Biscuit", amount="45", product_2="Lamp Soot", amount_2="3 lb 6 oz"
    )
    assert [(u.product.name, u.amount) for u in entry.materials] == [
        ("Wet Biscuit", 45.0),
        ("Lamp Soot", 3.375),
    ]


def test_a_lot_without_a_name_is_kept_as_of_an_unknown_product() -> None:
    assert read("powder_release", lot="R-77").materials[0].product.name == "unknown"


@pytest.mark.parametrize(
    ("text", "instrument", "lab", "sd", "source"),
    [
        ("62,4,16", "", (62, 4, 16), None, "by hand"),
        ("62 4 -16.5", "colorimeter", (62, 4, -16.5), 0.5, "colorimeter"),
        ("10YR 6/3", "", (61.1, 4.3, 19.0), 2.5, "chip by eye"),
        ("#a9927a", "", (61.997, 4.819, 15.908), 5.0, "screen color"),
    ],
)
def test_a_reading_by_hand_says_how_sure_it_is(
    text: str, instrument: str, lab: tuple[float, ...], sd: float | None, source: str
) -> None:
    """The screen color's numbers are coloraide's lab-d65; the chip's are held against ASTM D1535 elsewhere."""
    reading = read("reading", color=text, instrument=instrument).reading
    assert reading is not None
    assert (reading.L, reading.a, reading.b) == pytest.approx(lab, abs=0.05)
    assert (reading.sd_L, reading.sd_a, reading.sd_b) == (sd, sd, sd)
    assert (reading.source, reading.spot, reading.damp, reading.sealed) == (source, "base", False, False)


def test_a_stated_uncertainty_wins() -> None:
    reading = read(
        "reading", color="62,4,16", instrument="colorimeter", sd="0.3, 0.4, 0.5", damp="yes"
    ).reading
    assert reading is not None
    assert (reading.sd_L, reading.sd_a, reading.sd_b, reading.damp) == (0.3, 0.4, 0.5, True)


def test_the_nearest_name_is_called_nearest() -> None:
    assert fields("reading")["color"].echo("62,4,16") == (
        "L*a*b* 62 4 16, nearest light grayish yellowish brown"
    )


@pytest.mark.parametrize(
    "text", ["blue", "62,4", "620,4,16", "nan,1,1", "10YR 60/3", "#12345g", "62,4,16,3", "1e1,2,3"]
)
def test_what_is_no_color_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        colors.read(text)


def test_a_sample_names_its_load_by_its_place() -> None:
    sample = read("sample", load="load 2", size="2x2 ft", half_sealed="yes").sample
    assert sample is not None
    assert (sample.number, sample.load, sample.half_sealed) == (None, 5, True)
    assert "No load 3" in wrong("sample", load="3")["load"]


def test_an_approval_and_a_claim() -> None:
    approval = read("approval", sample="#12", signed_by="Ottoline Quillfeather").approval
    assert approval == records.Approval(12, "Ottoline Quillfeather", True)
    assert wrong("approval", sample="12").keys() == {"signed_by"}
    assert read("claim", complaint="lighter", settled="no").claim == records.Claim("lighter")


def test_a_load_says_where_it_went() -> None:
    assert "Where did the load go?" in wrong("load", yards="5")["area"]
    assert read("load", yards="5", area="all").area is None
    assert read("load", yards="5", area="STAIRS").area == "Stairs"
    one = dataclasses.replace(CONTEXT, areas=("field",))
    entry, _ = entries.read("load", {"yards": "5"}, one)
    assert entry is not None
    assert entry.area == "field"
    _, wrongs = entries.read("load", {"yards": "5"}, dataclasses.replace(CONTEXT, areas=()))
    assert "no area" in wrongs[0].what
    card, _ = entries.read("load", {"yards": "5"}, dataclasses.replace(CONTEXT, whole_job=True))
    assert card is not None
    assert card.area is None


@pytest.mark.parametrize(
    ("texts", "key", "said"),
    [
        ({"yards": "5", "map": "field=3, stairs=2.5"}, "map", "more than the load"),
        ({"yards": "5", "map": "field=3, moat=1"}, "map", "no area “moat”"),
        ({"yards": "5", "map": "field=3, field=1"}, "map", "twice"),
        ({"yards": "5", "map": "field=all"}, "map", ""),
        ({"yards": "5", "area": "moat"}, "area", "It has field, Stairs."),
        ({"yards": "0", "area": "field"}, "yards", "zero"),
        ({"yards": "-5", "area": "field"}, "yards", "negative"),
        ({"yards": "nan", "area": "field"}, "yards", ""),
        ({"yards": "6,5", "area": "field"}, "yards", "comma"),
        ({"yards": "5 ft2", "area": "field"}, "yards", "unit"),
        ({"slump_in": "45", "area": "field"}, "slump_in", "12 in tall"),
        ({"slump_end_in": "12.5 in", "area": "field"}, "slump_end_in", "12 in tall"),
        ({"nope": "1", "area": "field"}, "nope", "No such field"),
        ({"ticket": "x" * 100_000, "area": "field"}, "ticket", "too long"),
        ({"note": "a\0b", "area": "field"}, "note", "NUL"),
    ],
)
def test_what_is_wrong_with_a_load_is_said_at_its_field(texts: dict[str, str], key: str, said: str) -> None:
    assert said in wrong("load", **texts)[key]


def test_exactly_as_much_as_the_load_brought_is_fine() -> None:
    """6.6 is 2.2 + 4.4, which binary fractions deny."""
    assert read("load", yards="6.6", map="field=2.2, stairs=4.4").load is not None


def test_all_that_is_wrong_is_said_at_once() -> None:
    assert wrong("rinse", pressure_psi="junk", passes="x", area="moat").keys() == {
        "pressure_psi",
        "passes",
        "area",
    }


@pytest.mark.parametrize(
    ("kind", "typed", "key"),
    [
        ("load", "slump", "slump_in"), ("load", "yards", "yards"), ("load", "returned", "returned_yd3"),
        ("load", "Slump end", "slump_end_in"), ("load", "mix", "mix_number"), ("load", "cement", "cement_lb_per_yd3"),
        ("rinse", "pressure", "pressure_psi"), ("rinse", "press", "pressure_psi"),
        ("powder_release", "thrown_lb", "amount"), ("seal", "slab", "slab_f"),
    ],
)  # fmt: skip
def test_a_key_may_be_said_in_short(kind: str, typed: str, key: str) -> None:
    assert entries.key_for(kind, typed) == key


@pytest.mark.parametrize("typed", ["", "nope", "cem", "__class__", "x" * 1000, "\x1b[31m"])
def test_a_wrong_key_names_the_right_ones(typed: str) -> None:
    with pytest.raises(InputError) as failure:
        entries.key_for("load", typed)
    assert failure.value.example
    assert "\x1b" not in failure.value.line()


@pytest.mark.parametrize(
    ("typed", "kind"), [("rin", "rinse"), ("Powder release", "powder_release"), ("LOAD", "load")]
)
def test_a_kind_may_be_begun(typed: str, kind: str) -> None:
    assert entries.need_kind(typed).key == kind


@pytest.mark.parametrize(
    ("typed", "said"), [("rinze", "rinse"), ("s", "stamp"), ("", "load"), ("integral_color", "load")]
)
def test_a_wrong_kind_names_the_right_ones(typed: str, said: str) -> None:
    with pytest.raises(InputError) as failure:
        entries.need_kind(typed)
    assert said in failure.value.line()


TEXTS = st.dictionaries(
    st.sampled_from(sorted({key for kind in KINDS for key in fields(kind)})),
    st.one_of(
        st.text(max_size=60),
        st.sampled_from(["1", "yes", "4 in", "62,4,16", "2 bags", "field=1", "all", "-2h"]),
    ),
    max_size=6,
)


@given(st.sampled_from(KINDS), TEXTS)
def test_any_texts_are_an_entry_or_clearly_wrong(kind: str, texts: dict[str, str]) -> None:
    entry, wrongs = entries.read(kind, texts, CONTEXT)
    assert (entry is None) == bool(wrongs)
    for each in wrongs:
        assert each.key in texts.keys() | fields(kind).keys()
        assert each.what
    if entry is not None:
        assert entry.kind == kind


@given(st.sampled_from(KINDS), st.sets(st.integers(0, 80)))
def test_an_entry_told_again_from_its_own_texts_is_the_same(kind: str, picked: set[int]) -> None:
    every = list(fields(kind).values())
    texts = {
        f.key: f.sample for i, f in enumerate(every) if i in picked or f.required or f.key in ("at", "area")
    }
    texts["area"] = "field"
    values = {f.key: f.read(texts.get(f.key, "")) for f in every}
    again = entries.texts_of(kind, values, CONTEXT)
    assert entries.read(kind, again, CONTEXT) == entries.read(kind, texts, CONTEXT)
