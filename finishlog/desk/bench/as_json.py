"""The answers of `yards`, `dose` and `film` as JSON. The keys are stable; each names its unit."""

from __future__ import annotations

from typing import Any

from finishlog.desk.plain_data import number
from finishlog.records.quantities.dose import DoseAnswer, PigmentLoad
from finishlog.records.quantities.film import FilmAnswer
from finishlog.records.quantities.order import OrderPrices, YardsAnswer

Json = dict[str, Any]
CHANCE_PLACES = 6
"""Of a chance: one in a hundred thousand is not none."""


def answer_json(answer: YardsAnswer | DoseAnswer | FilmAnswer) -> Json:
    """Any of the three answers as one JSON object."""
    if isinstance(answer, YardsAnswer):
        return yards_json(answer)
    return dose_json(answer) if isinstance(answer, DoseAnswer) else film_json(answer)


def yards_json(answer: YardsAnswer) -> Json:
    """The answer of `yards`: the keys are stable, each names its unit."""
    advice, take = answer.order, answer.take_off
    return {
        "area_ft2": number(take.area_ft2),
        "depth_in": number(take.depth_in),
        "edges_yd3": number(take.edges_yd3),
        "volume_yd3": number(take.volume_yd3),
        "order_yd3": number(advice.best.order_yd3),
        "chance_short": number(advice.best.chance_short, CHANCE_PLACES),
        "expected_leftover_yd3": number(advice.best.expected_leftover_yd3),
        "expected_leftover_cost": number(advice.best.expected_leftover_cost, 2),
        "options": [
            {
                "order_yd3": number(option.order_yd3),
                "chance_short": number(option.chance_short, CHANCE_PLACES),
                "expected_cost": number(option.expected_cost, 2),
                "expected_leftover_yd3": number(option.expected_leftover_yd3),
            }
            for option in advice.options
        ],
        "loads": [{"yards": number(load)} for load in answer.loads.loads_yd3],
        "assumptions": _assumptions(answer),
        "cautions": [caution.text for caution in answer.cautions],
        "sources": list(answer.sources),
    }


def _assumptions(answer: YardsAnswer) -> Json:
    advice = answer.order
    prices = {name: number(getattr(advice.prices, name)) for name in OrderPrices.__dataclass_fields__}
    return {
        **prices,
        "truck_yd3": number(answer.truck_yd3),
        "waste_percent": number(advice.waste_percent),
        "depth_error_mean_in": number(advice.error.mean_in),
        "depth_error_scale_in": number(advice.error.scale_in),
        "degrees_of_freedom": advice.error.freedom,
        "past_slabs": advice.error.past,
        "probes": advice.error.probes,
        "probe_sd_in": number(advice.error.probe_sd_in),
        "method": advice.method,
    }


def pigment_load_json(load: PigmentLoad) -> Json:
    """One load of pigment, as `dose` and `match` answer it."""
    return {
        "yards": number(load.yards),
        "pigment_lb": number(load.pigment_lb),
        "packs": load.packs,
        "remainder_lb": number(load.remainder_lb),
        "rounding_error_percent": number(load.rounding_error_percent),
    }


def dose_json(answer: DoseAnswer) -> Json:
    """The answer of `dose`; of a liquid, `pigment_lb` is the dry pigment, the loads weigh liquid."""
    rates = answer.rates
    return {
        "dose_lb_per_yd3": number(rates.lb_per_yd3),
        "dose_kg_per_m3": number(rates.kg_per_m3),
        "dose_lb_per_sack": number(rates.lb_per_sack),
        "percent_of_cementitious": number(rates.percent_of_cementitious),
        "percent_of_cement": number(rates.percent_of_cement),
        "limit_percent_of_cement": number(answer.limit_percent_of_cement),
        "cement_lb_per_yd3": number(answer.cement_lb_per_yd3),
        "scm_lb_per_yd3": number(answer.scm_lb_per_yd3),
        "cement_assumed": answer.cement_assumed,
        "pigment_lb": number(answer.pigment_lb),
        "solids_percent": number(answer.solids_percent),
        "weighed_lb": number(answer.plan.weighed_lb),
        "pack_lb": number(answer.plan.pack_lb),
        "loads": [pigment_load_json(load) for load in answer.plan.loads],
        "truck_yd3": number(answer.truck_yd3),
        "minimum_yd3": number(answer.minimum_yd3),
        "cautions": [caution.text for caution in answer.cautions],
        "sources": list(answer.sources),
    }


def film_json(answer: FilmAnswer) -> Json:
    """The answer of `film`; thicknesses are estimates."""
    need = answer.need
    return {
        "area_ft2": number(need.area_ft2),
        "relief_percent": number(need.relief_percent),
        "coated_area_ft2": number(need.coated_area_ft2),
        "solids_percent": number(need.solids_percent),
        "gallons": number(need.gallons),
        "coats": [
            {
                "coat": coat.number,
                "coverage_ft2_per_gal": number(coat.coverage_ft2_per_gal),
                "gallons": number(coat.gallons),
                "wet_mil": number(coat.wet_mil),
                "dry_mil": number(coat.dry_mil),
            }
            for coat in need.coats
        ],
        "existing_dry_mil": number(need.existing_mil),
        "total_dry_mil": number(need.dry_mil),
        "alarm_mil": number(answer.alarm_mil),
        "cautions": [caution.text for caution in answer.cautions],
        "sources": list(answer.sources),
    }
