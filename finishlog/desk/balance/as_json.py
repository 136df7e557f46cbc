"""The answer of `balance` as JSON. The keys are stable; each names its unit."""

from __future__ import annotations

from typing import Any

from finishlog.desk.balance.answer import BalanceAnswer
from finishlog.desk.balance.words import sentence
from finishlog.desk.bench.as_json import pigment_load_json
from finishlog.desk.plain_data import number
from finishlog.desk.plan.as_json import pigment_json
from finishlog.trade.pour.balance import STATES

Json = dict[str, Any]


def balance_json(answer: BalanceAnswer) -> Json:
    """The balance load: what remains, the edge, where it can stop, what is sent, what is left."""
    advice = answer.advice
    return {
        "answer": sentence(answer),
        "job": answer.job,
        "remaining": _remaining(answer),
        "edge": _edge(answer),
        "stops": [
            {
                "width_ft": number(stop.width_ft),
                "fills_ft": number(stop.fills_ft),
                "of_ft": number(stop.of_ft),
                "rest_ft2": number(stop.rest_ft2),
            }
            for stop in answer.stops
        ],
        "band": _band(answer),
        "order_yd3": number(advice.best.order_yd3) if advice else 0,
        "chance_short": number(advice.best.chance_short if advice else answer.short_now),
        "options": [
            {
                "order_yd3": number(option.order_yd3),
                "chance_short": number(option.chance_short),
                "expected_cost": number(option.expected_cost, 2),
                "expected_leftover_yd3": number(option.expected_leftover_yd3),
            }
            for option in (advice.options if advice else ())
        ],
        "loads": _loads(answer),
        "pigment": pigment_json(answer.pigment) if answer.pigment else None,
        "dose_from": answer.dose_from or None,
        "leftover": {"expected_yd3": number(answer.leftover_yd3), "samples_2x2_ft": answer.samples},
        "bags": _bags(answer),
        "asks": list(answer.asks),
        "tell_plant": list(answer.tell_plant) if advice else [],
        "cautions": [caution.text for caution in answer.cautions],
        "sources": list(answer.sources),
    }


def _remaining(answer: BalanceAnswer) -> Json:
    return {
        "area_ft2": number(answer.take_off.area_ft2),
        "depth_in": number(answer.take_off.depth_in),
        "depth_error_mean_in": number(answer.error.mean_in),
        "past_slabs": answer.error.past,
        "probes": answer.error.probes,
        "waste_percent": number(answer.waste_percent),
        "neat_yd3": number(answer.take_off.volume_yd3),
        "volume_yd3": number(answer.volume_yd3),
        "left_on_truck_yd3": number(answer.left_yd3),
        "short_yd3": number(answer.short_yd3),
        "chance_short_now": number(answer.short_now),
    }


def _edge(answer: BalanceAnswer) -> Json:
    edge = answer.edge
    return {
        "state": edge.now,
        "words": STATES[edge.now] if edge.now else None,
        "state_at_arrival": edge.at_arrival,
        "felt": edge.felt,
        "minutes_since": number(edge.minutes),
        "air_f": number(edge.air_f),
        "hurry_from_minutes": number(edge.hurry_minutes),
        "stop_at_minutes": number(edge.stop_minutes),
        "minutes_left": number(edge.left_minutes),
        "truck_in_minutes": number(answer.truck_in_minutes),
        "truck_in_time": answer.in_time,
    }


def _bags(answer: BalanceAnswer) -> Json | None:
    bags = answer.bags
    if bags is None:
        return None
    return {
        "bags": bags.bags,
        "bag_lb": number(bags.bag_lb),
        "yield_ft3": number(bags.yield_ft3),
        "rest_yd3": number(bags.rest_yd3),
        "cement_lb_per_bag": number(bags.cement_lb),
        "pigments": [
            {"name": part.name, "lb_per_bag": number(part.lb_per_bag), "total_lb": number(part.total_lb)}
            for part in bags.parts
        ],
    }


def _band(answer: BalanceAnswer) -> Json | None:
    band = answer.band
    if band is None:
        return None
    return {
        "area_ft2": number(band.area_ft2),
        "field_ft2": number(band.field_ft2),
        "field_yd3": number(band.field_yd3),
        "enough": band.enough,
    }


def _loads(answer: BalanceAnswer) -> list[Json]:
    if answer.pigment is not None:
        return [pigment_load_json(load) for load in answer.pigment.loads]
    return [{"yards": number(yards)} for yards in (answer.loads.loads_yd3 if answer.loads else ())]
