"""Frozen values as text and back, exactly: what was learned, as the log keeps it."""

from __future__ import annotations

import json
from base64 import b64decode, b64encode
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from hashlib import sha256
from typing import Any

import numpy as np

UNREADABLE = (ValueError, KeyError, TypeError, AttributeError)
"""What `unpacked` may raise of a text that is none of ours."""


def packed(value: object) -> str:
    """Numbers, texts, tuples, mappings with keys of text, arrays of floats and dataclasses of these, as JSON."""
    return json.dumps(_plain(value), separators=(",", ":"))


def unpacked(text: str, *kinds: type[Any]) -> Any:
    """The value; `kinds` are the dataclasses it may hold: nothing else is ever made. Raises one of UNREADABLE."""
    return _made(json.loads(text), {kind.__name__: kind for kind in kinds})


def form_of(version: str, *kinds: type[Any]) -> str:
    """Names a way of learning, by its version and the fields that hold what was learned."""
    told = [(kind.__name__, [each.name for each in fields(kind)]) for kind in kinds]
    return f"{version}-{sha256(repr(told).encode()).hexdigest()[:8]}"


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return {
            "array": b64encode(np.ascontiguousarray(value, "<f8").tobytes()).decode(),
            "shape": value.shape,
        }
    if is_dataclass(value):
        named = {each.name: _plain(getattr(value, each.name)) for each in fields(value)}
        return {"part": type(value).__name__, "of": named}
    if isinstance(value, Mapping):
        return {"map": [[_plain(key), _plain(one)] for key, one in value.items()]}
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return value.item() if isinstance(value, np.generic) else value


def _made(value: Any, known: Mapping[str, type[Any]]) -> Any:
    if isinstance(value, list):
        return tuple([_made(one, known) for one in value])
    if not isinstance(value, dict):
        return value
    if "array" in value:
        return np.frombuffer(b64decode(value["array"]), "<f8").reshape(value["shape"])
    if "map" in value:
        return {_made(key, known): _made(one, known) for key, one in value["map"]}
    return known[value["part"]](**{name: _made(one, known) for name, one in value["of"].items()})
