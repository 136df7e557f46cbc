"""A sealer's own sheet, kept with the product: it judges a slab where it is known, the shop's usual else."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction as F
from pathlib import Path

import pytest

from finishlog.desk.doubts import ready, sealer_sheet
from finishlog.desk.doubts.odd import Doubt
from finishlog.desk.record import taking_back
from finishlog.desk.services import Services
from finishlog.errors import InputError
from finishlog.records.quantities.weather import SealerLimits, WeatherNow
from tests.desk.care_shop import PATIO, Clock, care_shop, poured, seal

FINE = WeatherNow(F(72), F(50), F(58), None, F(58), F(18), "cooling", True, "none")
COAT = "Badger Coat"


@pytest.fixture
def services(tmp_path: Path) -> Iterator[Services]:
    with care_shop(tmp_path, Clock()) as made:
        poured(made, PATIO)
        seal(made, "2023-05-10 10:00")
        yield made


def test_what_is_kept_wins_and_what_is_not_known_is_the_shops(services: Services) -> None:
    usual = ready.seal(services, PATIO, None, FINE)
    assert usual.verdict == "no"  # dry for 18 h, the shop's usual is 24 h
    assert usual.by_sheet == ()
    assert any("sheet" in text for text in usual.unknown)
    _, known = sealer_sheet.keep(services, COAT, {"sealer-rain-free": "12 h", "sealer-low": "13 C"})
    assert known == SealerLimits(low_f=F("55.4"), rain_free_h=F(12))
    found = ready.seal(services, PATIO, None, FINE)
    assert found.verdict == "yes"
    assert found.by_sheet == ("low_f", "rain_free_h")
    assert found.limits is not None
    assert (found.limits.high_f, found.limits.rain_free_h) == (services.shop().seal_slab_high_f, 12)
    rows = sealer_sheet.rows(found.limits, found.by_sheet)
    assert [whose for what, _, whose in rows if what in ("Stay dry for", "Slab to")] == [
        "the shop's usual",
        "its own sheet",
    ]


def test_what_is_told_now_wins_over_what_is_kept(services: Services) -> None:
    sealer_sheet.keep(services, COAT, {"sealer-rain-free": "12 h"})
    found = ready.seal(services, PATIO, None, FINE, SealerLimits(rain_free_h=F(20)))
    assert (found.verdict, found.by_sheet) == ("no", ("rain_free_h",))


@pytest.mark.parametrize(
    ("texts", "now", "verdict"),
    [
        ({"sealer-dew-margin": "8 F"}, {"surface_f": F(59)}, "no"),  # the dew point is 52.3 °F
        ({"sealer-dew-margin": "3 F"}, {"surface_f": F(56)}, "yes"),
        ({"sealer-high": "57 F"}, {}, "no"),
        ({"sealer-humidity": "45"}, {}, "wait"),
    ],
)
def test_each_limit_of_the_sheet(
    services: Services, texts: dict[str, str], now: dict[str, F], verdict: str
) -> None:
    from dataclasses import replace

    sealer_sheet.keep(services, COAT, {"sealer-rain-free": "12 h", **texts})
    weather = replace(FINE, coolest_f=None, **now)
    assert ready.seal(services, PATIO, None, weather).verdict == verdict


def test_the_next_coat_goes_by_the_sheet(services: Services) -> None:
    seal(services, "2026-06-16 03:40", reseal="yes", because="it was dry")
    second = WeatherNow(F(72), F(50), F(70), trend="cooling", shade=True)
    assert ready.seal(services, PATIO, None, second).verdict == "yes"  # 4 h, usual 2 to 24
    sealer_sheet.keep(services, COAT, {"sealer-recoat-from": "30 h"})
    found = ready.seal(services, PATIO, None, second)
    assert (found.verdict, found.limits and found.limits.recoat_to_h) == ("wait", 30)


def test_a_coat_is_judged_by_its_sealers_sheet_and_the_verdict_kept(services: Services) -> None:
    sealer_sheet.keep(services, COAT, {"sealer-low": "65 F"})
    told = {"slab_f": "60 F", "air_f": "72 F", "humidity_percent": "50", "reseal": "yes"}
    with pytest.raises(Doubt, match="under 65 °F"):
        seal(services, "2026-06-16 07:00", **told)
    done = seal(services, "2026-06-16 07:00", because="a warm front came", **told)
    with services.log().reading() as log:
        [advice] = log.advices(PATIO)
    assert '"low_f": 65' in advice.answer
    taking_back.undo(services, PATIO, done.entry.number)


def test_a_blank_is_unknown_again_and_the_rest_stays(services: Services) -> None:
    sealer_sheet.keep(services, COAT, {"sealer-low": "55 F", "sealer-age": "21"})
    assert sealer_sheet.keep(services, COAT, {"sealer-low": ""})[1] == SealerLimits(age_days=21)
    assert sealer_sheet.keep(services, COAT, {"sealer-age": ""})[1] == SealerLimits()
    assert services.log().check().ok


@pytest.mark.parametrize(
    ("texts", "where"),
    [
        ({"sealer-low": "90 F", "sealer-high": "50 F"}, "--sealer-low"),
        ({"sealer-recoat-from": "30 h", "sealer-recoat-to": "4 h"}, "--sealer-recoat-from"),
        ({"sealer-humidity": "130"}, "--sealer-humidity"),
        ({"sealer-dew-margin": "60 C"}, "--sealer-dew-margin"),
        ({"sealer-dew-margin": "0 F"}, "--sealer-dew-margin"),
        ({"sealer-rain-free": "-3 h"}, "--sealer-rain-free"),
        ({"sealer-age": "soon"}, "--sealer-age"),
    ],
)
def test_what_cannot_be_names_its_option(services: Services, texts: dict[str, str], where: str) -> None:
    with pytest.raises(InputError) as caught:
        sealer_sheet.keep(services, COAT, texts)
    assert caught.value.where == where
    assert sealer_sheet.look(services, COAT)[1] == SealerLimits()


def test_a_limit_that_contradicts_what_is_kept_is_refused(services: Services) -> None:
    sealer_sheet.keep(services, COAT, {"sealer-low": "55 F"})
    with pytest.raises(InputError) as caught:
        sealer_sheet.keep(services, COAT, {"sealer-high": "40 F"})
    assert caught.value.where == "--sealer-low"


def test_a_sealer_that_is_none_lists_those_there_are(services: Services) -> None:
    with pytest.raises(InputError) as caught:
        sealer_sheet.look(services, "Otter Back")
    assert COAT in caught.value.line()
