"""The shop's usual rates: medians from its own log."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction
from statistics import median
from typing import TYPE_CHECKING

from finishlog.desk.placed import shares
from finishlog.trade.stages import KINDS

if TYPE_CHECKING:
    from finishlog.desk.doubts.amounts import Own
    from finishlog.store import Reader

LEARNED = tuple(kind.key for kind in KINDS if kind.rate is not None and kind.rate.learned)
ENOUGH = 5
"""Slabs that tell what is usual of a shop (ours)."""
NEWEST = 40
"""Jobs that are looked at: what was usual years ago tells less."""


def of(log: Reader, without: str) -> Own:
    """By kind of entry the middle of the newest jobs' rates and of how many slabs, `without` this job."""
    handles = [line.handle for line in log.lines(limit=NEWEST) if line.handle != without and line.poured_on]
    rates: dict[str, list[Fraction]] = defaultdict(list)
    for job in log.jobs(handles).values():
        for entry in job.of_kind(*LEARNED):
            told = shares.rate(job, entry)
            if told is not None and told > 0:
                rates[entry.kind].append(told)
    return {kind: (median(some), len(some)) for kind, some in rates.items() if len(some) >= ENOUGH}
