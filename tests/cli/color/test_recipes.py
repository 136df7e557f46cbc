"""Pours of one finish that a paper log tells one by one: joined as they come in, or offered; parted again."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from finishlog.__main__ import main
from finishlog.desk.color import recipes
from finishlog.store.reading import having

HEADER = "customer,job,street,poured_on,yards,cement_kind,base,dose,release,base_color,color_age\n"
SAME = {"cement": "Type I/II", "base": "Wednesday Toast", "dose": "7 lb/yd3", "release": "Otter Back"}
Called = tuple[int, str, str]
Call = Callable[..., Called]


@pytest.fixture
def call(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Call:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FINISHLOG_NOW", "2026-06-16T12:00-05:00")
    monkeypatch.delenv("FINISHLOG_LOG", raising=False)

    def run(*argv: str) -> Called:
        status = main(["--log", "shop.finishlog", *argv])
        out, err = capsys.readouterr()
        return status, out, err

    return run


def row(number: int, **other: str) -> str:
    told = SAME | other
    return (
        f"Hollis Numbletoft,patio {number},{number} Snail Stair,2025-06-{number + 10},6,{told['cement']},"
        f'{told["base"]},{told["dose"]},{told["release"]},"58, 5, 13",28\n'
    )


def brought_in(call: Call, *rows: str) -> str:
    Path("pours.csv").write_text(HEADER + "".join(rows))
    status, out, err = call("import", *(() if Path("shop.finishlog").exists() else ("--new",)), "pours.csv")
    assert status == 0, err
    return out


def taught(call: Call, number: int) -> int:
    """How many other slabs of its recipe tell of this patio."""
    status, out, err = call("color", f"hollis-numbletoft-patio-{number}", "--json")
    assert status == 0, err
    found: int = json.loads(out)["recipe_jobs"]
    return found


def listed(call: Call) -> list[dict[str, object]]:
    found: list[dict[str, object]] = json.loads(call("recipes", "--json")[1])["groups"]
    return found


def test_pours_of_one_finish_come_in_as_one_recipe_and_the_import_says_so(call: Call) -> None:
    out = brought_in(call, *(row(number) for number in range(1, 5)))
    assert "Joined, for the color forecast" in out
    assert "4 recipes of 4 slabs: Wednesday Toast 7 lb/yd³; release Otter Back; cement Type I/II." in out
    assert [taught(call, number) for number in (1, 4)] == [3, 3]
    said = call("color", "hollis-numbletoft-patio-2")[1]
    assert "3 of this recipe" in said
    assert "4 recipes joined" in said


@pytest.mark.parametrize(
    "other",
    [
        {"dose": "7.5 lb/yd3"},
        {"dose": "6.6 lb/yd3"},
        {"dose": ""},
        {"cement": "white Type I"},
        {"cement": ""},
        {"release": "Badger Back"},
        {"release": ""},
        {"base": "Thursday Toast"},
    ],
    ids=lambda other: " ".join(f"{key} {value or 'unsaid'}" for key, value in other.items()),
)
def test_what_makes_another_color_is_another_recipe(call: Call, other: dict[str, str]) -> None:
    out = brought_in(call, row(1), row(2), row(3, **other))
    assert "2 recipes of 2 slabs" in out
    assert [taught(call, number) for number in (1, 2, 3)] == [1, 1, 0]


@pytest.mark.parametrize("dose", ["7.3 lb/yd3", "6.7 lb/yd3"])
def test_a_dose_within_the_shops_tolerance_is_the_same(call: Call, dose: str) -> None:
    brought_in(call, row(1), row(2), row(3, dose=dose))
    assert taught(call, 3) == 2


def test_doses_that_creep_are_not_joined_from_one_to_the_next(call: Call) -> None:
    """Each is within the tolerance of the next, the first and the last are not."""
    brought_in(call, *(row(at, dose=f"{7 * 1.045**at:.3f} lb/yd3") for at in range(1, 6)))
    assert max(taught(call, number) for number in range(1, 6)) == 2


def test_blends_are_joined_by_each_of_their_shades(call: Call) -> None:
    Path("pours.csv").write_text(HEADER.replace("base,dose", "base,base_2,dose,dose_2") + "".join(
        row(number).replace("Wednesday Toast,7 lb/yd3", f"Wednesday Toast,Lamp Soot,7 lb/yd3,{second} lb/yd3")
        for number, second in ((1, "0.5"), (2, "0.51"), (3, "0.7"))
    ))  # fmt: skip
    assert call("import", "--new", "pours.csv")[0] == 0
    assert [taught(call, number) for number in (1, 2, 3)] == [1, 1, 0]


def test_recipes_of_a_log_that_is_there_are_offered_and_only_joined_when_somebody_says_so(call: Call) -> None:
    brought_in(call, row(1))
    brought_in(call, row(2))
    assert taught(call, 2) == 0
    [group] = listed(call)
    assert group["offered"] == ["hollis-numbletoft-patio-2"]
    assert "Could be joined with hollis-numbletoft-patio-1" in call("recipes")[1]
    status, out, _ = call("recipes", "--join", "--by", "Bo")
    assert status == 0
    assert out.startswith("Joined 2 recipes of 2 slabs")
    assert (taught(call, 1), taught(call, 2)) == (1, 1)
    [group] = listed(call)
    assert group["offered"] == []
    assert group["joined"] == [
        {"job": "hollis-numbletoft-patio-2", "entry": 5, "by": "Bo", "on": "2026-06-16"}
    ]
    assert "Bo, Jun 16" in call("recipes")[1]
    assert call("recipes", "--join")[1] == "Nothing to join.\n"


@pytest.mark.parametrize("job", ["hollis-numbletoft-patio-1", "hollis-numbletoft-patio-2"])
def test_a_joining_is_taken_back_and_not_offered_again(call: Call, job: str) -> None:
    brought_in(call, row(1), row(2))
    assert taught(call, 2) == 1
    status, out, err = call("recipes", "--part", job, "--by", "Bo")
    assert status == 0, err
    assert out == "Parted: 1 recipe stands alone again.\n"
    assert (taught(call, 1), taught(call, 2)) == (0, 0)
    [group] = listed(call)
    assert (group["offered"], group["parted"]) == ([], 1)
    assert call("recipes", "--part", job)[0] == 2


def test_undo_takes_a_joining_back_too(call: Call) -> None:
    brought_in(call, row(1), row(2))
    [joined] = listed(call)[0]["joined"]  # type: ignore[misc]
    assert call("undo", joined["job"], str(joined["entry"]))[0] == 0  # type: ignore[index]
    assert taught(call, 1) == 0


@pytest.mark.parametrize("unsaid", ["dose", "cement", "release"])
def test_what_neither_pour_says_is_the_same(call: Call, unsaid: str) -> None:
    brought_in(call, row(1, **{unsaid: ""}), row(2, **{unsaid: ""}))
    assert taught(call, 2) == 1


def test_another_color_hardener_is_another_recipe(call: Call) -> None:
    thrown = ((1, "Bread Crust"), (2, "Bread Crust"), (3, ""))
    rows = [row(number).replace("\n", f",{hardener}\n") for number, hardener in thrown]
    Path("pours.csv").write_text(HEADER.replace("\n", ",hardener\n") + "".join(rows))
    assert call("import", "--new", "pours.csv")[0] == 0
    assert [taught(call, number) for number in (1, 2, 3)] == [1, 1, 0]


def test_a_number_that_is_none_is_refused(call: Call) -> None:
    brought_in(call, row(1), row(2))
    for wrong in ("7", "0", "x"):
        status, _, err = call("recipes", "--join", wrong)
        assert status == 2
        assert "--join" in err


def test_only_the_jobs_logged_last_are_looked_at_unless_all_are_asked_for(
    call: Call, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The oldest of four is left out, and said; numbers of groups and joinings are of what is shown."""
    for number in range(1, 5):
        brought_in(call, row(number))
    assert "logged last" not in call("recipes")[1]
    monkeypatch.setattr(recipes, "NEWEST", 3)
    assert listed(call)[0]["jobs"] == [f"hollis-numbletoft-patio-{number}" for number in (2, 3, 4)]
    assert "Only the 3 jobs logged last were looked at; all: finishlog recipes --all." in call("recipes")[1]
    whole = json.loads(call("recipes", "--all", "--json")[1])
    assert whole["only_newest_jobs"] is None
    assert len(whole["groups"][0]["jobs"]) == 4
    call("recipes", "--join")
    assert [taught(call, number) for number in range(1, 5)] == [0, 2, 2, 2]
    call("recipes", "--all", "--join")
    assert [taught(call, number) for number in range(1, 5)] == [3, 3, 3, 3]


def test_a_finish_looked_at_job_by_job_reads_no_other_jobs_entries(
    call: Call, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(1, 5):
        brought_in(call, row(number))
    read: list[int] = []
    whole = having.load_jobs
    monkeypatch.setattr(having, "load_jobs", lambda log, ids: (read.extend(ids), whole(log, ids))[1])
    monkeypatch.setattr(recipes, "NEWEST", 2)
    call("recipes")
    assert len(read) == 2
