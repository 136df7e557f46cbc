"""The shop's usual rates: medians from its own log."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from fractions import Fraction
from statistics import median
from typing import TYPE_CHECKING

from finishlog.desk import job_by_job
from finishlog.desk.placed import shares
from finishlog.trade.stages import KINDS

if TYPE_CHECKING:
    from finishlog.desk.doubts.amounts import Own
    from finishlog.desk.services import Services
    from finishlog.records.log import Job
    from finishlog.store import Reader

LEARNED = tuple(kind.key for kind in KINDS if kind.rate is not None and kind.rate.learned)
ENOUGH = 5
"""Slabs that tell what is usual of a shop (ours)."""
NEWEST = 40
"""Jobs that are looked at: what was usual years ago tells less."""


Rates = Mapping[str, Sequence[str]]
"""A job's rates by kind of entry, as fractions."""


def of(log: Reader, without: str) -> Own:
    """By kind of entry the middle of the newest jobs' rates and of how many slabs, `without` this job."""
    return _middle(_rates(log, _newest(log)), without)


def kept(services: Services, without: str) -> Own:
    """The same, from what the log keeps of jobs on which nothing was logged since."""
    with services.log().reading() as log:
        told = job_by_job.told(log, "usual rates", "1", _newest(log), lambda jobs: _rates(log, jobs))
    if told.unkept is not None:
        services.log().keep_learned([told.unkept])
    return _middle(told.values, without)


def _newest(log: Reader) -> list[str]:
    return [line.handle for line in log.lines(limit=NEWEST) if line.poured_on]


def _rates(log: Reader, jobs: Sequence[str]) -> dict[str, Rates]:
    return {handle: _rates_of(job) for handle, job in log.jobs(jobs).items()}


def _rates_of(job: Job) -> Rates:
    rates: dict[str, list[str]] = defaultdict(list)
    for entry in job.of_kind(*LEARNED):
        told = shares.rate(job, entry)
        if told is not None and told > 0:
            rates[entry.kind].append(str(told))
    return rates


def _middle(told: Mapping[str, Rates], without: str) -> Own:
    rates: dict[str, list[Fraction]] = defaultdict(list)
    for handle, of_job in told.items():
        for kind, some in of_job.items():
            rates[kind] += [Fraction(each) for each in some if handle != without]
    return {kind: (median(some), len(some)) for kind, some in rates.items() if len(some) >= ENOUGH}
