"""As-placed dose, release, sealer film, cautions and sources."""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from finishlog.errors import InputError
from finishlog.records.quantities.placed import PlacedLoad
from finishlog.trade import cautions, release, sources
from finishlog.trade.pour.placed import placed_dose, weights
from finishlog.trade.release import liquid_release_gal, powder_release
from finishlog.trade.sealing import sealer
from finishlog.trade.stages import KINDS


def test_the_dose_as_placed_is_weighted_by_yards() -> None:
    found = placed_dose([PlacedLoad("1", F(6), F(24)), PlacedLoad("balance", F(2), F(10))])
    assert found is not None
    assert found.lb_per_yd3 == F(34, 8)
    assert [(load.label, load.percent) for load in found.off] == [
        ("1", (4 / F(34, 8) - 1) * 100),
        ("balance", (5 / F(34, 8) - 1) * 100),
    ]


def test_exactly_five_percent_off_is_not_named() -> None:
    loads = [PlacedLoad("1", F(1), F(95)), PlacedLoad("2", F(1), F(105))]
    found = placed_dose(loads)
    assert found is not None
    assert found.off == ()
    more = placed_dose([PlacedLoad("1", F(1), F("94.9")), PlacedLoad("2", F(1), F("105.1"))])
    assert more is not None
    assert [load.label for load in more.off] == ["1", "2"]


def test_unknown_loads_are_left_out() -> None:
    found = placed_dose(
        [PlacedLoad("1", F(6), F(24)), PlacedLoad("2", F(2), None), PlacedLoad("3", None, F(8))]
    )
    assert found is not None
    assert found.lb_per_yd3 == F(4)
    assert placed_dose([PlacedLoad("1", None, None)]) is None
    assert placed_dose([]) is None


def test_a_pour_without_pigment_has_no_load_off() -> None:
    found = placed_dose([PlacedLoad("1", F(6), F(0))])
    assert found is not None
    assert (found.lb_per_yd3, found.off) == (0, ())


def test_powder_release_by_area_and_shade() -> None:
    need = powder_release(F(240), F("3.5"), [("Otter Back", F(2)), ("Lamp Soot", F(1))], F(2))
    assert need.pounds == F("8.4")
    assert need.fresh_lb == F("6.4")
    assert [(part.name, part.pounds) for part in need.parts] == [
        ("Otter Back", F("5.6")),
        ("Lamp Soot", F("2.8")),
    ]
    assert powder_release(F(100), F(3), reclaimed_lb=F(9)).fresh_lb == 0
    assert liquid_release_gal(F(400), F(200)) == 2


@pytest.mark.parametrize(("area", "rate"), [(F(0), F(3)), (F(9), F(0))])
def test_release_of_nothing(area: F, rate: F) -> None:
    with pytest.raises(InputError):
        powder_release(area, rate)
    with pytest.raises(InputError):
        liquid_release_gal(area, rate)
    with pytest.raises(InputError):
        powder_release(F(9), F(3), [("Fox Ear", F(0))])


def test_a_mix_of_two_shades_is_split_by_its_parts() -> None:
    assert release.shares("2:1") == (F(2, 3), F(1, 3))
    assert release.shares("1:3") == (F(1, 4), F(3, 4))
    parts = dict(zip(("Otter Back", "Lamp Soot"), release.shares("2:1"), strict=True))
    assert [part.pounds for part in powder_release(F(240), F("3.5"), [*parts.items()]).parts] == [
        F("5.6"),
        F("2.8"),
    ]


@pytest.mark.parametrize(
    ("ratio", "shades", "why"),
    [
        ("2:1", 2, ""),
        (None, 0, ""),
        (None, 1, ""),
        (None, 3, ""),
        ("2:1", 1, "A ratio needs two shades. There is 1 of them."),
        ("2:1", 3, "A ratio needs two shades. There are 3 of them."),
        (None, 2, "Two shades need their ratio by parts."),
    ],
)
def test_a_ratio_is_of_two_shades(ratio: str | None, shades: int, why: str) -> None:
    assert release.odd_shades(ratio, shades) == why
    if why:
        with pytest.raises(InputError):
            release.check_shades(ratio, shades)


def test_film_constant() -> None:
    # Exact: 231 in3/gal / 144 in2/ft2 x 1000.
    assert float(sealer.MIL_FT2_PER_GAL) == pytest.approx(1604.1667, abs=1e-4)


