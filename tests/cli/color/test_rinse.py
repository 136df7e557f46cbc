"""`rinse` as it is called on rinse day."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from finishlog.records.log import Reading
from finishlog.records.writing import (
    NewArea,
    NewCustomer,
    NewEntry,
    NewJob,
    NewMaterialUse,
    NewProduct,
    NewSite,
)
from finishlog.store import Log

Run = Callable[..., Any]
NOW = datetime(2026, 6, 16, 12, 40, tzinfo=UTC)
POURED, LONG_AGO = NOW - timedelta(hours=26), NOW - timedelta(days=400)
JOB = "ottoline-gravelpit-walk"
SPOTS = ("--field", "49.5,4.8,12.2", "--rinsed", "52,5.1,13.4", "--unrinsed", "43.6,3.5,8.6")
PATIO = NewJob("patio", NewCustomer("Ottoline Gravelpit"), NewSite("7 Kettle Row"), areas=(NewArea("field"),))
POWDER = NewMaterialUse(NewProduct("Mole at Noon", "powder release", "Puddle Minerals"))


def entries(poured: datetime) -> Iterator[NewEntry]:
    yield NewEntry("pour", poured, area="field")
    yield NewEntry("powder_release", poured, area="field", materials=(POWDER,))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A patio that was rinsed to 30 percent long ago, and a walk to match it, poured 26 h ago."""
    path, uids = tmp_path_factory.mktemp("rinse") / "shop.finishlog", count()
    log = Log.create(path, clock=lambda: NOW, new_uid=lambda: f"u{next(uids)}")
    with log.writing() as writer:
        old = writer.add_job(PATIO).handle
        told = [*entries(LONG_AGO), NewEntry("rinse", LONG_AGO + timedelta(hours=30), area="field",
                                             facts={"release_left_percent": 30.0})]  # fmt: skip
        for day, L in ((1, 52.0), (7, 56.5), (28, 61.0)):
            told.append(_read(LONG_AGO + timedelta(days=day), (L, 5.0, 14.0)))
        told.append(_read(LONG_AGO + timedelta(days=28), (44.0, 3.5, 8.6), "release color"))
        writer.add_entries(old, told)
        new = writer.add_job(
            NewJob("walk", PATIO.customer, PATIO.site, reference=old, areas=PATIO.areas)
        ).handle
        writer.add_entries(new, [*entries(POURED), _read(NOW - timedelta(hours=2), (52.0, 5.1, 13.4))])
    log.close()
    return path


def _read(when: datetime, lab: tuple[float, float, float], spot: str = "base") -> NewEntry:
    return NewEntry("reading", when, area="field", reading=Reading(*lab, 1.0, 0.5, 0.7, spot=spot))


@pytest.fixture
def shop(made: Path, tmp_path: Path) -> str:
    """A fresh copy of that log."""
    return str(shutil.copy(made, tmp_path / "shop.finishlog"))


KEYS = {
    *(
        "answer",
        "job",
        "area",
        "release_left_percent",
        "release_left_sd_percent",
        "range90_percent",
        "verdict",
    ),
    *("why", "advice", "rinse_more", "target_percent", "target_from", "target_measured"),
    *("chance_above_target", "habit"),
    *(
        "contrast_now_de00",
        "contrast_dried_de00",
        "drying",
        "at_45_days",
        "ladder",
        "meanwhile",
        "notes",
        "cautions",
        "sources",
    ),
}


def test_the_answer_for_other_programs(finishlog: Run, shop: str) -> None:
    told = finishlog("--log", shop, "rinse", "ottoline-gravelpit-w", *SPOTS, "--dried", "--json").json()
    assert set(told) == KEYS
    assert told["job"] == JOB
    # In linear light the field stands .29 of the way from the rinsed spot to the un-rinsed one.
    assert told["release_left_percent"] == pytest.approx(28, abs=3)
    assert told["verdict"] == "rough"
    assert (told["target_percent"], told["target_from"]) == (30, "the job it matches")
    low, high = told["range90_percent"]
    assert low < told["release_left_percent"] < high
    settled = told["at_45_days"]
    assert settled["age_days"] == 45
    for part in ("base", "release", "field"):
        assert set(settled[part]) == {"lab", "lab_sd", "lab_low90", "lab_high90"}
    assert settled["base"]["lab"][0] > 52  # it lightens
    assert settled["release"]["lab"][0] < settled["field"]["lab"][0] < settled["base"]["lab"][0]
    assert settled["contrast_de00"] > told["contrast_now_de00"]
    assert [rung["release_left_percent"] for rung in settled["ladder"]] == sorted(
        (rung["release_left_percent"] for rung in settled["ladder"]), reverse=True
    )


