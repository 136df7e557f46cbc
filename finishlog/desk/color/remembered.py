"""What takes seconds to learn, kept beside the machine's other made things under the hash of what it was learned from.

Any program start finds it again; a changed reading has another hash. A file that cannot be read or written only
costs the learning anew.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from finishlog import paths

T = TypeVar("T")

FORM = "6"
"""Part of the hash: a change of the arithmetic or of the fields needs another."""
WORTH_S = 0.2
"""What is learned faster is not kept."""
MOST_FILES = 48


def remembered(
    name: str, kind: type[T], of: object, learn: Callable[[], T], parts: tuple[type[Any], ...]
) -> T:
    """What `learn` makes of `of` (told apart by its repr): from the file if there is one.

    `parts` are the dataclasses that the answer may hold; nothing else is ever made of a file.
    """
    key = hashlib.sha256(f"{FORM}\n{name}\n{of!r}".encode()).hexdigest()
    place = paths.cache_folder() / "learned" / f"{name}-{key}.json"
    known = {part.__name__: part for part in (kind, *parts)}
    with suppress(OSError, ValueError, KeyError, TypeError):
        found = _made(json.loads(place.read_bytes()), known)
        if isinstance(found, kind):
            return found
    began = time.perf_counter()
    answer = learn()
    if time.perf_counter() - began > WORTH_S:
        with suppress(OSError):
            _keep(place, json.dumps(_plain(answer), separators=(",", ":")))
    return answer


def _keep(place: Path, text: str) -> None:
    """Whole or not at all, for the user alone; the oldest go."""
    place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    handle, part = tempfile.mkstemp(dir=place.parent, suffix=".part")
    with os.fdopen(handle, "w", encoding="utf-8") as out:
        out.write(text)
    os.replace(part, place)
    old = sorted(place.parent.glob("*"), key=lambda one: one.stat().st_mtime)
    for one in old[:-MOST_FILES]:
        one.unlink(missing_ok=True)


def _plain(value: Any) -> Any:
    """As JSON; floats come back exactly."""
    if isinstance(value, np.ndarray):
        return {"array": value.ravel().tolist(), "shape": value.shape}
    if is_dataclass(value):
        named = {each.name: _plain(getattr(value, each.name)) for each in fields(value)}
        return {"part": type(value).__name__, "of": named}
    if isinstance(value, Mapping):
        return {"map": [[key, _plain(one)] for key, one in value.items()]}
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return value.item() if isinstance(value, np.generic) else value


def _made(value: Any, known: Mapping[str, type[Any]]) -> Any:
    if isinstance(value, list):
        return tuple(_made(one, known) for one in value)
    if not isinstance(value, dict):
        return value
    if "array" in value:
        return np.array(value["array"], dtype=np.float64).reshape(value["shape"])
    if "map" in value:
        return {key: _made(one, known) for key, one in value["map"]}
    return known[value["part"]](**{name: _made(one, known) for name, one in value["of"].items()})
