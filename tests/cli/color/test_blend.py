"""`blend` as a person in the shop calls it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from finishlog.color.notation.space import difference
from finishlog.records.log import Reading
from finishlog.records.writing import NewArea, NewCustomer, NewEntry, NewJob, NewProduct, NewSample, NewSite
from finishlog.store import Log
from tests.color.pigment.test_blend import DOSES, exact

Run = Callable[..., Any]
NOW = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
PIGMENTS = (
    NewProduct("Rust", "pigment", "Puddle Minerals"),
    NewProduct("Soot", "pigment", "Puddle Minerals"),
)
KEYS = {
    *("answer", "target_lab", "verdict", "advice", "doses_percent", "doses_lb_per_yd3", "total_percent"),
    *("limit_percent", "predicted_lab", "predicted_lab_sd", "de00", "radius90_de00", "levels_off_percent"),
    *("ladder", "ladder_read", "ladder_samples", "not_known", "samples", "cement", "cementitious_lb_per_yd3"),
    *("cementitious_assumed", "cautions", "sources"),
}
WANTED = ",".join(f"{value:.2f}" for value in exact(DOSES[7:8])[0])


@pytest.fixture
def samples(tmp_path: Path) -> str:
    lines = ["# the plain one, three of each, three mixes", "Sample,Rust %,Soot,L,a,b,sd,photos"]
    for number, (doses, lab) in enumerate(zip(DOSES, exact(DOSES), strict=True), start=1):
        cells = [
            f"{number}",
            *(f"{dose:g}" for dose in doses),
            *(f"{value:.2f}" for value in lab),
            "0.4",
            "3",
        ]
        lines.append(",".join(cells))
    path = tmp_path / "samples.csv"
    path.write_text("\n".join(lines) + "\n")
    return str(path)


def test_the_answer_for_other_programs(finishlog: Run, samples: str) -> None:
    told = finishlog("blend", "--target", WANTED, "--samples", samples, "--json").json()
    assert set(told) == KEYS
    assert told["verdict"] == "in reach"
    assert told["doses_percent"] == pytest.approx({"Rust": 1, "Soot": 1}, abs=0.08)
    assert told["doses_lb_per_yd3"]["Rust"] == pytest.approx(told["doses_percent"]["Rust"] * 5.64, abs=1e-3)
    assert told["de00"] < 0.2
    assert [rung["factor"] for rung in told["ladder"]] == [0.8, 0.9, 1, 1.1, 1.2]
    assert set(told["ladder"][0]) == {"factor", "doses_percent", "predicted_lab"}
    assert told["predicted_lab"][0] == pytest.approx(told["target_lab"][0], abs=0.2)


def test_keys_hold_in_metric_and_the_words_change(finishlog: Run, samples: str) -> None:
    asked = ("blend", "--target", WANTED, "--samples", samples)
    assert finishlog("--units", "metric", *asked, "--json").json() == finishlog(*asked, "--json").json()
    text = finishlog("--units", "metric", *asked).out
    assert "kg/m³" in text
    assert "lb/yd³" not in text


def test_the_answer_for_people_says_how_sure_it_is_then_the_dose(finishlog: Run, samples: str) -> None:
    text = " ".join(finishlog("blend", "--target", WANTED, "--samples", samples).out.split())
    assert text.startswith("9 in 10 within ΔE00 ")
    assert text.index(" Rust ") < text.index("Pour the ladder, let it lighten")
    for words in ("Pour the ladder", "limit 10.00 % of 564 lb/yd³ cementitious", "× 0.8", "a sample to approve",
                  "ASTM C979"):  # fmt: skip
        assert words in text


def test_the_template_comes_back_once_it_is_filled(finishlog: Run, tmp_path: Path) -> None:
    path = tmp_path / "new.csv"
    told = finishlog("blend", "--template", str(path), "--pigments", "Rust, =Soot", "--json").json()
    assert told == {"file": str(path), "samples": 10}
    blank = finishlog("blend", "--target", WANTED, "--samples", str(path))
    assert (blank.status, blank.out) == (2, "")
    assert "No sample has been read yet" in blank.err
    lines = [line for line in path.read_text().splitlines() if not line.startswith("#")]
    filled = [lines[0]]
    for line in lines[1:]:
        cells = line.split(",")
        lab = exact([[float(cells[2]), float(cells[3])]])[0]
        filled.append(",".join([*cells[:4], *(f"{value:.3f}" for value in lab), *cells[7:]]))
    path.write_text("\n".join(filled))
    found = finishlog("blend", "--target", WANTED, "--samples", str(path), "--json").json()
    assert found["doses_percent"] == pytest.approx({"Rust": 1, "=Soot": 1}, abs=0.1)
    again = finishlog("blend", "--template", str(path), "--pigments", "Rust")
    assert again.status == 2


def test_a_ladder_that_was_read_is_used(finishlog: Run, samples: str, tmp_path: Path) -> None:
    asked = ("blend", "--target", WANTED, "--samples", samples)
    first = finishlog(*asked, "--json").json()
    lines = ["Rust,Soot,L,a,b,photos"]
    for rung in first["ladder"]:
        L, a, b = rung["predicted_lab"]
        lines.append(",".join(str(cell) for cell in (*rung["doses_percent"].values(), L - 1.5, a, b, 3)))
    ladder = tmp_path / "ladder.csv"
    ladder.write_text("\n".join(lines))
    told = finishlog(*asked, "--ladder-readings", str(ladder), "--json").json()
    assert told["ladder_read"] == 5
    assert told["total_percent"] < first["total_percent"]
    assert "approved" in told["advice"]


@pytest.fixture
def yard(tmp_path: Path) -> str:
    """A log with the samples of a test yard, poured 60 days ago and read."""
    path, uids = tmp_path / "yard.finishlog", count()
    log = Log.create(path, clock=lambda: NOW, new_uid=lambda: f"u{next(uids)}")
    poured = NOW - timedelta(days=60)
    job = NewJob(
        "yard", NewCustomer("Ottoline Gravelpit"), NewSite("7 Kettle Row"), areas=(NewArea("field"),)
    )
    with log.writing() as writer:
        handle = writer.add_job(job).handle
        for number, (doses, lab) in enumerate(zip(DOSES, exact(DOSES), strict=True), start=1):
            held = tuple((p, float(d)) for p, d in zip(PIGMENTS, doses, strict=True) if d)
            sample = NewSample(number, cement="Type IL, Millbrook", doses=held)
            L, a, b = map(float, lab)
            read = Reading(L, a, b, 0.4, 0.3, 0.4, sample=number)
            writer.add_entries(
                handle, [NewEntry("sample", poured, sample=sample), NewEntry("reading", NOW, reading=read)]
            )
    log.close()
    return str(path)


def test_a_ladder_is_poured_logged_read_and_blended_again(finishlog: Run, yard: str) -> None:
    job = "ottoline-gravelpit-yard"
    truth = [1.4, 0.7]
    wanted = exact([truth])[0] + [1.5, 0.0, 0.0]  # today's cement is lighter than the samples' was
    asked = ("--log", yard, "blend", "--target", ",".join(f"{x:.2f}" for x in wanted))
    first = finishlog(*asked, "--json").json()
    assert (first["ladder_read"], first["ladder_samples"]) == (0, [])
    text = finishlog(*asked).out
    assert "finishlog record JOB sample --set" in text
    for rung in first["ladder"]:
        rust, soot = (f"{rung['doses_percent'][name]:.2f}" for name in ("Rust", "Soot"))
        entry = finishlog(
            "--log", yard, "record", job, "sample", "--at", "2026-05-01 10:00", "--set", "cement=Type IL, Millbrook",
            "--set", "pigment=Rust", "--set", f"percent={rust}", "--set", "pigment_2=Soot", "--set",
            f"percent_2={soot}", "--json",
        ).json()  # fmt: skip
        number = entry["sample"]["number"]
        L, a, b = exact([[float(rust), float(soot)]])[0] + [1.5, 0.0, 0.0]
        done = finishlog(
            "--log", yard, "record", job, "reading", "--at", "2026-06-10 10:00", "--set", f"sample={number}",
            "--set", f"color={L:.2f},{a:.2f},{b:.2f}", "--set", "sd=0.4",
        )  # fmt: skip
        assert done.status == 0, done.err
    again = finishlog(*asked, "--json").json()
    assert again["samples"] == first["samples"] + 5
    assert again["ladder_samples"] == ["11", "12", "13", "14", "15"]
    assert any("Used as the ladder" in text for text in again["cautions"])

    def miss(doses: dict[str, float]) -> float:
        made = exact([[doses["Rust"], doses["Soot"]]])[0] + [1.5, 0.0, 0.0]
        return difference(made, wanted).de00

    assert miss(again["doses_percent"]) < 0.5 * miss(first["doses_percent"])
    far = finishlog("--log", yard, "blend", "--target", "30,3,4", "--json").json()
    assert far["ladder_samples"] == []


def test_out_of_reach_and_limits(finishlog: Run, samples: str) -> None:
    asked = ("blend", "--target", "60,-20,30", "--samples", samples, "--json")
    assert finishlog(*asked).json()["verdict"] == "out of reach"
    dark = ("blend", "--target", "30,5,5", "--samples", samples, "--json")
    told = finishlog(*dark, "--max-percent", "6", "--max-percent", "soot=2").json()
    assert told["doses_percent"]["Soot"] == 0 or told["total_percent"] <= 2
    assert told["total_percent"] <= 6


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ((), "--target: The wanted color is missing."),
        (("--target", "mud"), "--target: "),
        (
            ("--target", "50,5,9", "--max-percent", "11"),
            "The limit is 10 % of cement (ASTM C979/C979M §1.4).",
        ),
        (("--target", "50,5,9", "--max-percent", "Mud=3"), "No sample has “Mud”."),
        (("--target", "50,5,9", "--max-percent", "=3"), "Say which pigment it limits."),
        (("--target", "50,5,9", "--max-percent", "nan"), "--max-percent: "),
        (("--target", "50,5,9", "--pigments", "Mud"), "They have Rust and Soot."),
        (("--target", "50,5,9", "--pigments", ","), "No pigment named."),
        (("--target", "50,5,9", "--cement", "white"), "No sample names its cement."),
        (("--target", "50,5,9", "--scm", "600"), "leaves no cement"),
        (("--target", "50,5,9", "--cementitious", "-5"), "--cementitious: "),
    ],
)
def test_what_is_wrong_is_named(finishlog: Run, samples: str, more: tuple[str, ...], said: str) -> None:
    ran = finishlog("blend", "--samples", samples, *more)
    assert (ran.status, ran.out) == (2, "")
    assert said in ran.err
    assert ran.err.count("\n") == 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Rust,L,a,b\n1,50,5\n", "line 2: This line has 3 cells, the header 4."),
        ("Rust,L,a,b\n1,50,5,\n", "line 2: Give L, a and b together."),
        ("Rust,L,a,b\n1,500,5,9\n", "line 2, color: "),
        ("Rust,L,a,b\n1,nan,5,9\n", "line 2, color: "),
        ("Rust,L,a,b\n-1,50,5,9\n", "line 2, Rust: "),
        ("Rust,L,a,b\n16,50,5,9\n", "line 2, Rust: 16 % is no dose of a sample."),
        ("Rust,L,a,b,sd\n1,50,5,9,0\n", "line 2, sd: Every reading has some error."),
        ("Rust,L,a,b,photos\n1,50,5,9,0\n", "line 2, photos: "),
        ("L,a,b\n50,5,9\n", "The header names no pigment."),
        ("Rust,L,a\n1,50,5\n", "The header has no column b."),
        ("Rust,rust,L,a,b\n1,1,50,5,9\n", "is in the header twice"),
        ("Rust,L,a,b\n", "No samples."),
        ("", "is empty"),
        ("\0", "NUL"),
    ],
)
def test_a_sheet_that_cannot_be_used_names_its_line(
    finishlog: Run, tmp_path: Path, text: str, said: str
) -> None:
    path = tmp_path / "bad.csv"
    path.write_text(text)
    ran = finishlog("blend", "--target", "50,5,9", "--samples", str(path))
    assert (ran.status, ran.out) == (2, "")
    assert said in ran.err
    assert ran.err.count("\n") == 1


def test_what_samples_cannot_tell_is_said_and_not_guessed(finishlog: Run, tmp_path: Path) -> None:
    path = tmp_path / "few.csv"
    path.write_text("Rust,Soot,L,a,b\n2,1,50,9,12\n4,2,44,11,13\n0,0,68,1,5\n")
    told = finishlog("blend", "--target", "50,9,12", "--samples", str(path), "--json").json()
    assert set(told) == KEYS
    assert (told["verdict"], told["doses_percent"], told["ladder"]) == ("cannot tell", None, [])
    assert told["not_known"][0]["pigments"] == ["Rust", "Soot"]
    assert finishlog("blend", "--target", "50,9,12", "--samples", str(path)).out.startswith("Cannot tell")


def test_no_samples_at_all(finishlog: Run, tmp_path: Path) -> None:
    ran = finishlog("blend", "--target", "50,9,12")
    assert (ran.status, ran.out) == (2, "")
    assert "No samples." in ran.err
    empty = str(tmp_path / "empty.finishlog")
    assert finishlog("--log", empty, "new").status == 0
    assert "--template" in finishlog("--log", empty, "blend", "--target", "50,9,12").err