def test_more_rinsing_is_advised_only_when_sure(finishlog: Run, shop: str) -> None:
    for target, more in (("5", True), ("26", False), ("60", False)):
        asked = ("--log", shop, "rinse", JOB, *SPOTS, "--dried", "--target", target, "--json")
        told = finishlog(*asked).json()
        assert told["rinse_more"] is more
        assert ("rinse more" in told["advice"]) is more
        assert told["rinse_more"] is (told["chance_above_target"] > 0.8)


def test_while_spots_dry_the_crew_has_something_to_do_and_no_heat_gun(finishlog: Run, shop: str) -> None:
    damp = finishlog("--log", shop, "rinse", JOB, *SPOTS).out
    assert "While the spots dry\n" in damp
    told = " ".join(damp.partition("While the spots dry")[2].partition("\n\n")[0].split())
    for words in (
        "a fan or a cool blower on the spots, never a heat gun",
        "another spot",
        "not the field in question",
    ):
        assert words in told
    assert "While the spots dry" not in finishlog("--log", shop, "rinse", JOB, *SPOTS, "--dried").out
    unsure = ("--field", "48,4,12", "--rinsed", "49,4,12.3", "--unrinsed", "48,4,12.1", "--dried", "--json")
    assert len(finishlog("--log", shop, "rinse", JOB, *unsure).json()["meanwhile"]) == 4
    assert finishlog("--log", shop, "rinse", JOB, *SPOTS, "--dried", "--json").json()["meanwhile"] == []


def test_it_never_advises_what_it_cannot_tell(finishlog: Run, shop: str) -> None:
    alike = ("--field", "48,4,12", "--rinsed", "49,4,12.3", "--unrinsed", "48,4,12.1")
    for spots in (alike, ("--field", "40,4,12"), ("--field", "49.5,9,20", *SPOTS[2:]), ()):
        told = finishlog("--log", shop, "rinse", JOB, *spots, "--target", "0", "--json").json()
        assert told["rinse_more"] is False
        assert "rinse more" not in told["advice"]
    assert finishlog("--log", shop, "rinse", JOB, *alike, "--json").json()["verdict"] == "cannot tell"


@pytest.mark.parametrize(
    ("spots", "why"),
    [
        (("--field", "49.5,9,20", *SPOTS[2:]), "off the line"),
        (("--field", "60,5.8,17", *SPOTS[2:]), "outside"),
        (("--field", "49.5,4.8,12.2"), "no patches"),
    ],
)
def test_what_cannot_be_says_its_cause(finishlog: Run, shop: str, spots: tuple[str, ...], why: str) -> None:
    told = finishlog("--log", shop, "rinse", JOB, *spots, "--dried", "--json").json()
    assert (told["verdict"], told["why"]) == ("cannot tell", why)
    assert told["advice"].startswith("Cannot tell. ")


def test_a_missing_patch_is_said(finishlog: Run, shop: str) -> None:
    own = (
        "--field",
        "49.5,4.4,11.6",
        *SPOTS[2:4],
        "--unrinsed",
        "38.7,1.6,3",
    )  # as this job's release was read
    whole = finishlog("--log", shop, "rinse", JOB, *own, "--dried", "--json").json()
    told = finishlog("--log", shop, "rinse", JOB, *own[:4], "--dried", "--json").json()
    assert any("No un-rinsed patch in the frame" in note for note in told["notes"])
    assert told["release_left_sd_percent"] > whole["release_left_sd_percent"]


