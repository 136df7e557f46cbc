"""Declares inputs: a pydantic model whose fields carry title, help, example and reader.

A blank means unknown and reads as None; errors name their field with an example. The source of
the text does not matter here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, PlainValidator, ValidationError
from pydantic_core import PydanticCustomError

from finishlog.errors import InputError
from finishlog.inputs import asking
from finishlog.inputs.asking import Wrong


class Input(BaseModel):
    """A set of typed fields. Values come from the readers; None for a blank."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)


Model = TypeVar("Model", bound=Input)


@dataclass(frozen=True, slots=True)
class _Reads:
    """Adapts a field's reader to pydantic, including its errors."""

    reader: Callable[[str], object]

    def __call__(self, text: object) -> object:
        if not isinstance(text, str):
            return text
        if not text.strip():
            return None
        try:
            return self.reader(text.strip())
        except InputError as wrong:
            what = " ".join(part for part in (wrong.title, wrong.cause) if part)
            raise PydanticCustomError("input", "{what}", {"what": what, "example": wrong.example}) from None


def typed(reader: Callable[[str], object]) -> PlainValidator:
    """The validator of a field that `reader` reads; blank text is None."""
    return PlainValidator(_Reads(reader))


def asked(title: str, help: str, example: str, *, group: str = "") -> Any:
    """Declares a field that is unknown by default."""
    return Field(
        default=None, title=title, description=help, examples=[example], json_schema_extra={"group": group}
    )


def columns(model: type[Input]) -> tuple[asking.Field, ...]:
    """The model's fields in the order of their declaration, each with its own reader."""
    return tuple(_column(key, field) for key, field in model.model_fields.items())


def _column(key: str, field: Any) -> asking.Field:
    marks = (mark.func for mark in field.metadata if isinstance(mark, PlainValidator))
    reader = next(mark.reader for mark in marks if isinstance(mark, _Reads))
    group = field.json_schema_extra["group"]
    return asking.column(key, field.title, field.description, field.examples[0], group, reader)


def read(model: type[Model], texts: Mapping[str, str]) -> tuple[Model | None, tuple[Wrong, ...]]:
    """The model read from texts by key, or None and all errors."""
    try:
        return model.model_validate(dict(texts)), ()
    except ValidationError as failure:
        return None, tuple(_wrong(error) for error in failure.errors(include_url=False, include_input=False))


def _wrong(error: Any) -> Wrong:
    key = str(error["loc"][0]) if error["loc"] else ""
    context = error.get("ctx", {})
    return Wrong(key, context.get("what", error["msg"]), context.get("example", ""))
