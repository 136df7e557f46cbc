"""What a blend says, in words of the trade."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from finishlog.desk.blend import ladder as blend_ladder
from finishlog.desk.blend.samples import Samples
from finishlog.desk.words import listed
from finishlog.inputs.entry.details import DOSE_ENDS
from finishlog.records.color import SampleRow
from finishlog.records.quantities.cautions import Caution
from finishlog.units import count, exact, fixed, write

if TYPE_CHECKING:
    from finishlog.color.pigment.blend import Blend, Unclear
    from finishlog.desk.blend.answers import BlendAnswer

_WHY = {
    "in no sample": "No sample has {0}: pour three with it alone.",
    "never without the other": "{0} are in one ratio in every sample, so they cannot be told apart: "
    "pour each of them alone.",
    "no plain cement": "No sample is free of {0}: pour a plain one, without pigment.",
    "hardly shows": "The samples barely show {0}: reading error hides its effect. "
    "Pour more of it, and take three photos of each.",
}
_ADVICE = {
    "in reach": "Pour the ladder, let it lighten, read it, and blend again.",
    "more pigment no longer changes it": "This much pigment no longer changes the color: less may look the same, and "
    "the gap needs another pigment. Pour the ladder before you order.",
    "out of reach": "Out of reach with these pigments: this is the closest. Show it as a sample, or try others.",
}
NOT_TOLD = "The samples cannot tell: pour the ones listed, read them, and blend again."
AFTER_LADDER = "The ladder is read: pour one more sample at this dose, and have it approved."
STEADY = "Read each dry and bare once it lightens, from three photos."


def why(unclear: Unclear, pigments: Sequence[str]) -> str:
    """Why pigments cannot be told, and what to pour."""
    return _WHY[unclear.why].format(listed(pigments[i] for i in unclear.pigments))


def advice(found: Blend, ladder_read: bool) -> str:
    """What to do with a blend."""
    return AFTER_LADDER if ladder_read and found.verdict == "in reach" else _ADVICE[found.verdict]


def cautions(
    samples: Samples,
    rows: Sequence[SampleRow],
    pigments: Sequence[str],
    found: Blend,
    ladder: Sequence[SampleRow],
) -> tuple[Caution, ...]:
    """What limits this blend."""
    lines = [*_samples_lines(samples, rows), *_beyond(rows, pigments, found.doses)]
    if own := [row.name for row in ladder if row in rows]:
        lines.append(f"Used as the ladder: {_numbered(own)}, of one ratio and near the wanted color.")
    if not ladder and found.verdict != "out of reach":
        lines.append("Until you read the ladder this is arithmetic: no sample has this dose yet.")
    lines.append("Same cement, sand and water as the job: a different cement is a different color.")
    lines.append("Tell the customer: a sample to approve, never a promise.")
    return tuple(Caution("blend", line) for line in lines)


def _samples_lines(samples: Samples, rows: Sequence[SampleRow]) -> list[str]:
    single = [row.name for row in rows if row.photos == 1]
    lines = []
    if single:
        lines.append(
            f"{count(len(single), 'sample')} of {len(rows)} read from one photo: take three of each."
        )
    if young := [name for name in samples.young if any(row.name == name for row in rows)]:
        lines.append(
            f"Still lightening when last read: {_numbered(young)}. They get lighter; read them again."
        )
    if samples.unread:
        lines.append(f"{count(samples.unread, 'sample')} not read yet.")
    return lines


def _numbered(names: Sequence[str]) -> str:
    return f"{'sample' if len(names) == 1 else 'samples'} {listed(names)}"


def _beyond(rows: Sequence[SampleRow], pigments: Sequence[str], doses: Sequence[float]) -> list[str]:
    """Pigments that the blend takes more of than any sample holds."""
    beyond = [
        name
        for name, percent in zip(pigments, doses, strict=True)
        if percent > max((row.doses.get(name, 0.0) for row in rows), default=0.0) + 0.05
    ]
    return [f"More {listed(beyond)} than any sample has: pour that before you trust it."] if beyond else []


def sentence(answer: BlendAnswer) -> str:
    """How sure the blend is, then what to do; the doses go under it."""
    found = answer.found
    if found is None:
        return "Cannot tell: the samples do not show what these pigments do."
    if answer.verdict == "out of reach":
        return f"Out of reach. The closest is ΔE00 {found.de00:.1f} from the wanted color."
    sure = f"9 in 10 within ΔE00 {found.radius90_de00:.1f}."
    if answer.verdict == "more pigment no longer changes it":
        return f"{sure} More pigment no longer changes it."
    return f"{sure} {'Pour one more sample at it.' if answer.ladder_read else 'Pour the ladder first.'}"


def dose_lines(answer: BlendAnswer, system: str) -> list[tuple[str, ...]]:
    """Pigment by pigment, the total with its limit, and the color."""
    found = answer.found
    if found is None:
        return []
    rows: list[tuple[str, ...]] = [
        (
            name,
            f"{fixed(exact(percent), 2)} %",
            write("dose_lb_per_yd3", exact(found.lb_per_yd3[name]), system),
        )
        for name, percent in found.doses.items()
    ]
    content = write("content_lb_per_yd3", answer.content_lb_per_yd3, system)
    usual = ", the shop's usual: ask the plant" if answer.content_assumed else ""
    limit = f"limit {fixed(exact(found.limit_percent), 2)} % of {content} cementitious{usual}"
    whole = write("dose_lb_per_yd3", exact(sum(found.lb_per_yd3.values())), system)
    rows.append(("Total", f"{fixed(exact(sum(found.doses.values())), 2)} %", whole, limit))
    rows.append(("Wanted", "", "", _color(answer.target)))
    rows.append(("Result", "", "", f"{_color(found.lab)}, ΔE00 {found.de00:.1f} off"))
    return rows


def ladder_lines(answer: BlendAnswer) -> list[tuple[str, ...]]:
    """The samples to pour, one a line."""
    return [
        (
            f"× {rung.factor:g}",
            ", ".join(
                f"{fixed(exact(percent), 2)} % {name}" for name, percent in rung.doses.items() if percent
            ),
            _color(rung.lab),
        )
        for rung in answer.ladder
    ]


def how_to_log(answer: BlendAnswer) -> list[str]:
    """The commands by which a rung comes into the log, so that the next blend goes by it."""
    middle = next((rung for rung in answer.ladder if rung.factor == 1), None)
    return [] if middle is None else list(blend_ladder.how_to_log(middle.doses, len(DOSE_ENDS)))


def _color(lab: Sequence[float]) -> str:
    return "L*a*b* " + " ".join(f"{value:.1f}" for value in lab)
