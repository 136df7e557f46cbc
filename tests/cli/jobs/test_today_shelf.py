"""`today` and `shelf` as other programs and people call them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
JOB = "barnaby-puddlecombe-side-walk"


@pytest.fixture
def shop(finishlog: Run, tmp_path: Path) -> Run:
    """A log with one walk whose pour ended yesterday at 11:20."""
    log = str(tmp_path / "shop.finishlog")

    def run(*argv: str) -> Any:
        return finishlog("--log", log, *argv)

    assert finishlog("new", log).status == 0
    made = run("job", "new", "--customer", "Barnaby Puddlecombe", "--job", "side walk", "--street",
               "12 Teakettle Lane", "--areas", "field 30x4 4in")  # fmt: skip
    assert made.status == 0, made.err
    assert run("record", JOB, "pour", "--at", "yesterday 11:20a", "--by", "Mo").status == 0
    return run


def test_the_list_as_json(shop: Run) -> None:
    found = shop("today", "--json").json()
    rinse = next(line for line in found if line["what"] == "rinse")
    assert rinse["job"] == JOB
    assert rinse["state"] == "open"
    assert rinse["opens_at"] == "2026-06-16T05:20:00-05:00"
    assert rinse["closes_at"] == "2026-06-19T11:20:00-05:00"
    assert "eye protection" in rinse["caution"]
    assert list(rinse)[:6] == ["job", "what", "state", "opens_at", "closes_at", "caution"]
    assert {line["state"] for line in found} == {"open", "slipped", "opens"}


def test_the_list_as_text(shop: Run) -> None:
    text = shop("today").out
    assert text.startswith("Rinse due by Fri 11:20a. 3 open, 1 slipped.\n")
    for words in (
        "Open\n",
        "Slipped\n",
        "! Joints",
        "2 h 20 min late",
        "Opens next\n",
        "○ Photo, day 3",
        "Thu",
    ):
        assert words in text
    assert "20 h old. Rinse at 24 to 48 h" in " ".join(text.split())


def test_by_a_day(shop: Run) -> None:
    def coming(*argv: str) -> set[str]:
        return {line["title"] for line in shop("today", "--json", *argv).json() if line["state"] == "opens"}

    assert coming("--by", "2026-06-16") == set()
    assert coming("--by", "2026-06-18") == {"Photo, day 3"}
    assert "Seal" in coming("--by", "2026-07-13")
    assert shop("today", "--by", "2026-06-01").status == 2
    assert shop("today", "--by", "soon").status == 2


def test_done_put_off_not_for_this_job_and_taken_back(shop: Run) -> None:
    def what() -> list[str]:
        return [line["what"] for line in shop("today", "--json").json()]

    assert shop("record", JOB, "rinse").status == 0
    assert not {"rinse", "sweep"} & set(what())
    assert shop("undo", JOB).status == 0
    off = shop("today", "--put-off", JOB, "rinse", "--until", "tomorrow 7a")
    assert "Rinse: put off until Wed Jun 17, 7a." in off.out
    rinse = next(line for line in shop("today", "--json").json() if line["what"] == "rinse")
    assert (rinse["state"], rinse["said"]) == ("opens", "tomorrow 7a")
    gone = shop("today", "--not-for", JOB, "sweep", "--json").json()
    assert gone["facts"] == {"what": "sweep"}
    assert "sweep" not in what()
    assert shop("undo", JOB, str(gone["number"])).status == 0
    assert "sweep" in what()


NO_TODAY: tuple[tuple[str, ...], ...] = (
    ("--put-off", JOB, "rinse"),
    ("--put-off", JOB, "rinse", "--until", "yesterday"),
    ("--put-off", JOB, "rinse", "--until", "2020-01-01"),
    ("--put-off", JOB, "varnish", "--until", "tomorrow"),
    ("--put-off", "nobody", "rinse", "--until", "tomorrow"),
    ("--not-for", JOB, "photo 9"),
    ("--not-for", JOB, "rinse", "--until", "tomorrow"),
    ("--not-for", JOB, "rinse", "--put-off", JOB, "rinse"),
    ("--until", "tomorrow"),
    ("--not-for", JOB, "rinse\0"),
)


def test_what_cannot_be_is_one_line_and_changes_nothing(shop: Run) -> None:
    before = shop("today", "--json").out
    for argv in NO_TODAY:
        ran = shop("today", *argv)
        assert (ran.status, ran.out, ran.err.count("\n")) == (2, "", 1), (argv, ran)
    assert shop("today", "--json").out == before


def test_the_shelf_by_commands(shop: Run, tmp_path: Path) -> None:
    bought = shop("shelf", "buy", "Otter Back", "--kind", "powder release", "--lot", "0329", "--amount", "50 lb",
                  "--price", "150", "--at", "2026-06-01", "--json").json()  # fmt: skip
    assert (bought["number"], bought["held"]["left"], bought["held"]["usd_per_unit"]) == (1, 50, 3)
    assert shop("record", JOB, "powder_release", "--at", "yesterday 10a", "--product", "Otter Back", "--lot", "0329",
                "--amount", "8 lb").status == 0  # fmt: skip
    assert shop("record", JOB, "sweep", "--set", "reclaimed_lb=2").status == 0
    [line] = shop("shelf", "--json").json()
    assert (line["left"], line["reclaimed_left"], line["state"], line["unit"]) == (42, 2, "left", "lb")
    assert shop("shelf").out.startswith(
        "Nothing runs out soon.\n\n  ● Otter Back  lot 0329  42 lb left, 2 lb reclaimed"
    )
    pdf = tmp_path / "bucket.pdf"
    assert shop("shelf", "label", "Otter Back", "--lot", "0329", "--pdf", str(pdf)).status == 0
    assert pdf.read_bytes().startswith(b"%PDF")
    assert shop("shelf", "label", "Otter Back", "--lot", "0329", "--pdf", str(pdf)).status == 2
    assert "$/ft" not in shop("shelf", "cost", "--json").out
    [cost] = shop("shelf", "cost", "--json").json()
    assert cost["usd"] == 24
    assert shop("shelf", "undo").out.startswith("2  Undone: Bought 50 lb")
    assert [one["current"] for one in shop("shelf", "moves", "--json").json()] == [False, False]


NO_SHELF: tuple[tuple[str, ...], ...] = (
    ("eat", "Otter Back"),
    ("buy",),
    ("buy", "Otter Back", "--amount", "50 lb"),
    ("buy", "Otter Back", "--kind", "powder release", "--amount", "0"),
    ("buy", "Otter Back", "--kind", "powder release", "--amount", "-5"),
    ("buy", "Otter Back", "--kind", "powder release", "--amount", "nan"),
    ("buy", "Otter Back", "--kind", "powder release", "--price", "-3"),
    ("buy", "Otter Back", "--kind", "cheese"),
    ("buy", "Otter Back", "--kind", "pigment", "--job", "nobody"),
    ("count", "Otter Back", "--kind", "pigment"),
    ("undo",),
    ("undo", "x"),
    ("label", "Otter Back"),
    ("label", "Otter Back", "--pdf", "never.pdf"),
    ("cost", "nobody"),
    ("--pdf", "never.pdf"),
)


def test_what_the_shelf_cannot_be_told_is_one_line(shop: Run) -> None:
    for argv in NO_SHELF:
        ran = shop("shelf", *argv)
        assert (ran.status, ran.err.count("\n")) == (2, 1), (argv, ran)
    assert shop("shelf", "moves", "--json").json() == []


def test_the_evening_before_a_pour_its_job_shows_the_look_ahead(shop: Run) -> None:
    shop("job", "new", "--customer", "Minnow Gravelpit", "--job", "apron", "--street", "3 Wobble Street",
         "--areas", "field 20x12 4in", "--planned-on", "2026-06-17")  # fmt: skip
    shown = shop("show", "minnow", "--json").json()["ahead"]
    assert shown == shop("today", "--ahead", "minnow", "--json").json()
    assert shown["when"] == "tomorrow, Wed Jun 17"
    out = shop("show", "minnow").out
    assert "Ahead: Minnow Gravelpit · apron, tomorrow, Wed Jun 17" in out
    assert "Nothing logged: ask before you stake" in out
    assert "Ahead:" not in shop("show", JOB).out


def test_the_look_ahead_at_a_planned_pour(shop: Run) -> None:
    made = shop("job", "new", "--customer", "Minnow Gravelpit", "--job", "apron", "--street", "3 Wobble Street",
                "--areas", "field 20x12 4in", "--planned-on", "2026-07-02")  # fmt: skip
    assert made.status == 0, made.err
    found = shop("today", "--ahead", "minnow", "--json").json()
    assert {part["key"] for part in found["parts"]} == {
        "rinse",
        "joint",
        "material",
        "buried",
        "weather",
        "sample",
    }
    assert "weekend" in shop("today", "--ahead", "minnow").out
    assert shop("show", "minnow", "--json").json()["ahead"] is None  # more than a day ahead
    assert "Ahead:" not in shop("show", "minnow").out
    assert shop("today", "--ahead", JOB).status == 2
