"""`record`, `undo`, `job`, `find --near` as another program would call them."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from finishlog.inputs.entry import entries
from finishlog.trade.events import kinds_in_order
from tests.conftest import Ran

Run = Callable[..., Ran]
KINDS = [kind.key for kind in kinds_in_order()]
JOB = "ottoline-quillfeather-back-patio"


@pytest.fixture
def run(finishlog: Run, tmp_path: Path) -> Run:
    """The command line on a log with one job of three areas."""
    log = str(tmp_path / "shop.finishlog")

    def on_log(*argv: str) -> Ran:
        return finishlog("--log", log, *argv)

    assert on_log("new").status == 0
    made = on_log(
        "job", "new", "--customer", "Ottoline Quillfeather", "--job", "back patio", "--street", "12 Teakettle Lane",
        "--town", "Puddlecombe", "--areas", "field 24x18 4in, border 76 ft2, steps", "--planned-on", "2026-06-15",
        "--buried", "gas line, 18 in, along the fence",
    )  # fmt: skip
    assert made.status == 0, made.err
    return on_log


def shown(run: Run) -> Any:
    return run("show", JOB, "--json").json()["record"]


def test_record_answers_the_entry_with_its_number(run: Run) -> None:
    entry = run(
        "record", "ottoline", "load", "--about", "8:50a", "--set", "ticket=40731", "--set", "yards=6 1/2 yd",
        "--product", "Wet Biscuit", "--maker", "Toadstone Pigments", "--lot", "K-131", "--amount", "24 lb 6 oz",
        "--map", "field=5, steps=1.5", "--by", "Bo", "--set", "slump=4.5", "--set", "cement=564", "--json",
        "--because", "the truck comes at nine",
    ).json()  # fmt: skip
    assert (entry["job"], entry["number"], entry["kind"]) == (JOB, 1, "load")
    assert (entry["happened"], entry["exactness"]) == ("2026-06-16T13:50:00+00:00", "about")
    assert (entry["load"]["yards"], entry["load"]["ticket"], entry["load"]["slump_in"]) == (6.5, "40731", 4.5)
    assert entry["load"]["mix"]["cement_lb_per_yd3"] == 564
    assert [yards for _, yards in entry["load"]["areas"]] == [5, 1.5]
    assert (entry["materials"][0]["amount"], entry["materials"][0]["lot"]) == (24.375, "K-131")
    assert entry["understood"]["yards"] == "6.50 yd³"
    assert entry["understood"]["amount"] == "24.38 lb, 3.75 lb/yd³"
    record = shown(run)
    assert record["entries"] == [
        {k: v for k, v in entry.items() if k not in ("job", "sentence", "understood", "warnings")}
    ]
    assert record["state"] == "poured"


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_recorded_from_its_own_examples_and_shown_back(run: Run, kind: str) -> None:
    context = entries.Context(entries.bare().now, entries.bare().zone, ("field", "border", "steps"))
    assert (
        run("record", JOB, "load", "--at", "2026-06-15 8a", "--set", "yards=6", "--area", "all").status == 0
    )
    assert run("record", JOB, "pour", "--at", "2026-06-15 11a").status == 0
    assert run("record", JOB, "sample", "--set", "number=12").status == 0
    skip = {"at", "map", "load", "number"} if kind in ("load", "sample") else {"at"}
    fields = [field for field in entries.fields_of(kind, context) if field.key not in skip]
    told = [part for field in fields for part in ("--set", f"{field.key}={field.sample}")]
    ran = run("record", JOB, kind, "--at", "2026-06-16 7:30", *told, "--because", "examples", "--json")
    entry = ran.json()
    held = next(e for e in shown(run)["history"] if e["number"] == entry["number"])
    assert held == {k: entry[k] for k in held}
    flat = json.dumps(held)
    for field in fields:
        if field.part == "facts":
            assert field.key in held["facts"], field.key
        elif (
            field.part in ("load", "mix", "coat", "sample", "approval", "claim", "material")
            and not field.choices
        ):
            value = field.read(field.sample)
            plain = getattr(value, "value", value)
            number = float(plain) if not isinstance(plain, str) else plain
            whole = int(number) if isinstance(number, float) and number == int(number) else number
            assert json.dumps(round(whole, 4) if isinstance(whole, float) else whole) in flat, field.key
    text = run("show", JOB).out
    assert str(entry["number"]) in text
    assert entry["kind"] == kind


def test_a_correction_an_undo_and_what_show_says(run: Run) -> None:
    run(
        "record",
        JOB,
        "load",
        "--set",
        "yards=5",
        "--set",
        "ticket=40731",
        "--area",
        "field",
        "--product",
        "Biscuit",
    )
    again = run("record", JOB, "load", "--replaces", "1", "--set", "yards=5.5", "--json").json()
    assert (again["number"], again["replaces"], again["load"]["ticket"]) == (2, 1, "40731")
    undone = run("undo", JOB, "--json").json()
    assert (undone["number"], undone["replaces"], undone["withdrawn"]) == (3, 2, False)
    (stands,) = shown(run)["entries"]
    assert (stands["number"], stands["load"]["yards"]) == (3, 5)  # what was corrected stands again
    assert run("undo", JOB, "--json").json()["withdrawn"]
    record = shown(run)
    assert record["entries"] == []
    assert [entry["number"] for entry in record["history"]] == [1, 2, 3, 4]
    wrong = run("record", JOB, "load", "--replaces", "1", "--set", "yards=6")
    assert (wrong.status, "already replaced by entry 2" in wrong.err) == (2, True)
    assert run("undo", JOB).status == 2


def test_a_time_may_begin_with_a_minus(run: Run) -> None:
    for options in (("--at", "-2h"), ("--about", "-20 min"), ("--at=-2h",)):
        assert run("record", JOB, "note", *options, "--note", "x").status == 0
    assert shown(run)["entries"][0]["happened"] == "2026-06-16T10:40:00+00:00"


def test_a_whole_day_card(run: Run) -> None:
    ran = run(
        "record", JOB, "day", "--at", "2026-06-15", "--by", "Bo", "--set", "load.1.yards=6.5", "--set",
        "load.1.at=8:50a", "--set", "load.1.amount=45 lb 8 oz", "--set", "load.1.product=Wet Biscuit", "--set",
        "load.1.slump=4.5", "--set", "pour.at=11:20a", "--set", "sample.1.kept_where=rack", "--json",
    )  # fmt: skip
    assert [(entry["number"], entry["kind"]) for entry in ran.json()] == [
        (1, "load"),
        (2, "pour"),
        (3, "sample"),
    ]
    bad = run("record", JOB, "day", "--set", "load.1.yards=many", "--set", "pour.at=25:00")
    assert bad.status == 2
    assert "load.1.yards" in bad.err
    assert "Also wrong: pour.at" in bad.err
    assert run("record", JOB, "day").status == 2


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (("record",), "JOB KIND"),
        (("record", JOB), "JOB KIND"),
        (("record", "nobody", "rinse"), "No job"),
        (("record", JOB, "rinze"), "rinse"),
        (("record", JOB, "integral_color"), "load"),
        (("record", JOB, "rinse", "--set", "nope=1"), "pressure_psi"),
        (("record", JOB, "rinse", "--set", "passes"), "--set"),
        (("record", JOB, "rinse", "--set", "passes=2", "--set", "passes=3"), "twice"),
        (("record", JOB, "rinse", "--map", "field=1"), "map"),
        (("record", JOB, "rinse", "--at", "7"), "at"),
        (("record", JOB, "rinse", "--at", "2026-02-30"), "Feb"),
        (("record", JOB, "rinse", "--at", "13/04/2026"), "month comes first"),
        (("record", JOB, "rinse", "--at", "7a", "--about", "7a"), "--about"),
        (("record", JOB, "rinse", "--area", "moat"), "field, border, steps"),
        (("record", JOB, "rinse", "--at", "2027-01-01"), "--because"),
        (("record", JOB, "rinse", "--set", "pressure_psi=NaN"), "pressure_psi"),
        (("record", JOB, "rinse", "--set", "passes=٢"), "passes"),
        (("record", JOB, "rinse", "--set", "passes=1_0"), "passes"),
        (("record", JOB, "rinse", "--set", f"passes={'9' * 400}"), "passes"),
        (("record", JOB, "rinse", "--replaces", "x"), "--replaces"),
        (("record", JOB, "rinse", "--replaces", "7"), "no entry 7"),
        (("record", JOB, "load", "--set", "yards=5"), "Where did the load go?"),
        (("record", JOB, "load", "--set", "yards=5", "--map", "field=5, steps=0.5"), "more than the load"),
        (("record", JOB, "load", "--set", "yards=5", "--map", "moat=5"), "moat"),
        (("record", JOB, "load", "--area", "field", "--set", "slump=45"), "12 in tall"),
        (("record", JOB, "reading"), "color"),
        (("record", JOB, "reading", "--set", "color=blue"), "10YR 6/3"),
        (("record", JOB, "approval", "--set", "sample=9", "--set", "signed_by=O"), "No sample 9"),
        (("record", JOB, "note", "--note", "a\x00b"), "NUL"),
        (("record", JOB, "note", "--by", "x" * 100_000), "too long"),
        (("record", JOB, "note", "--because", "x" * 501), "too long"),
        (("undo", JOB), "No entry"),
        (("undo", JOB, "0"), "ENTRY"),
        (("record", "--kinds", "rinze"), "rinse"),
    ],
)
def test_wrong_input_is_one_clear_line_and_nothing_is_kept(
    run: Run, argv: tuple[str, ...], said: str
) -> None:
    ran = run(*argv)
    assert (ran.status, ran.out) == (2, ""), ran.err
    assert said in ran.err
    assert ran.err.count("\n") == 1
    assert len(ran.err) < 2500
    assert shown(run)["history"] == []


@pytest.mark.parametrize(
    "text", ["\x1b[31mred", "\u202egnirts", "[/nope]", "=1+1", "'; DROP TABLE entry; --", "🧑🏽‍🔧 é"]
)
def test_odd_text_is_kept_and_never_reaches_the_terminal_raw(run: Run, text: str) -> None:
    ran = run("record", JOB, "note", "--note", text, "--by", text, "--set", "at=now")
    assert ran.status == 0, ran.err
    assert shown(run)["entries"][0]["note"] == text
    for out in (ran.out, run("show", JOB).out):
        assert "\x1b" not in out
        assert "\u202e" not in out
        assert text in out or not text.isprintable()


def test_attachments(run: Run, tmp_path: Path) -> None:
    ticket = tmp_path / "ticket 40731.txt"
    ticket.write_bytes(b"6.5 yd\n")
    entry = run("record", JOB, "load", "--area", "field", "--attach", str(ticket), "--json").json()
    assert [(file["name"], file["size"]) for file in entry["files"]] == [("ticket 40731.txt", 7)]
    (tmp_path / "empty").touch()
    (tmp_path / "link").symlink_to(ticket)
    os.mkfifo(tmp_path / "pipe")
    with (tmp_path / "huge").open("wb") as file:
        file.truncate(2 * 1024**3)
    for name in ("empty", "link", "pipe", "huge", "missing", "."):
        ran = run("record", JOB, "note", "--attach", str(tmp_path / name))
        assert (ran.status, ran.err.count("\n")) == (2, 1), (name, ran.err)
    assert len(shown(run)["history"]) == 1


def test_the_lists_of_kinds_and_keys(run: Run) -> None:
    kinds = run("record", "--kinds").out
    assert all(kind in kinds for kind in KINDS)
    keys = run("record", "--kinds", "load").out
    assert all(key in keys for key in ("ticket", "yards", "slump_in", "returned_yd3", "mix_number"))


# the job itself


def test_a_new_job(run: Run) -> None:
    record = shown(run)
    assert [(a["name"], a["kind"], a["area_ft2"], a["depth_in"]) for a in record["areas"]] == [
        ("field", "field", 432, 4), ("border", "border", 76, None), ("steps", "stairs", None, None),
    ]  # fmt: skip
    assert (record["state"], record["planned_on"]) == ("planned", "2026-06-15")
    assert [(b["what"], b["depth_in"], b["where"]) for b in record["buried"]] == [
        ("gas line", 18, "along the fence")
    ]
    stub = run("job", "new", "--job", "the wall", "--poured-on", "2019-05-01", "--json").json()
    held = run("show", stub["job"], "--json").json()
    assert (held["poured_on"], held["record"]["customer"]["name"]) == ("2019-05-01", "unknown")


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ((), "Who is it for"),
        (("--customer", "O", "--areas", "24x18"), "name comes first"),
        (("--customer", "O", "--areas", "field, FIELD"), "share a name"),
        (("--customer", "O", "--planned-on", "04/05/26"), "planned_on"),
        (("--customer", "O", "--poured-on", "2030-01-01"), "future"),
        (("--customer", "O", "--exposure", "moon"), "shade"),
        (("--customer", "O", "--buried", ";"), "buried"),
        (("--customer", "O\x00"), "NUL"),
        (("--customer", "O", "--handle", "Not A Handle"), "handle"),
        (("--customer", "O", "--handle", JOB), "already a job"),
    ],
)
def test_a_wrong_new_job_is_one_clear_line(run: Run, options: tuple[str, ...], said: str) -> None:
    ran = run("job", "new", *options)
    assert (ran.status, ran.err.count("\n")) == (2, 1), ran.err
    assert said in ran.err
    assert len(run("find", "--json").json()) == 1


CHANGE = ("job", "change", JOB, "--area", "field", "--set", "integral_color.rate=7 lb/yd3", "--set",
          "integral_color.product=Wet Biscuit", "--set", "integral_color.lot=K-131", "--set",
          "stamp.pattern=ashlar slate", "--reason", "first plan")  # fmt: skip


def test_a_change_order_is_the_next_version_with_its_reason(run: Run) -> None:
    first = run(*CHANGE, "--json").json()
    assert [stage["kind"] for stage in first["stages"]] == ["integral_color", "stamp"]
    material = first["stages"][0]["materials"][0]
    assert (material["product"]["name"], material["lot"], material["rate"], material["unit"]) == (
        "Wet Biscuit", "K-131", 7, "lb/yd3",
    )  # fmt: skip
    second = run("job", "change", JOB, "--set", "stamp.pattern=random stone", "--drop", "integral_color", "--reason",
                 "she chose", "--json").json()  # fmt: skip
    assert (second["version"], second["reason"], second["from_recipe"]) == (
        first["version"] + 1, "she chose", first["uid"],
    )  # fmt: skip
    assert [(stage["kind"], stage["params"]) for stage in second["stages"]] == [
        ("stamp", {"pattern": "random stone"})
    ]
    assert [e["note"] for e in shown(run)["entries"] if e["kind"] == "change"] == ["first plan", "she chose"]


def test_two_people_changing_one_recipe(run: Run) -> None:
    version = str(run(*CHANGE, "--json").json()["version"])
    options = ("--recipe-version", version, "--reason", "darker")
    assert run("job", "change", JOB, "--set", "stamp.mats=5", *options).status == 0
    late = run("job", "change", JOB, "--set", "stamp.mats=6", *options)
    assert (late.status, late.err.count("\n")) == (2, 1)
    assert "meanwhile" in late.err


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--reason", "x"), "Nothing would change"),
        (("--set", "stamp.pattern=x"), "--reason"),
        (("--set", "stamp.pattern=x", "--reason", " "), "reason"),
        (("--set", "pattern=x", "--reason", "x"), "integral_color.rate"),
        (("--set", "stemp.pattern=x", "--reason", "x"), "stamp"),
        (("--set", "stamp.nope=x", "--reason", "x"), "pattern"),
        (("--set", "integral_color.rate=7", "--reason", "x"), "unit"),
        (("--drop", "seal", "--reason", "x"), "--drop"),
        (("--area", "moat", "--set", "stamp.mats=5", "--reason", "x"), "field, border, steps"),
    ],
)
def test_a_wrong_change_order_is_one_clear_line(run: Run, options: tuple[str, ...], said: str) -> None:
    ran = run("job", "change", JOB, *options)
    assert (ran.status, ran.err.count("\n")) == (2, 1), ran.err
    assert said in ran.err


def test_a_recipe_is_copied_to_any_job(run: Run) -> None:
    first = run(*CHANGE, "--json").json()
    copied = run("job", "copy-recipe", JOB, JOB, "--area", "border", "--json").json()
    assert copied["uid"] != first["uid"]
    assert copied["stages"][1]["params"] == {"pattern": "ashlar slate"}
    assert run("job", "copy-recipe", JOB, JOB, "--from-area", "steps").status == 2


def test_archive_instead_of_delete(run: Run) -> None:
    assert run("job", "archive", "ottoline").status == 0
    assert run("find", "--json").json() == []
    assert [job["state"] for job in run("find", "--archived", "--json").json()] == ["archived"]
    assert shown(run)["state"] == "archived"
    assert run("job", "unarchive", JOB).status == 0
    assert [job["state"] for job in run("find", "--json").json()] == ["planned"]


def test_a_new_owner_and_a_doubled_customer(run: Run) -> None:
    assert run("job", "owner", JOB, "Barnaby Crumpet", "--since", "2026-05-01").status == 0
    assert [job["job"] for job in run("find", "Crumpet", "--json").json()] == [JOB]
    assert run("job", "owner", JOB, "Barnaby Crumpet", "--since", "2031-05-01").status == 2
    run("job", "new", "--customer", "O. Quillfeather", "--job", "front walk")
    told = run("job", "customer", JOB, "--phone", "555-0101", "--leave-alone", "--json").json()
    assert (told["phone"], told["leave_alone"], told["name"]) == ("555-0101", True, "Ottoline Quillfeather")
    assert not run("job", "customer", "Ottoline Quillfeather", "--remind", "--json").json()["leave_alone"]
    for wrong in ((), ("--phone", "x" * 400), ("--leave-alone", "--remind")):
        assert run("job", "customer", JOB, *wrong).status == 2
    assert run("job", "merge", "O. Quillfeather", "Ottoline Quillfeather").status == 0
    assert {job["customer"] for job in run("find", "--json").json()} == {"Ottoline Quillfeather"}
    assert run("job", "merge", "Nobody", "Ottoline Quillfeather").status == 2


def test_areas_notes_and_buried_items_are_added(run: Run) -> None:
    assert run("job", "area", JOB, "overlay 5x5").status == 0
    assert run("job", "bury", JOB, "wire, 4 in deep").status == 0
    assert run("job", "note", JOB, "the gate sticks").status == 0
    record = shown(run)
    assert record["areas"][-1]["area_ft2"] == 25
    assert record["buried"][-1]["depth_in"] == 4
    assert record["note"] == "the gate sticks"


# by color


def test_find_near_a_color(finishlog: Run, demo: str) -> None:
    jobs = finishlog("--log", demo, "find", "--near", "10YR 6/3", "--limit", "5", "--json").json()
    apart = [job["de00"] for job in jobs]
    assert len(jobs) == 5
    assert apart == sorted(apart)
    assert finishlog("--log", demo, "find", "--json").json()[0]["de00"] is None
    assert "ΔE00" in finishlog("--log", demo, "find", "--near", "61,6,17", "--limit", "1").out
    for argv in (("--near", "blue"), ("--near", "62,4,16", "front"), ("--near", "")):
        ran = finishlog("--log", demo, "find", *argv)
        assert (ran.status, ran.err.count("\n")) == (2, 1), ran.err


def test_show_says_the_nearest_name_of_a_reading(finishlog: Run, demo: str) -> None:
    out = " ".join(finishlog("--log", demo, "show", "bogglethwaite-front-yard").out.split())
    assert "L*a*b* 61.8 6.6 17.2, nearest light grayish yellowish brown" in out
