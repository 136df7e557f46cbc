"""What every kind of stage must keep to, with a fixture of every released version of its parameters."""

from __future__ import annotations

import json
from fractions import Fraction as F
from pathlib import Path

import pytest

from finishlog import units
from finishlog.errors import InputError, LogError
from finishlog.records.shop import Shop
from finishlog.trade import stages
from finishlog.trade.cautions import cautions
from finishlog.trade.stages import KINDS, StageKind
from finishlog.trade.stages.base import LONGEST_WORDS, Param, Without
from finishlog.trade.stages.joint import cut_depth_in

FIXTURES = Path(__file__).parent / "fixtures"
SHOP = Shop.from_values({})
PARAMS = [(kind, param) for kind in KINDS for param in kind.params]


def fixture(kind: StageKind, version: int) -> dict[str, object]:
    found: dict[str, object] = json.loads((FIXTURES / f"{kind.key}_v{version}.json").read_text("utf-8"))
    return found


def name(value: object) -> str:
    return (
        value.key if isinstance(value, StageKind) else value.name if isinstance(value, Param) else str(value)
    )


@pytest.mark.parametrize("kind", KINDS, ids=name)
def test_every_released_version_upgrades_to_valid_parameters(kind: StageKind) -> None:
    for version in range(1, kind.params_version + 1):
        old = fixture(kind, version)
        before = json.dumps(old)
        new = kind.upgrade(old, version)  # type: ignore[arg-type]
        assert kind.validate(new) == new
        assert json.dumps(old) == before
        assert json.loads(json.dumps(new)) == new


@pytest.mark.parametrize("kind", KINDS, ids=name)
def test_the_newest_fixture_knows_every_parameter(kind: StageKind) -> None:
    assert set(fixture(kind, kind.params_version)) == {param.name for param in kind.params}


def test_there_is_a_fixture_for_every_kind_and_no_other() -> None:
    expected = {f"{kind.key}_v{v}.json" for kind in KINDS for v in range(1, kind.params_version + 1)}
    assert {path.name for path in FIXTURES.iterdir()} == expected


@pytest.mark.parametrize("kind", KINDS, ids=name)
@pytest.mark.parametrize("version", [0, 99])
def test_a_version_of_the_future_is_told(kind: StageKind, version: int) -> None:
    with pytest.raises(LogError):
        kind.upgrade({}, version)


@pytest.mark.parametrize("kind", KINDS, ids=name)
def test_the_worked_example_comes_out(kind: StageKind) -> None:
    example = kind.example
    assert kind.validate(example.params) == example.params
    assert kind.needs(example.params, example.area_ft2, example.volume_yd3, SHOP) == example.needs


@pytest.mark.parametrize("kind", KINDS, ids=name)
def test_needs_grow_with_the_slab_and_nothing_needs_nothing(kind: StageKind) -> None:
    assert sum(need.amount for need in kind.needs({}, F(0), F(0), SHOP)) == 0
    small = kind.needs({}, F(100), F(1), SHOP)
    large = kind.needs({}, F(200), F(2), SHOP)
    assert [2 * need.amount for need in small] == [need.amount for need in large]
    assert all(need.amount > 0 and need.unit in ("lb", "gal") for need in small)


@pytest.mark.parametrize("kind", KINDS, ids=name)
def test_a_window_opens_before_it_closes(kind: StageKind) -> None:
    window = kind.window({}, SHOP)
    assert (window is not None) == (not isinstance(kind.due, Without))
    if window is None:
        return
    assert window.anchor in ("pour_end", "rinse", "coat")
    assert 0 <= window.opens_h <= window.usual_from_h <= window.usual_to_h <= window.closes_h


def test_what_is_done_again_on_one_area() -> None:
    again = {kind.key for kind in KINDS if kind.repeatable}
    assert again >= {"rinse", "antiquing_wash", "stain", "seal"}
    assert not again & {"color_hardener", "powder_release", "liquid_release", "stamp", "cure", "joint"}


def test_a_saw_cut_has_a_deadline_and_a_tooled_joint_is_part_of_the_pour() -> None:
    # Saw cut 6-18 h, a quarter of the depth. Common practice, no source.
    joint = stages.kind("joint")
    window = joint.window({"method": "saw"}, SHOP)
    assert window is not None
    assert (window.anchor, window.opens_h, window.closes_h) == ("pour_end", 6, 18)
    assert joint.window({"method": "tooled"}, SHOP) is None
    later = joint.window({}, Shop.from_values({"saw_cut_to_h": "12"}))
    assert later is not None
    assert later.closes_h == 12
    assert cut_depth_in(F(4)) == 1
    with pytest.raises(InputError):
        cut_depth_in(F(0))


def test_a_ratio_splits_the_release_in_two() -> None:
    # 240 ft2 at 3.5 lb/100 ft2 is 8.4 lb; 2:1 is 5.6 + 2.8.
    release = stages.kind("powder_release")
    needs = release.needs({"mix_ratio": "2:1"}, F(240), F(0), SHOP)
    assert [need.amount for need in needs] == [F("5.6"), F("2.8")]
    assert [need.note for need in needs] == ["first shade", "second shade"]


def test_only_what_is_sprayed_to_cure_needs_material() -> None:
    cure = stages.kind("cure")
    for method in ("none", "sheet", "wet"):
        assert cure.needs({"method": method, "coverage_ft2_per_gal": 200}, F(450), F(0), SHOP) == ()
    assert any("mark" in caution.text for caution in cautions(*cure.cautions))


