"""The answer of `blend` as JSON. The keys are stable; each names its unit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from finishlog.desk.blend.blend import BlendAnswer
from finishlog.desk.blend.words import sentence
from finishlog.desk.plain_data import number

Json = dict[str, Any]


def blend_json(answer: BlendAnswer) -> Json:
    """Doses by pigment, the color they are thought to give, how sure, the ladder, what is not known."""
    found = answer.found
    return {
        "answer": sentence(answer),
        "target_lab": _lab(answer.target),
        "verdict": answer.verdict,
        "advice": answer.advice,
        "doses_percent": _doses(found.doses) if found else None,
        "doses_lb_per_yd3": _doses(found.lb_per_yd3) if found else None,
        "total_percent": number(sum(found.doses.values())) if found else None,
        "limit_percent": number(found.limit_percent) if found else None,
        "predicted_lab": _lab(found.lab) if found else None,
        "predicted_lab_sd": _lab(found.lab_sd) if found else None,
        "de00": number(found.de00) if found else None,
        "radius90_de00": number(found.radius90_de00) if found else None,
        "levels_off_percent": number(found.levels_off_percent) if found else None,
        "ladder": [
            {"factor": rung.factor, "doses_percent": _doses(rung.doses), "predicted_lab": _lab(rung.lab)}
            for rung in answer.ladder
        ],
        "ladder_read": answer.ladder_read,
        "ladder_samples": list(answer.ladder_samples),
        "not_known": [{"pigments": list(each.pigments), "why": each.why} for each in answer.unknown],
        "samples": answer.samples,
        "cement": answer.cement,
        "cementitious_lb_per_yd3": number(answer.content_lb_per_yd3),
        "cementitious_assumed": answer.content_assumed,
        "cautions": [caution.text for caution in answer.cautions],
        "sources": list(answer.sources),
    }


def _doses(doses: Mapping[str, float]) -> Json:
    return {name: number(value) for name, value in doses.items()}


def _lab(values: Iterable[float]) -> list[float | int | None]:
    return [number(value, 2) for value in values]