def test_without_a_photo_it_says_how_little_that_is(finishlog: Run, shop: str) -> None:
    told = finishlog("--log", shop, "rinse", JOB, "--json").json()
    assert told["verdict"] in ("rough", "cannot tell")
    assert told["release_left_percent"] == pytest.approx(told["habit"]["mean_percent"], abs=1)
    assert any("says little" in note for note in told["notes"])
    assert finishlog("--log", shop, "rinse", JOB).out.strip()


def _settled(day: int, number: int, left: dict[str, float | int], damp: bool = False) -> NewEntry:
    when = LONG_AGO + timedelta(days=day, hours=number)
    read = Reading(56.0, 4.6, 12.8, 1.0, 0.5, 0.7, spot="field", damp=damp)
    return NewEntry("reading", when, area="field", reading=read, facts=left)


def test_the_habit_is_what_settled_slabs_show_and_else_what_was_logged(finishlog: Run, shop: str) -> None:
    def habit() -> tuple[dict[str, Any], str]:
        told = finishlog("--log", shop, "rinse", JOB, "--json").json()
        return told["habit"], next(note for note in told["notes"] if "Starting point" in note)

    uids = count(1000)
    log = Log.open(shop, clock=lambda: NOW, new_uid=lambda: f"u{next(uids)}")
    with log.writing() as writer:
        for number in range(3):  # logged by eye on rinse day at 10 %
            job = writer.add_job(
                NewJob(f"patio {number}", PATIO.customer, PATIO.site, areas=PATIO.areas)
            ).handle
            rinsed = NewEntry("rinse", LONG_AGO + timedelta(hours=30), area="field",
                              facts={"release_left_percent": 10.0})  # fmt: skip
            unsettled = _settled(3, number, {"release_left_percent": 90.0, "release_left_sd_percent": 3.0})
            damp = _settled(
                60, number, {"release_left_percent": 90.0, "release_left_sd_percent": 3.0}, damp=True
            )
            writer.add_entries(job, [*entries(LONG_AGO), rinsed, unsettled, damp])
    first, said = habit()
    assert (first["slabs"], first["measured_slabs"]) == (4, 0)
    assert "by eye on 4 of your slabs" in said
    with log.writing() as writer:
        for number in range(3):  # measured on the settled slab: 30 %
            writer.add_entries(f"ottoline-gravelpit-patio-{number}", [
                _settled(60, number, {"release_left_percent": 30.0, "release_left_sd_percent": 2.5})
            ])  # fmt: skip
    log.close()
    then, said = habit()
    assert (then["slabs"], then["measured_slabs"]) == (4, 3)
    assert "measured on 3 slabs" in said
    assert "by eye on 1 other" in said
    assert first["mean_percent"] < 20 < 26 < then["mean_percent"] < 31


def test_how_drying_goes_is_assumed_until_spots_were_read_damp_and_dry(finishlog: Run, shop: str) -> None:
    asked = ("--log", shop, "rinse", JOB, *SPOTS, "--json")
    first = finishlog(*asked).json()
    assert first["drying"] == {"share_percent": 67, "sd_percent": 14, "pairs": 0}
    assert first["contrast_dried_de00"] > first["contrast_now_de00"]
    assert any("assumed, from published albedo" in note for note in first["notes"])
    assert finishlog(*asked, "--dried").json()["contrast_dried_de00"] is None
    uids = count(1000)
    log = Log.open(shop, clock=lambda: NOW, new_uid=lambda: f"u{next(uids)}")
    with log.writing() as writer:
        for number in range(8):  # 12 L* to come when damp; drying brings back 3 of them
            job = writer.add_job(
                NewJob(f"court {number}", PATIO.customer, PATIO.site, areas=PATIO.areas)
            ).handle
            reads = [(1.5, 48.0, True), (1.7, 51.0, False), (28.0, 59.4, False), (45.0, 60.0, False)]
            told = [
                NewEntry("reading", LONG_AGO + timedelta(days=day), area="field",
                         reading=Reading(L, 5.0, 13.0, 0.6, 0.3, 0.4, damp=damp))
                for day, L, damp in reads
            ]  # fmt: skip
            writer.add_entries(job, [*entries(LONG_AGO), *told])
    log.close()
    then = finishlog(*asked).json()
    assert then["drying"]["pairs"] == 8
    assert then["drying"]["share_percent"] == pytest.approx(
        25 + 42 * 2 / 10, abs=4
    )  # the assumed counts as two
    assert then["drying"]["sd_percent"] < 20
    assert any("8 spots of yours" in note for note in then["notes"])


