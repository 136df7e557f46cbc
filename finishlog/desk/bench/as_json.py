"""The answers of `yards`, `dose` and `film` as JSON. The keys are stable; each names its unit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishlog.desk.plain_data import Json, data, footing, number, pick
from finishlog.records.quantities.order import MONEY_PRICES

if TYPE_CHECKING:
    from finishlog.records.quantities.dose import DoseAnswer
    from finishlog.records.quantities.film import FilmAnswer
    from finishlog.records.quantities.order import YardsAnswer

PIGMENT_LOAD = "yards pigment_lb packs remainder_lb rounding_error_percent"
"""One load of pigment, as `dose` and `match` answer it."""
_OPTION = "order_yd3 chance_short:6 expected_cost:2 expected_leftover_yd3"
"""Six places of a chance: one in a hundred thousand is not none."""
_BEST = (
    "order.best.order_yd3 order.best.chance_short:6 order.best.expected_leftover_yd3",
    "order.best.expected_leftover_cost:2",
)
_ASSUMPTIONS = (
    "truck_yd3 order.waste_percent depth_error_mean_in=order.error.mean_in",
    "depth_error_scale_in=order.error.scale_in degrees_of_freedom=order.error.freedom",
    "past_slabs=order.error.past order.error.probes order.error.probe_sd_in order.method",
)
_DOSE = (
    "dose_lb_per_yd3=rates.lb_per_yd3 dose_kg_per_m3=rates.kg_per_m3 dose_lb_per_sack=rates.lb_per_sack",
    "rates.percent_of_cementitious rates.percent_of_cement limit_percent_of_cement cement_lb_per_yd3",
    "scm_lb_per_yd3 cement_assumed pigment_lb solids_percent plan.weighed_lb plan.pack_lb",
)
_FILM = "area_ft2 relief_percent coated_area_ft2 solids_percent gallons"
_COAT = "coat=number coverage_ft2_per_gal gallons wet_mil dry_mil"


def yards_json(answer: YardsAnswer) -> Json:
    """The answer of `yards`: the keys are stable, each names its unit."""
    return {
        **pick(answer.take_off, "area_ft2 depth_in edges_yd3 volume_yd3"),
        **pick(answer, *_BEST),
        "options": [pick(option, _OPTION) for option in answer.order.options],
        "loads": [{"yards": number(load)} for load in answer.loads.loads_yd3],
        "assumptions": {**data(answer.order.prices), **pick(answer, *_ASSUMPTIONS)},
        **footing(answer),
    }


_MONEY = ("expected_cost", "expected_leftover_cost")


def without_prices(told: Json) -> Json:
    """An answer in which yards are ordered, without the prices they were weighed with: null stands for each."""
    found = dict(told)
    for key, value in told.items():
        if key in _MONEY:
            found[key] = None
        elif key == "options":
            found[key] = [without_prices(option) for option in value]
        elif key == "assumptions":
            found[key] = {name: None if name in MONEY_PRICES else one for name, one in value.items()}
    return found


def dose_json(answer: DoseAnswer) -> Json:
    """The answer of `dose`; of a liquid, `pigment_lb` is the dry pigment, the loads weigh liquid."""
    return {
        **pick(answer, *_DOSE),
        "loads": [pick(load, PIGMENT_LOAD) for load in answer.plan.loads],
        **pick(answer, "truck_yd3 minimum_yd3"),
        **footing(answer),
    }


def film_json(answer: FilmAnswer) -> Json:
    """The answer of `film`; thicknesses are estimates."""
    return {
        **pick(answer.need, _FILM),
        "coats": [pick(coat, _COAT) for coat in answer.need.coats],
        **pick(answer, "existing_dry_mil=need.existing_mil total_dry_mil=need.dry_mil alarm_mil"),
        **footing(answer),
    }
