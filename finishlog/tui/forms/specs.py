"""Form fields of what may be logged."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from finishlog.inputs.entry import hints
from finishlog.tui.forms import fields as painted

if TYPE_CHECKING:
    from finishlog.desk.forms.plan_offers import Planned
    from finishlog.inputs.asking import Field


def of_fields(
    fields: Iterable[Field],
    values: Mapping[str, str],
    choices: Mapping[str, tuple[str, ...]] | None = None,
    prefix: str = "",
    planned: Mapping[str, Planned] | None = None,
) -> list[painted.Field]:
    """A spec per field, in order; a blank row starts each group.

    A `planned` figure is the hint and the first choice, never filled in.
    """
    asked = list(fields)
    groups, plan = hints.groups(asked), planned or {}
    return [
        painted.Field(
            replace(
                field,
                key=prefix + field.key,
                ask=field.ask or f"Needed, {hints.sample(field)}.",
                choices=_with_plan((choices or {}).get(field.key, field.choices), plan.get(field.key)),
            ),
            start=values.get(field.key, ""),
            hint=_planned(plan.get(field.key)) or hints.hint(field),
            gap=at > 0 and groups[at] != groups[at - 1],
            strict=bool(field.choices),
        )
        for at, field in enumerate(asked)
    ]


def _planned(figure: Planned | None) -> str:
    return f"planned {figure.said}" if figure else ""


def _with_plan(choices: tuple[str, ...], figure: Planned | None) -> tuple[str, ...]:
    if figure is None or not figure.take:
        return choices
    return (figure.take, *(each for each in choices if each != figure.take))
