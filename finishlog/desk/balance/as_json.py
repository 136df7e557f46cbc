"""The answer of `balance` as JSON. The keys are stable; each names its unit."""

from __future__ import annotations

from finishlog.desk.balance.answer import BalanceAnswer
from finishlog.desk.balance.words import sentence
from finishlog.desk.bench.as_json import PIGMENT_LOAD
from finishlog.desk.plain_data import Json, footing, number, pick
from finishlog.desk.plan.as_json import pigment_json
from finishlog.trade.pour.balance import STATES

_REMAINING = (
    "take_off.area_ft2 take_off.depth_in depth_error_mean_in=error.mean_in past_slabs=error.past error.probes",
    "waste_percent neat_yd3=take_off.volume_yd3 volume_yd3 left_on_truck_yd3=left_yd3 short_yd3",
    "chance_short_now=short_now",
)
_EDGE = (
    "felt minutes_since=minutes air_f hurry_from_minutes=hurry_minutes stop_at_minutes=stop_minutes",
    "minutes_left=left_minutes",
)
_BAGS = "bags bag_lb yield_ft3 rest_yd3 cement_lb_per_bag=cement_lb"


def balance_json(answer: BalanceAnswer) -> Json:
    """The balance load: what remains, the edge, where it can stop, what is sent, what is left."""
    advice, bags, band = answer.advice, answer.bags, answer.band
    parts = [pick(part, "name lb_per_bag total_lb") for part in bags.parts] if bags else []
    options = advice.options if advice else ()
    return {
        "answer": sentence(answer),
        "job": answer.job,
        "remaining": pick(answer, *_REMAINING),
        "edge": _edge(answer),
        "stops": [pick(stop, "width_ft fills_ft of_ft rest_ft2") for stop in answer.stops],
        "band": pick(band, "area_ft2 field_ft2 field_yd3 enough") if band else None,
        "order_yd3": number(advice.best.order_yd3) if advice else 0,
        "chance_short": number(advice.best.chance_short if advice else answer.short_now),
        "options": [
            pick(option, "order_yd3 chance_short expected_cost:2 expected_leftover_yd3") for option in options
        ],
        "loads": _loads(answer),
        "pigment": pigment_json(answer.pigment) if answer.pigment else None,
        **pick(answer, "dose_from?"),
        "leftover": pick(answer, "expected_yd3=leftover_yd3 samples_2x2_ft=samples"),
        "bags": {**pick(bags, _BAGS), "pigments": parts} if bags else None,
        **pick(answer, "asks"),
        "tell_plant": list(answer.tell_plant) if advice else [],
        **footing(answer),
    }


def _edge(answer: BalanceAnswer) -> Json:
    edge = answer.edge
    return {
        "state": edge.now,
        "words": STATES[edge.now] if edge.now else None,
        "state_at_arrival": edge.at_arrival,
        **pick(edge, *_EDGE),
        **pick(answer, "truck_in_minutes truck_in_time=in_time"),
    }


def _loads(answer: BalanceAnswer) -> list[Json]:
    if answer.pigment is not None:
        return [pick(load, PIGMENT_LOAD) for load in answer.pigment.loads]
    return [{"yards": number(yards)} for yards in (answer.loads.loads_yd3 if answer.loads else ())]
