"""The balance load matches the job it belongs to, to the ounce."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from fractions import Fraction as F
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishlog.desk.balance import words as balance_words
from finishlog.desk.balance.answer import BalanceAnswer, BalanceRequest, balance
from finishlog.desk.balance.as_json import balance_json
from finishlog.errors import InputError, LimitError
from finishlog.records.log import (
    Area,
    Customer,
    Entry,
    Job,
    Load,
    MaterialUse,
    Mix,
    Product,
    Recipe,
    Site,
    Stage,
    StageMaterial,
)
from finishlog.records.shop import Shop
from finishlog.trade.pour.takeoff import read_shape
from finishlog.units import Dose, ounces

NOW = datetime(2026, 6, 16, 18, 0, tzinfo=UTC)
TOAST = Product("p1", "Otter Toast", "pigment", "Thimble Works", pack_lb=5.0)
SOOT = Product("p2", "Lamp Soot", "pigment", "Thimble Works")
MIX = Mix("m1", "Gravelpit", "4000X", "Type I/II", None, 480.0, "slag", 84.0)


class Services:
    """A shop, its past slabs and one job, without a log on disk."""

    def __init__(self, job: Job | None = None, past: Sequence[float] = (), **settings: str) -> None:
        self.job, self.past, self.settings = job, past, settings

    def shop(self) -> Shop:
        return Shop.from_values(self.settings)

    def past_errors(self) -> Sequence[float]:
        return self.past

    def clock(self) -> datetime:
        return NOW

    def log(self) -> Any:
        @contextmanager
        def reading() -> Iterator[Any]:
            yield SimpleNamespace(resolve=lambda handle: handle, job=lambda handle: self.job)

        return SimpleNamespace(reading=reading)


def load(
    number: int, yards: float, *uses: tuple[Product, float], lot: str | None = "T-9", **more: Any
) -> Entry:
    happened = NOW - timedelta(minutes=more.pop("ago", 40))
    return Entry(
        number, f"e{number}", "load", happened, happened, area="a1", exactness=more.pop("exactness", "exact"),
        load=Load(yards=yards, mix=more.pop("mix", MIX), slump_in=4.5, **more),
        materials=tuple(MaterialUse(product, pounds, "lb", lot) for product, pounds in uses),
    )  # fmt: skip


def job(*entries: Entry, recipe: Recipe | None = None, depth: float | None = 4.0) -> Job:
    field = Area("a1", "field", area_ft2=445.0, depth_in=depth, recipe=recipe)
    return Job(
        "j1", "otterbank", "back yard", Customer("c1", "Nobody Inparticular"), Site("s1", "9 Nowhere Bend"),
        areas=(field,), entries=entries, history=entries,
    )  # fmt: skip


def ask(services: Services | None = None, remaining: str = "6x18", **more: Any) -> BalanceAnswer:
    more.setdefault("depth_in", F(4))
    panels = (read_shape("rect", remaining),)
    return balance(services or Services(), BalanceRequest(panels, **more))  # type: ignore[arg-type]


def test_the_worked_case() -> None:
    # 5.5 yd ordered, about 6 needed, the plant's minimum of 2 ordered back (common practice, no source).
    # 6 yd3 with a depth error of 0 and no waste are 486 ft2 of 4 in; 5.5 fill 445.5 of them, 40.5 remain.
    day = job(load(1, 5.5, (TOAST, 92.95)))
    answer = ask(Services(day, past=[-0.05] * 15), "4.5x9", job="otterbank", waste_percent=F(0), air_f=F(85))
    assert answer.advice is not None
    assert answer.loads is not None
    assert answer.pigment is not None
    assert float(answer.short_yd3) == pytest.approx(0.5, abs=0.001)
    assert answer.advice.best.order_yd3 == 2
    assert answer.loads.loads_yd3 == (2,)
    assert answer.pigment.dose_lb_per_yd3 == F("16.9")
    assert [load.pigment_lb for load in answer.pigment.loads] == [F(33) + F(13, 16)]
    assert float(answer.leftover_yd3) == pytest.approx(1.5, abs=0.02)
    assert answer.samples >= 29
    assert any("color mixes poorly" in caution.text for caution in answer.cautions)


def test_the_jobs_own_loads_give_the_dose_and_the_words_for_the_plant() -> None:
    day = job(load(1, 4.0, (TOAST, 68.0)), load(2, 2.0, (TOAST, 33.0), ago=35))
    answer = ask(Services(day), job="otterbank")
    assert answer.pigment is not None
    assert answer.dose_from == "loads"
    assert answer.pigment.dose_lb_per_yd3 == F(101, 6)
    assert answer.job == "otterbank"
    told = " ".join(answer.tell_plant)
    assert "mix 4000X" in told
    assert "lot T-9" in told
    assert "slump 4.50 in, as before" in told
    assert "no water after the color" in told
    # the pack is the product's own
    first = answer.pigment.loads[0]
    assert first.packs is not None
    assert first.remainder_lb is not None
    assert first.packs * 5 + first.remainder_lb == first.pigment_lb
    assert first.rounding_error_percent is not None
    assert answer.edge.minutes == 35


def test_a_blend_keeps_each_part() -> None:
    day = job(load(1, 6.0, (TOAST, 60.0), (SOOT, 5.0)))
    answer = ask(Services(day), job="otterbank")
    assert answer.pigment is not None
    parts = {part.name: part for part in answer.pigment.parts}
    assert parts["Otter Toast"].dose_lb_per_yd3 == 10
    assert parts["Lamp Soot"].dose_lb_per_yd3 == F(5, 6)
    for number, whole in enumerate(answer.pigment.loads):
        assert sum(part.loads_lb[number] for part in answer.pigment.parts) == whole.pigment_lb
    assert any("Lamp Soot" in line[1] for line in balance_words.load_lines(answer))


def test_the_recipe_stands_in_and_says_so() -> None:
    color = Stage(1, "integral_color", materials=(StageMaterial(TOAST, None, 9.0, "lb/yd3"),))
    day = job(load(1, 6.0), recipe=Recipe("r1", "toast", (color,)))
    answer = ask(Services(day), job="otterbank")
    assert answer.pigment is not None
    assert answer.dose_from == "recipe"
    assert answer.pigment.dose_lb_per_yd3 == 9
    assert "no load shows" in balance_words.dose_line(answer)


def test_a_job_without_a_dose_is_asked_for_one() -> None:
    day = Services(job(load(1, 6.0)))
    with pytest.raises(InputError, match="no pigment dose") as caught:
        ask(day, job="otterbank")
    assert "--dose" in caught.value.line()
    answer = ask(day, job="otterbank", dose=Dose(F(7), "lb/yd3"))
    assert answer.pigment is not None
    assert answer.dose_from == "asked"


def test_without_any_dose_the_yards_are_still_told() -> None:
    answer = ask()
    assert answer.pigment is None
    assert answer.loads is not None
    assert answer.loads.loads_yd3 == (2,)
    assert "No dose" in balance_words.dose_line(answer)
    assert balance_json(answer)["pigment"] is None
    assert balance_json(answer)["loads"] == [{"yards": 2}]


def test_percent_and_sack_doses_stand_on_the_mix() -> None:
    percent = ask(dose=Dose(F(3), "%"), cement_lb_per_yd3=F(480), scm_lb_per_yd3=F(84))
    assert percent.pigment is not None
    assert percent.pigment.dose_lb_per_yd3 == F("16.92")
    assert percent.pigment.percent_of_cementitious == 3
    of_job = ask(Services(job(load(1, 6.0, (TOAST, 60.0)))), job="otterbank", dose=Dose(F(3), "%"))
    assert of_job.pigment is not None
    assert of_job.pigment.dose_lb_per_yd3 == F("16.92")


def test_over_the_limit_is_refused() -> None:
    # ASTM C979/C979M §1.4: 10 % of cement; 48 lb/yd3 with 480 lb/yd3 of cement.
    at = ask(Services(job(load(1, 1.0, (TOAST, 48.0)))), job="otterbank")
    assert at.pigment is not None
    assert at.pigment.percent_of_cement == 10
    with pytest.raises(LimitError):
        ask(Services(job(load(1, 1.0, (TOAST, 48.1)))), job="otterbank")
    with pytest.raises(LimitError):
        ask(dose=Dose(F("56.41"), "lb/yd3"))


def test_what_is_on_the_truck_may_do() -> None:
    answer = ask(left_yd3=F(3), dose=Dose(F(7), "lb/yd3"))
    assert answer.advice is None
    assert answer.pigment is None
    assert answer.short_yd3 == 0
    assert "order nothing" in balance_words.sentence(answer)
    told = balance_json(answer)
    assert (told["order_yd3"], told["loads"], told["options"]) == (0, [], [])
    assert answer.leftover_yd3 > 1


def test_a_band_left_open_may_save_the_day() -> None:
    enough = ask(left_yd3=F("0.6"), bands=(read_shape("rect", "18x4"),))
    assert enough.band is not None
    assert (enough.band.area_ft2, enough.band.field_ft2, enough.band.enough) == (72, 36, True)
    assert "band open" in balance_words.sentence(enough)
    short = ask(left_yd3=F("0.1"), bands=(read_shape("rect", "18x1"),))
    assert short.band is not None
    assert not short.band.enough
    with pytest.raises(InputError, match="No field"):
        ask(bands=(read_shape("rect", "6x18"),))


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"minutes": F(70), "air_f": F(85)}, "edge is too stiff"),
        ({"minutes": F(20), "air_f": F(85), "truck_in_minutes": F(45)}, "edge will be too stiff"),
        ({"felt": "stiff"}, "edge is too stiff"),
        (
            {"minutes": F(35), "air_f": F(85)},
            "ask how long the truck takes: the edge holds about 25 min more.",
        ),
        (
            {"minutes": F(35), "air_f": F(85), "truck_in_minutes": F(24)},
            "takes 24 min, the edge holds about 25 min.",
        ),
        ({"minutes": F(35), "air_f": F(85), "truck_in_minutes": F(25)}, "edge will be too stiff"),
        ({"truck_in_minutes": F(24)}, "the truck takes 24 min: feel the edge; its age is unknown."),
        ({}, "Order 2.00 yd³; ask how long the truck takes."),
    ],
)
def test_the_edge_decides_what_to_do_first(more: dict[str, Any], words: str) -> None:
    assert words in balance_words.sentence(ask(**more))


@given(
    st.none() | st.integers(0, 200).map(F),
    st.none() | st.integers(0, 200).map(F),
    st.none() | st.integers(30, 110).map(F),
)
def test_the_truck_is_in_time_where_the_edge_is_not_stiff_yet(
    minutes: F | None, truck: F | None, air: F | None
) -> None:
    answer = ask(minutes=minutes, truck_in_minutes=truck, air_f=air)
    known = minutes is not None and truck is not None
    limit = 60 if air is None or air >= 85 else 90 if air <= 65 else 90 - (air - 65) * 30 / 20
    assert answer.in_time == (minutes + truck < limit if known else None)  # type: ignore[operator]
    assert any("truck take" in line for line in answer.asks) is (truck is None)
    assert any("open edge" in line for line in answer.asks) is (minutes is None)
    assert any("air" in line for line in answer.asks) is (air is None)
    assert dict(balance_words.truck_lines(answer))["Truck"]


def test_a_blend_goes_into_bags_by_each_share_of_the_cementitious() -> None:
    """60 and 5 lb in 6 yd3 of 564 lb: .01773 and .00148 lb to the pound; 12 lb of cement to the bag."""
    day = job(load(1, 6.0, (TOAST, 60.0), (SOOT, 5.0)))
    answer = ask(
        Services(day, past=[0.0] * 30), "3x8", job="otterbank", bag_cement_lb=F(12), left_yd3=F("0.1")
    )
    assert answer.bags is not None
    number = answer.bags.bags
    assert (number - 1) * F("0.6") < answer.bags.rest_yd3 * 27 <= number * F("0.6")
    assert {part.name: part.lb_per_bag for part in answer.bags.parts} == {
        "Otter Toast": F(60, 6) / 564 * 12,
        "Lamp Soot": F(5, 6) / 564 * 12,
    }
    assert [part.total_lb for part in answer.bags.parts] == [
        F(10, 564) * 12 * number,
        F(5, 6) / 564 * 12 * number,
    ]


def test_without_the_mixes_cement_no_pigment_is_reckoned_into_bags() -> None:
    answer = ask(remaining="3x8", left_yd3=F("0.1"), dose=Dose(F(10), "lb/yd3"), bag_cement_lb=F(12))
    assert answer.bags is not None
    assert [part.lb_per_bag for part in answer.bags.parts] == [None]
    assert any("the truck's mix" in line for line in answer.asks)
    assert "both are needed" in dict(balance_words.way_lines(answer))[""]


def test_what_is_on_the_truck_needs_no_other_way() -> None:
    answer = ask(left_yd3=F(3), dose=Dose(F(7), "lb/yd3"))
    assert (answer.bags, answer.asks, balance_words.way_lines(answer)) == (None, (), [])
    assert not any(caution.key in ("bulkhead", "bags") for caution in answer.cautions)


@pytest.mark.parametrize("ago", [-5, 13 * 60])
def test_an_old_load_is_no_clock(ago: int) -> None:
    answer = ask(Services(job(load(1, 6.0, (TOAST, 60.0), ago=ago))), job="otterbank")
    assert answer.edge.minutes is None
    assert answer.state is None
    day_only = Services(job(load(1, 6.0, (TOAST, 60.0), exactness="day")))
    assert ask(day_only, job="otterbank").edge.minutes is None


def test_the_depth_is_the_jobs_own_where_it_was_not_said() -> None:
    day = Services(job(load(1, 6.0, (TOAST, 60.0)), depth=5.0))
    assert ask(day, job="otterbank", depth_in=None).take_off.depth_in == 5
    with pytest.raises(InputError, match="depth"):
        ask(depth_in=None)
    with pytest.raises(InputError, match="depth"):
        ask(Services(job(load(1, 6.0, (TOAST, 60.0)), depth=None)), job="otterbank", depth_in=None)


def test_an_area_that_is_none_lists_those_there_are() -> None:
    with pytest.raises(InputError, match="no such area") as caught:
        ask(Services(job(load(1, 6.0, (TOAST, 60.0)))), job="otterbank", area="moat")
    assert "field" in caught.value.line()


def test_history_and_probes_move_what_is_needed() -> None:
    deep = ask(Services(past=[1.0] * 30))
    flat = ask(Services(past=[0.0] * 30))
    assert deep.volume_yd3 > flat.volume_yd3
    assert ask(Services(past=[1.0] * 30), history=False).volume_yd3 == ask().volume_yd3
    assert ask(probes_in=(F(1), F(1))).volume_yd3 > ask().volume_yd3


def test_the_plants_terms_are_kept() -> None:
    answer = ask(remaining="20x18", minimum_yd3=F(3), increment_yd3=F(1, 2), truck_yd3=F(4))
    assert answer.advice is not None
    assert answer.loads is not None
    assert answer.advice.best.order_yd3 % F(1, 2) == 0
    assert all(yards <= 4 for yards in answer.loads.loads_yd3)
    none = ask(minimum_yd3=F(0), remaining="1x1")
    assert none.advice is not None
    assert none.advice.best.order_yd3 >= F(1, 4)


@given(
    st.fractions(F(1, 100), 40, max_denominator=1000),
    st.integers(1, 60),
    st.integers(1, 60),
    st.sampled_from([F(0), F(1, 4), F(3)]),
)
def test_the_pigment_is_the_dose_to_the_ounce(dose: F, length: int, width: int, minimum: F) -> None:
    answer = ask(remaining=f"{length}x{width}", dose=Dose(dose, "lb/yd3"), minimum_yd3=minimum, pack_lb=F(5))
    assert answer.advice is not None
    assert answer.pigment is not None
    yards = sum(load.yards for load in answer.pigment.loads)
    assert yards == answer.advice.best.order_yd3
    weighed = sum(load.pigment_lb for load in answer.pigment.loads)
    assert weighed * 16 == ounces(dose * yards)
    for load_ in answer.pigment.loads:
        assert abs(load_.pigment_lb - dose * load_.yards) < F(1, 16)
        assert load_.packs is not None
        assert load_.remainder_lb is not None
        assert load_.packs * 5 + load_.remainder_lb == load_.pigment_lb


@given(st.integers(1, 12), st.integers(1, 12), st.integers(1, 200))
def test_the_dose_of_the_loads_is_matched_to_the_ounce(first: int, second: int, pounds: int) -> None:
    day = job(load(1, float(first), (TOAST, float(pounds))), load(2, float(second), (TOAST, float(pounds))))
    try:
        answer = ask(Services(day), job="otterbank")
    except LimitError:
        assert F(2 * pounds, first + second) > 48
        return
    assert answer.pigment is not None
    assert answer.pigment.dose_lb_per_yd3 == F(2 * pounds, first + second)
    weighed = sum(load.pigment_lb for load in answer.pigment.loads)
    assert weighed * 16 == ounces(answer.pigment.dose_lb_per_yd3 * sum(x.yards for x in answer.pigment.loads))