def test_where_spots_belong_is_always_said(finishlog: Run, shop: str) -> None:
    for spots in (SPOTS, ()):
        text = " ".join(finishlog("--log", shop, "rinse", JOB, *spots).out.split())
        for words in ("kept sample or a hidden edge", "towel and a cool blower", "no heat gun", "hours",
                      "cannot undo a rinse", "runoff"):  # fmt: skip
            assert words in text


def test_damp_spots_and_swapped_ones_are_cautioned(finishlog: Run, shop: str) -> None:
    asked = ("--log", shop, "rinse", JOB)
    damp = finishlog(*asked, *SPOTS, "--json").json()
    dried = finishlog(*asked, *SPOTS, "--dried", "--json").json()
    assert any("not marked dry" in text for text in damp["cautions"])
    assert not any("not marked dry" in text for text in dried["cautions"])
    assert damp["release_left_sd_percent"] > dried["release_left_sd_percent"]
    swapped = ("--field", "49.5,4.8,12.2", "--rinsed", "43.6,3.5,8.6", "--unrinsed", "52,5.1,13.4", "--dried")
    assert any("swapped" in text for text in finishlog(*asked, *swapped, "--json").json()["cautions"])


def test_repeats_make_it_surer(finishlog: Run, shop: str) -> None:
    asked = ("--log", shop, "rinse", JOB, "--dried", "--json")
    once = finishlog(*asked, *SPOTS).json()
    thrice = finishlog(*asked, *SPOTS, *SPOTS, *SPOTS).json()
    assert thrice["release_left_sd_percent"] < once["release_left_sd_percent"]
    assert thrice["verdict"] == "clear"


def test_advice_is_kept_as_given_only_when_told(finishlog: Run, shop: str) -> None:
    asked = ("--log", shop, "rinse", JOB, *SPOTS, "--dried", "--json")
    finishlog(*asked)
    assert _advices(shop) == []
    told = finishlog(*asked, "--keep").json()
    [kept] = _advices(shop)
    assert kept.method == "rinse-1"
    assert f'"verdict": "{told["verdict"]}"' in kept.answer
    assert "49.5" in kept.inputs


def _advices(path: str) -> list[Any]:
    log = Log.open(Path(path), clock=lambda: NOW, new_uid=lambda: "x")
    try:
        with log.reading() as reader:
            return [advice for advice in reader.advices(JOB) if advice.kind == "rinse"]
    finally:
        log.close()


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--field", "49,4"), "--field: "),
        (("--field", "149,4,9"), "--field: "),
        (("--rinsed", "52,5,13"), "--field: The field's own color is missing."),
        (("--dried",), "--field: The field's own color is missing."),
        ((*SPOTS, "--target", "120"), "--target: "),
        ((*SPOTS, "--target", "-1"), "--target"),
        ((*SPOTS, "--area", "moat"), "--area: The job has no area “moat”."),
    ],
)
def test_what_is_wrong_is_named(finishlog: Run, shop: str, more: tuple[str, ...], said: str) -> None:
    ran = finishlog("--log", shop, "rinse", JOB, *more)
    assert (ran.status, ran.out) == (2, "")
    assert said in ran.err
    assert ran.err.count("\n") == 1


def test_a_job_that_is_not_there(finishlog: Run, shop: str) -> None:
    ran = finishlog("--log", shop, "rinse", "nobody", *SPOTS)
    assert (ran.status, ran.out) == (2, "")
    assert "nobody" in ran.err


# --- off a photo --------------------------------------------------------------------------------------

