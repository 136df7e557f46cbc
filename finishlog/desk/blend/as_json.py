"""The answer of `blend` as JSON. The keys are stable; each names its unit."""

from __future__ import annotations

from finishlog.desk.blend.blend import BlendAnswer
from finishlog.desk.blend.words import sentence
from finishlog.desk.plain_data import Json, footing, number, pick

_FOUND = (
    "found.limit_percent predicted_lab=found.lab:2 predicted_lab_sd=found.lab_sd:2 found.de00",
    "found.radius90_de00 found.levels_off_percent",
)
_SAMPLES = "samples cement cementitious_lb_per_yd3=content_lb_per_yd3 cementitious_assumed=content_assumed"


def blend_json(answer: BlendAnswer) -> Json:
    """Doses by pigment, the color they are thought to give, how sure, the ladder, what is not known."""
    found = answer.found
    return {
        "answer": sentence(answer),
        **pick(answer, "target_lab=target:2 verdict advice"),
        **pick(answer, "doses_percent=found.doses doses_lb_per_yd3=found.lb_per_yd3"),
        "total_percent": number(sum(found.doses.values())) if found else None,
        **pick(answer, *_FOUND),
        "ladder": [
            {"factor": rung.factor, **pick(rung, "doses_percent=doses predicted_lab=lab:2")}
            for rung in answer.ladder
        ],
        **pick(answer, "ladder_read ladder_samples not_known=unknown", _SAMPLES),
        **footing(answer),
    }
