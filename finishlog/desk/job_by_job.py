"""What each of some jobs tells by itself, kept in the log: only jobs on which something was logged are read again."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from finishlog.records.answers import KeptLearned

if TYPE_CHECKING:
    from finishlog.store import Reader

SPOT = "each job"
"""What stands in place of a spot of what was learned (`finishlog.store.search.learned`)."""
FAR = 200
"""After so many entries more it is worth a write to say that what is kept still holds."""


@dataclass(frozen=True, slots=True)
class Told:
    """By handle, in the order asked, what each job tells, as JSON has it; what to keep of it, if anything."""

    values: Mapping[str, Any]
    unkept: KeptLearned | None


def told(
    log: Reader,
    name: str,
    form: str,
    handles: Sequence[str],
    make: Callable[[Sequence[str]], Mapping[str, Any]],
) -> Told:
    """What `make` answers of these jobs. It may rest on a job's entries and its areas' sizes alone, and on `form`."""
    moment = log.moment()
    kept = log.kept_learned(SPOT, name)
    token, held, since = _read(kept, form, moment.entry)
    if kept is not None and token == moment.token and held.keys() >= set(handles):
        return Told({handle: held[handle][1] for handle in handles}, None)
    areas = log.area_marks(handles)
    touched = log.since(since).jobs if held else frozenset[str]()
    wanted = [
        job for job in handles if job not in held or job in touched or held[job][0] != areas.get(job, "")
    ]
    made = make(wanted) if wanted else {}
    values = {job: made[job] if job in made else held[job][1] for job in handles}
    if not wanted and moment.entry - since <= FAR:
        return Told(values, None)
    body = json.dumps({job: [areas.get(job, ""), value] for job, value in values.items()})
    return Told(
        values, KeptLearned(SPOT, name, form, moment.entry, json.dumps({"token": moment.token}), body)
    )


def _read(kept: KeptLearned | None, form: str, entry: int) -> tuple[str, dict[str, Any], int]:
    """Token, values with the areas they hold for, and the newest entry known; nothing where that is no use."""
    with suppress(ValueError, KeyError, TypeError):
        if kept is not None and kept.form == form and kept.entry <= entry:
            return json.loads(kept.mark)["token"], dict(json.loads(kept.body)), kept.entry
    return "", {}, 0