PLACES = {"field": (0, 0), "rinsed": (200, 0), "unrinsed": (400, 0), "gray": (600, 0)}
COLORS = {"field": SPOTS[1], "rinsed": SPOTS[3], "unrinsed": SPOTS[5], "gray": "50,0,0"}
BOXES = [part for what in ("field", "rinsed", "unrinsed") for part in
         ("--box", f"{what}={PLACES[what][0] + 20},20,160,160")]  # fmt: skip


@pytest.fixture
def photo(tmp_path: Path) -> str:
    """Three spots and a gray card in one picture, with a camera's noise."""
    import numpy as np
    from PIL import Image

    from finishlog.color.notation.space import lab_to_srgb

    pixels = np.zeros((200, 800, 3))
    for what, (x, y) in PLACES.items():
        pixels[y : y + 200, x : x + 200] = lab_to_srgb([float(part) for part in COLORS[what].split(",")])
    pixels += np.random.default_rng(7).normal(0, 3, pixels.shape)
    path = tmp_path / "rinse.png"
    Image.fromarray(np.clip(pixels.round(), 0, 255).astype("uint8")).save(path)
    return str(path)


def test_a_photo_with_boxes_answers_like_its_colors(finishlog: Run, shop: str, photo: str) -> None:
    asked = ("--log", shop, "rinse", JOB, "--dried", "--json")
    typed = finishlog(*asked, *SPOTS).json()
    told = finishlog(*asked, "--photo", photo, *BOXES, "--gray", "620,20,160,160").json()
    assert set(told) == KEYS
    assert told["release_left_percent"] == pytest.approx(typed["release_left_percent"], abs=4)
    assert told["release_left_sd_percent"] >= typed["release_left_sd_percent"]
    assert told["verdict"] in ("rough", "cannot tell")


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--field", "50,4,9"), "--photo: Type the colors or read them off a photo"),
        (("--box", "sky=1,2,3,4"), "--box: "),
        (("--gray", "620,20,160,160", *BOXES[2:]), "--box: No box shows the field."),
        ((*BOXES, "--gray", "6"), "--gray: "),
        ((*BOXES, "--corners", "1,2"), "--corners: "),
    ],
)
def test_a_photo_that_cannot_be_used_says_why(
    finishlog: Run, shop: str, photo: str, more: tuple[str, ...], said: str
) -> None:
    ran = finishlog("--log", shop, "rinse", JOB, "--photo", photo, *more)
    assert (ran.status, ran.out) == (2, "")
    assert said in ran.err


def test_a_box_needs_a_photo_and_a_photo_must_be_there(finishlog: Run, shop: str) -> None:
    ran = finishlog("--log", shop, "rinse", JOB, *SPOTS, "--box", "field=1,2,3,4")
    assert (ran.status, "no photo is given" in ran.err) == (2, True)
    ran = finishlog("--log", shop, "rinse", JOB, "--photo", "nowhere.jpg", *BOXES, "--gray", "1,2,30,40")
    assert (ran.status, ran.out) == (2, "")


def test_the_target_is_what_was_measured_on_the_settled_slab(finishlog: Run, shop: str) -> None:
    """Surer than the 30 percent that were judged by eye when the old slab was rinsed."""
    log = Log.open(shop, clock=lambda: NOW, new_uid=lambda: "u-measured")
    with log.writing() as writer:
        field = replace(_read(LONG_AGO + timedelta(days=60), (56.0, 4.5, 12.8), "field"),
                        facts={"release_left_percent": 18.8, "release_left_sd_percent": 4.6})  # fmt: skip
        writer.add_entry("ottoline-gravelpit-patio", field)
    log.close()
    told = finishlog("--log", shop, "rinse", JOB, *SPOTS, "--dried", "--json").json()
    assert (told["target_percent"], told["target_measured"]) == (18.8, True)
    assert told["target_from"] == "the job it matches"
    said = finishlog("--log", shop, "rinse", JOB, *SPOTS, "--dried").out
    assert "19 %, by the job it matches, measured at final color" in " ".join(said.split())