def test_published_film_rows() -> None:
    # R. Joseph's formula (Paints & Coatings Resource Center Q&A, Dec 2007).
    coverage = sealer.coverage_for_wet(F(8))
    assert float(coverage) == pytest.approx(200.52, abs=0.005)
    assert sealer.dry_mil(coverage, F(25)) == 2
    assert float(sealer.coverage_for_dry(F("1.5"), F(30))) == pytest.approx(320.83, abs=0.005)
    assert float(sealer.wet_mil(F(200))) == pytest.approx(8.021, abs=0.0005)


def test_one_liter_at_one_micrometer_covers_a_thousand_square_meters() -> None:
    # Exact; ties the constant to the metric factors.
    from finishlog.units import QUANTITIES

    mil = QUANTITIES["film_mil"].factors["um"]
    assert sealer.coverage_for_wet(mil) / QUANTITIES["coverage"].factors["m2/l"] == 1000


def test_sealer_by_coat() -> None:
    need = sealer.sealer_need(F(450), (F(225), F(300)), F(25), F(10), F(2))
    assert need.coated_area_ft2 == 495
    assert [coat.gallons for coat in need.coats] == [F("2.2"), F("1.65")]
    assert need.gallons == F("3.85")
    assert need.dry_mil == 2 + sealer.dry_mil(F(225), F(25)) + sealer.dry_mil(F(300), F(25))


@pytest.mark.parametrize(
    ("area", "rate", "solids"), [(0, 225, 25), (450, 0, 25), (450, 225, 0), (450, 225, 101)]
)
def test_sealer_of_nothing(area: int, rate: int, solids: int) -> None:
    with pytest.raises(InputError):
        sealer.sealer_need(F(area), [F(rate)], F(solids))


def test_every_stage_has_its_cautions() -> None:
    for kind in KINDS:
        assert cautions.cautions(*kind.cautions)
    for key in (*cautions.MATTERS, *(kind.key for kind in KINDS)):
        for caution in cautions.cautions(key):
            assert caution.text[0].isupper()
            assert caution.text[-1] in "."


def test_sources_are_said_in_one_line_each() -> None:
    texts = [value for name, value in vars(sources).items() if name.isupper()]
    assert all(isinstance(text, str) and 0 < len(text) < 110 for text in texts)


def test_where_nothing_stayed_what_was_brought_counts_and_else_each_alike() -> None:
    assert weights([PlacedLoad("1", F(6), None, F(3)), PlacedLoad("2", F(2), None)]) == [F(3, 5), F(2, 5)]
    assert weights([PlacedLoad("1", F(6), None, F(0)), PlacedLoad("2", F(2), None, F(0))]) == [
        F(3, 4),
        F(1, 4),
    ]
    assert weights([PlacedLoad("1", F(6), None, F(0)), PlacedLoad("2", F(2), None)]) == [0, 1]
    assert weights([PlacedLoad("1", None, None), PlacedLoad("2", None, None)]) == [F(1, 2), F(1, 2)]


def test_a_load_of_no_yards_has_no_dose() -> None:
    found = placed_dose(
        [PlacedLoad("1", F(0), F(9)), PlacedLoad("2", F(1), F(9)), PlacedLoad("3", F(1), F(11))]
    )
    assert found is not None
    assert found.lb_per_yd3 == 10
    assert [(load.label, load.percent) for load in found.off] == [("2", -10), ("3", 10)]
    wider = placed_dose([PlacedLoad("2", F(1), F(9)), PlacedLoad("3", F(1), F(11))], F(10))
    assert wider is not None
    assert wider.off == ()


def test_all_solids_are_a_sealer_too_and_a_bare_slab_has_no_film() -> None:
    need = sealer.sealer_need(F(450), (F(225),), F(100))
    assert (need.relief_percent, need.existing_mil, need.dry_mil) == (0, 0, sealer.wet_mil(F(225)))
    assert [coat.number for coat in sealer.sealer_need(F(450), (F(225), F(300)), F(25)).coats] == [1, 2]
    assert powder_release(F(100), F(3)).fresh_lb == 3
    with pytest.raises(InputError):
        powder_release(F(9), F(3), [("Fox Ear", F(2)), ("Lamp Soot", F(-1))])
