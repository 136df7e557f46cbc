"""The fields of what may be logged, as a form shows them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from finishlog.tui.forms import Spec

if TYPE_CHECKING:
    from finishlog.inputs.asking import Field


def of_fields(
    fields: Iterable[Field],
    values: Mapping[str, str],
    choices: Mapping[str, tuple[str, ...]] | None = None,
    prefix: str = "",
) -> list[Spec]:
    """One spec for each field, in their order; a group begins after a blank row."""
    found: list[Spec] = []
    group: str | None = None
    for field in fields:
        offered = (choices or {}).get(field.key, field.choices)
        found.append(
            Spec(
                prefix + field.key,
                field.title,
                field.echo,
                start=values.get(field.key, ""),
                required=f"It is needed, like {field.example}." if field.required else "",
                hint=_hint(field),
                gap=group is not None and field.group != group,
                choices=offered,
                strict=bool(field.choices),
            )
        )
        group = field.group
    return found


def _hint(field: Field) -> str:
    words = ", ".join(field.choices)
    return words if words and len(words) <= 30 else field.help or f"like {field.example}"
