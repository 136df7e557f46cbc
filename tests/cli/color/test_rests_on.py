"""`color --rests-on`: what the starting values stand on, for a person and for a program; no log is needed."""

from __future__ import annotations

from collections.abc import Callable

from finishlog.color.priors import figures
from tests.conftest import Ran

Run = Callable[..., Ran]


def test_every_figure_is_printed_with_its_source_in_eighty_columns(finishlog: Run) -> None:
    out = finishlog("color", "--rests-on").out
    assert max(map(len, out.splitlines())) <= 80
    words = " ".join(out.split())
    for title, group in figures.TABLE:
        assert f"\n{title}\n" in out
        for figure in group:
            assert figure.name in words
            assert " ".join(figure.source.split()) in words
    assert "weathering in the first year 0, 0, 0 ± 2, 0.4, 1 (L*, a*, b*)" in words


def test_a_program_reads_value_spread_unit_and_source(finishlog: Run) -> None:
    found = finishlog("color", "--rests-on", "--json").json()["figures"]
    assert len(found) == sum(len(group) for _, group in figures.TABLE)
    drying = next(one for one in found if one["name"].startswith("share of the lightening"))
    assert {**drying, "source": ""} == {
        "group": "Rinse day", "name": drying["name"], "value": [0.67], "sd": [0.14], "unit": "share",
        "basis": "published, size judged", "source": "",
    }  # fmt: skip
    assert "Levinson" in drying["source"]