def test_a_joint_warns_of_dust_and_of_what_is_buried() -> None:
    lines = " ".join(caution.text for caution in cautions(*stages.kind("joint").cautions))
    assert "29 CFR 1926.1153" in lines
    assert "buried lines before any cut" in lines


def test_liquid_release_says_that_it_leaves_no_color() -> None:
    lines = " ".join(caution.text for caution in cautions(*stages.kind("liquid_release").cautions))
    assert "little or no release color" in lines


def test_seals_of_the_first_version_are_read_as_they_were() -> None:
    old = fixture(stages.kind("seal"), 1)
    assert stages.kind("seal").upgrade(old, 1) == old  # type: ignore[arg-type]


def test_what_is_only_kept_is_no_longer_asked() -> None:
    seal = stages.kind("seal")
    asked = {param.name for param in (*seal.planned, *seal.placed)}
    assert {param.name for param in seal.params} - asked == {"slab_temperature_f"}


def test_the_windows_of_common_practice() -> None:
    # Rinse 24-48 h (18-96); sealing day 14-35, at 28. Common practice, no source.
    rinse = stages.kind("rinse").window({}, SHOP)
    seal = stages.kind("seal").window({}, SHOP)
    assert rinse is not None
    assert seal is not None
    assert (rinse.opens_h, rinse.usual_from_h, rinse.usual_to_h, rinse.closes_h) == (18, 24, 48, 96)
    assert (seal.opens_h, seal.usual_from_h, seal.closes_h) == (14 * 24, 28 * 24, 35 * 24)


@pytest.mark.parametrize("kind", KINDS, ids=name)
def test_what_is_missing_is_named_and_nothing_more(kind: StageKind) -> None:
    assert kind.missing({}) == tuple(title for _, title in kind.reproduce)
    assert kind.missing({key: "known" for key, _ in kind.reproduce}) == ()
    first = kind.reproduce[0]
    assert kind.missing({first[0]: 0}) == tuple(title for _, title in kind.reproduce[1:])


@pytest.mark.parametrize("kind", KINDS, ids=name)
def test_unknown_is_left_out_and_a_wrong_name_lists_the_right_ones(kind: StageKind) -> None:
    assert stages.validate(kind.key, {param.name: None for param in kind.params}) == {}
    with pytest.raises(InputError) as caught:
        stages.validate(kind.key, {"shoe_size": 9})
    assert all(param.name in caught.value.line() for param in kind.params)


@pytest.mark.parametrize(("kind", "param"), PARAMS, ids=name)
def test_a_parameter_reads_its_own_example_and_refuses_nonsense(kind: StageKind, param: Param) -> None:
    assert param.title
    assert param.when in ("plan", "placed", "both", "kept")
    assert param.unit in ("", *units.QUANTITIES)
    text = param.example().split(",")[0].split(" or ")[0]
    value = param.read(text)
    assert param.check(value) == value
    assert json.loads(json.dumps(value)) == value
    assert param.takes()
    # Escapes in a text are kept as typed and shown harmless elsewhere.
    for bad in ("", "9" * 400) if param.kind == "text" else ("", "\x1b[31m", "9" * 400):
        with pytest.raises(InputError) as caught:
            param.read(bad)
        assert caught.value.where == param.name
        assert caught.value.line().isprintable()


@pytest.mark.parametrize(("kind", "param"), PARAMS, ids=name)
def test_a_parameter_keeps_to_its_range_and_its_type(kind: StageKind, param: Param) -> None:
    wrong: list[object] = [[], {}]
    if param.kind in ("number", "count"):
        assert param.low is not None
        assert param.high is not None
        assert param.check(param.low) == param.low
        assert param.check(param.high) == param.high
        wrong += [param.low - 1, param.high + 1, float("nan"), float("inf"), "4", True]
    else:
        wrong += [4, ""]
    for value in wrong:
        with pytest.raises(InputError):
            stages.validate(kind.key, {param.name: value})


def test_words_are_kept_up_to_their_most_and_a_count_is_whole() -> None:
    tint, coats = stages.kind("seal").param("tint"), stages.kind("seal").param("coats")
    assert tint.check("x" * LONGEST_WORDS) == "x" * LONGEST_WORDS
    for wrong in ("x" * (LONGEST_WORDS + 1), ""):
        with pytest.raises(InputError):
            tint.check(wrong)
    assert coats.check(2.0) == 2
    with pytest.raises(InputError, match="does not fit"):
        coats.check(1.5)


def test_words_for_choices_and_yes() -> None:
    seal, rinse = stages.kind("seal"), stages.kind("rinse")
    assert seal.param("method").read("Back roll") == "back_roll"
    assert seal.param("chemistry").read("acr") == "acrylic"
    assert rinse.param("detergent").read("Y") is True
    assert rinse.param("detergent").read("no") is False
    assert rinse.param("pressure_psi").read("138 bar") == pytest.approx(2001.5, abs=0.1)
    assert rinse.param("slab_temperature_f").read("20 C") == 68
    with pytest.raises(InputError, match="does not fit"):
        rinse.param("detergent").read("perhaps")
    with pytest.raises(InputError, match="does not fit") as caught:
        seal.param("chemistry").read("e p")
    assert "one of acrylic, urethane" in caught.value.line()


def test_an_unknown_stage_lists_those_there_are() -> None:
    with pytest.raises(InputError) as caught:
        stages.kind("broom")
    assert all(kind.key in caught.value.line() for kind in KINDS)
