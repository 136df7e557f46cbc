"""`read` as another program would call it, on a drawn card (tests/color/card_drawing.py): its colors are known."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tests.color.card_drawing import CORNERS, SLAB, SLAB_LAB, drawn, spot_of
from tests.conftest import Ran

Run = Callable[..., Ran]
AROUND = " ".join(f"{x},{y}" for x, y in CORNERS)
BASE = f"base={','.join(map(str, SLAB))}"


@pytest.fixture(scope="module")
def painted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The slab's picture, drawn once."""
    path = tmp_path_factory.mktemp("slab") / "slab.png"
    Image.fromarray(drawn()).save(path)
    return path


@pytest.fixture
def slab(painted: Path, tmp_path: Path) -> str:
    return str(shutil.copy(painted, tmp_path))


def test_a_box_is_read_off_a_photo(finishlog: Run, slab: str) -> None:
    answer = finishlog("read", slab, "--box", BASE, "--corners", AROUND, "--json").json()
    [reading] = answer["readings"]
    assert reading["spot"] == "base"
    assert reading["lab"] == pytest.approx(SLAB_LAB, abs=1.5)
    assert all(0 < sd < 3 for sd in reading["lab_sd"])
    assert reading["hex"].startswith("#")
    assert "YR" in reading["munsell"]
    assert "brown" in reading["name"]
    assert reading["box"] == list(SLAB)
    assert answer["card"]["found"] is True
    assert answer["card"]["method"] == "card, corners by hand"
    assert answer["card"]["loo_median_de00"] < 1
    assert answer["card"]["clipped"] == []
    assert answer["source"] == "card in the photo"


def test_the_card_is_found_with_the_extra(finishlog: Run, slab: str) -> None:
    pytest.importorskip("cv2", reason="the extra finishlog[card] is not installed")
    answer = finishlog("read", slab, "--box", BASE, "--json").json()
    assert answer["card"]["method"] == "card found"
    assert answer["readings"][0]["lab"] == pytest.approx(SLAB_LAB, abs=1.5)


def test_two_boxes_answer_their_difference(finishlog: Run, slab: str) -> None:
    x, y, width, height = SLAB
    half = f"release={x},{y},{width},{height // 2}"
    answer = finishlog("read", slab, "--box", BASE, "--box", half, "--corners", AROUND, "--json").json()
    [apart] = answer["differences"]
    assert (apart["from"], apart["to"]) == ("base", "release color")
    assert apart["de00"] < 0.5
    assert max(apart["lab_sd"]) < max(answer["readings"][0]["lab_sd"])


def test_in_words_with_the_uncertainty_beside_each_number(finishlog: Run, slab: str) -> None:
    ran = finishlog("read", slab, "--box", BASE, "--corners", AROUND)
    assert ran.status == 0, ran.err
    assert "ΔE00 off (median)" in ran.out
    assert "L* 58" in ran.out
    assert "±" in ran.out


def test_a_gray_card_serves_and_is_rough(finishlog: Run, slab: str) -> None:
    gray = ",".join(map(str, spot_of(21)))
    answer = finishlog("read", slab, "--box", BASE, "--gray", gray, "--json").json()
    assert answer["source"] == "gray card"
    assert answer["card"]["found"] is False
    assert min(answer["readings"][0]["lab_sd"]) >= 7
    assert "rough" in answer["notes"][0]


@pytest.mark.parametrize("box", ["5000,1,20,20", "1,1,2,2"])
def test_a_gray_card_off_the_picture_names_its_own_option(finishlog: Run, slab: str, box: str) -> None:
    ran = finishlog("read", slab, "--box", BASE, "--gray", box)
    assert ran.status == 2
    assert "--gray" in ran.err
    assert "--box" not in ran.err
    assert "base=" not in ran.err


def test_a_heic_photo_is_read_by_whatever_name(finishlog: Run, tmp_path: Path) -> None:
    pytest.importorskip("pillow_heif", reason="the extra heic is not installed").register_heif_opener()
    path = tmp_path / "IMG_2.jpg"
    Image.fromarray(drawn()).save(path, "HEIF", quality=95)
    assert path.read_bytes()[4:8] == b"ftyp"
    answer = finishlog("read", str(path), "--box", BASE, "--corners", AROUND, "--json").json()
    assert answer["readings"][0]["lab"] == pytest.approx(SLAB_LAB, abs=2)


def test_a_heic_photo_without_its_reader_is_refused_with_the_reason(
    finishlog: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "IMG_2.jpg"
    path.write_bytes(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + bytes(400))
    monkeypatch.setitem(sys.modules, "pillow_heif", None)  # an import of it fails
    ran = finishlog("read", str(path), "--box", BASE, "--corners", AROUND)
    assert ran.status == 2
    assert "its reader is not installed" in ran.err
    assert "finishlog[heic]" in ran.err


def test_orientation_is_respected(finishlog: Run, tmp_path: Path) -> None:
    """Stored on its side, with the tag that says so: boxes and corners are of the upright picture."""
    exif = Image.Exif()
    exif[0x0112] = 6
    path = tmp_path / "turned.jpg"
    Image.fromarray(drawn()).transpose(Image.Transpose.ROTATE_90).save(path, quality=95, exif=exif)
    answer = finishlog("read", str(path), "--box", BASE, "--corners", AROUND, "--json").json()
    assert (answer["width_px"], answer["height_px"]) == (760, 420)
    assert answer["readings"][0]["lab"] == pytest.approx(SLAB_LAB, abs=2)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--box", "base=5000,1,20,20"], "outside the picture"),
        (["--box", "sky=1,1,20,20"], "not a box label"),
        (["--corners", "1,2 3,4"], "four corners"),
        (["--corners", "0,0 5000,0 10,10 0,10"], "outside the picture"),
        (["--gray", "1,2,3"], "no box"),
        (["--gray", "1,2,30,40", "--corners", AROUND], "do not go together"),
        (["--area", "field"], "name the job"),
        (["--because", "so"], "name the job"),
    ],
)
def test_refused_with_one_line_and_exit_2(finishlog: Run, slab: str, options: list[str], said: str) -> None:
    whole = options if "--gray" in options or "--corners" in options else ["--corners", AROUND, *options]
    ran = finishlog("read", slab, *whole)
    assert ran.status == 2
    assert said in ran.err
    assert ran.err.count("\n") == 1
    assert ran.out == ""


@pytest.mark.parametrize(
    ("card", "said"),
    [
        ({"gain": 3.0}, "overexposed"),
        ({"hidden": range(12)}, "covered"),
        ({"hidden": range(24)}, "covered"),
        ({"gain": 0.015}, "too dark"),
    ],
    ids=["overexposed", "half covered", "no card", "dark"],
)
def test_a_card_that_does_not_fit_is_refused_with_its_reason(
    finishlog: Run, tmp_path: Path, card: dict[str, Any], said: str
) -> None:
    path = tmp_path / "bad.png"
    Image.fromarray(drawn(**card)).save(path)
    ran = finishlog("read", str(path), "--box", BASE, "--corners", AROUND, "--json")
    assert ran.status == 2
    assert said in ran.err
    assert ran.out == ""


def test_no_photo(finishlog: Run, tmp_path: Path) -> None:
    text, gray = tmp_path / "text.jpg", tmp_path / "gray.png"
    text.write_text("no picture")
    Image.fromarray(drawn()).convert("L").save(gray)
    for name, said in ((str(text), "It is text"), (str(gray), "black and white"), (str(tmp_path), "folder"),
                       (str(tmp_path / "none.jpg"), "No such file")):  # fmt: skip
        ran = finishlog("read", name, "--corners", AROUND)
        assert ran.status == 2
        assert said in ran.err


@pytest.fixture
def on_log(finishlog: Run, tmp_path: Path) -> Run:
    log = str(tmp_path / "shop.finishlog")

    def run(*argv: str) -> Ran:
        return finishlog("--log", log, *argv)

    assert run("new").status == 0
    assert run("job", "new", "--customer", "Ottoline Quillfeather", "--job", "back patio", "--town", "Puddlecombe",
               "--areas", "field 24x18 4in, border 76 ft2", "--planned-on", "2026-06-15").status == 0  # fmt: skip
    assert run("record", "ottoline", "pour", "--at", "2026-06-15 9a", "--because", "test").status == 0
    return run


def test_with_a_job_photo_and_readings_come_into_its_log(on_log: Run, slab: str) -> None:
    answer = on_log(
        "read", "ottoline", slab, "--box", BASE, "--box", "field=610,70,50,50", "--corners", AROUND, "--area", "field",
        "--dry", "--bare", "--taken", "2026-06-16 7a", "--json",
    ).json()  # fmt: skip
    assert [reading["spot"] for reading in answer["readings"]] == ["base", "field"]
    record = on_log("show", "ottoline", "--json").json()["record"]
    kept = [each for each in record["entries"] if each["kind"] == "reading"]
    assert [each["number"] for each in kept] == [reading["entry"] for reading in answer["readings"]]
    first = kept[0]["reading"]
    assert first["photo"] == answer["photo_sha256"]
    assert first["box"] == ",".join(map(str, SLAB))
    assert first["source"] == "card in the photo"
    assert first["L"] == answer["readings"][0]["lab"][0]
    assert first["sd_L"] == answer["readings"][0]["lab_sd"][0]
    [photo] = [each for each in record["entries"] if each["kind"] == "photo"]
    assert kept[0]["happened"] == photo["happened"]


def test_a_kept_photo_is_read_again_by_its_entry_and_comes_in_once(on_log: Run, slab: str) -> None:
    told = ("--corners", AROUND, "--area", "field", "--taken", "2026-06-16 7a", "--json")
    first = on_log("read", "ottoline", slab, "--box", BASE, *told).json()
    again = on_log("read", "ottoline", str(first["photo_entry"]), "--box", BASE, *told).json()
    by_hash = on_log("read", "ottoline", first["photo_sha256"][:12], "--box", BASE, *told).json()
    by_file = on_log("read", "ottoline", slab, "--box", BASE, *told).json()
    assert {each["photo_entry"] for each in (again, by_hash, by_file)} == {first["photo_entry"]}
    assert again["readings"][0]["lab"] == first["readings"][0]["lab"]


def test_nothing_is_kept_of_a_photo_that_cannot_be_read(on_log: Run, tmp_path: Path) -> None:
    path = tmp_path / "bad.png"
    Image.fromarray(drawn(gain=3.0)).save(path)
    before = on_log("show", "ottoline", "--json").json()["record"]["entries"]
    ran = on_log(
        "read", "ottoline", str(path), "--box", BASE, "--corners", AROUND, "--taken", "2026-06-16 7a"
    )
    assert ran.status == 2
    assert on_log("show", "ottoline", "--json").json()["record"]["entries"] == before


def test_a_photo_without_its_time_and_an_area_that_is_not_known_are_asked_for(on_log: Run, slab: str) -> None:
    ran = on_log("read", "ottoline", slab, "--box", BASE, "--corners", AROUND, "--area", "field")
    assert ran.status == 2
    assert "--taken" in ran.err
    ran = on_log("read", "ottoline", slab, "--box", BASE, "--corners", AROUND, "--taken", "2026-06-16 7a")
    assert ran.status == 2
    assert "--area" in ran.err
    kinds = [each["kind"] for each in on_log("show", "ottoline", "--json").json()["record"]["entries"]]
    assert kinds == ["pour"]


def test_a_corrected_reading_is_still_of_its_photo(on_log: Run, slab: str) -> None:
    answer = on_log("read", "ottoline", slab, "--box", BASE, "--corners", AROUND, "--area", "field",
                    "--taken", "2026-06-16 7a", "--json").json()  # fmt: skip
    number = str(answer["readings"][0]["entry"])
    assert on_log("record", "ottoline", "reading", "--replaces", number, "--set", "damp=yes").status == 0
    entries = on_log("show", "ottoline", "--json").json()["record"]["entries"]
    [kept] = [each["reading"] for each in entries if each["kind"] == "reading"]
    assert kept["damp"] is True
    assert (kept["photo"], kept["source"]) == (answer["photo_sha256"], "card in the photo")


def _readings(on_log: Run) -> list[dict[str, Any]]:
    entries = on_log("show", "ottoline", "--json").json()["record"]["entries"]
    return [each["reading"] for each in entries if each["kind"] == "reading"]


def test_after_a_coat_it_is_asked_what_was_read_and_nothing_is_kept_before(on_log: Run, slab: str) -> None:
    assert on_log("record", "ottoline", "seal", "--at", "2026-06-16 7a", "--area", "field",
                  "--because", "a trial").status == 0  # fmt: skip
    told = ("--box", BASE, "--corners", AROUND, "--area", "field", "--taken", "2026-06-16 7:30a")
    ran = on_log("read", "ottoline", slab, *told)
    assert ran.status == 2
    assert "sealed on Jun 16 2026" in ran.err
    assert "--sealed or --bare" in ran.err
    kinds = [each["kind"] for each in on_log("show", "ottoline", "--json").json()["record"]["entries"]]
    assert "photo" not in kinds
    assert "reading" not in kinds
    said = on_log("read", "ottoline", slab, *told, "--sealed")
    assert "sealed: yes" in said.out
    assert [each["sealed"] for each in _readings(on_log)] == [True]
    assert on_log("read", "ottoline", slab, *told, "--bare").status == 0
    assert [each["sealed"] for each in _readings(on_log)] == [True, False]


def test_in_the_day_after_a_rinse_it_is_asked_whether_it_was_damp(on_log: Run, slab: str) -> None:
    assert on_log("record", "ottoline", "rinse", "--at", "2026-06-16 6a").status == 0
    told = ("--box", BASE, "--corners", AROUND, "--area", "field", "--taken", "2026-06-16 7a")
    ran = on_log("read", "ottoline", slab, *told)
    assert ran.status == 2
    assert "damp or dry" in ran.err
    assert "--damp or --dry" in ran.err
    assert on_log("read", "ottoline", slab, *told, "--damp").status == 0
    assert [each["damp"] for each in _readings(on_log)] == [True]


def test_what_was_said_with_the_photo_is_not_asked_again(on_log: Run, slab: str) -> None:
    assert on_log("record", "ottoline", "seal", "--at", "2026-06-16 7a", "--area", "field",
                  "--because", "a trial").status == 0  # fmt: skip
    assert (
        on_log("photo", "ottoline", slab, "--area", "field", "--taken", "2026-06-16 7:30a", "--sealed").status
        == 0
    )
    assert on_log("read", "ottoline", slab, "--box", BASE, "--corners", AROUND, "--area", "field").status == 0
    assert [each["sealed"] for each in _readings(on_log)] == [True]


def test_a_sample_off_the_slab_is_not_asked_about_the_slabs_coat(on_log: Run, slab: str) -> None:
    assert on_log("record", "ottoline", "sample", "--at", "2026-06-15 8a", "--set", "number=4").status == 0
    assert on_log("record", "ottoline", "seal", "--at", "2026-06-16 7a", "--area", "field",
                  "--because", "a trial").status == 0  # fmt: skip
    told = ("--box", BASE, "--corners", AROUND, "--area", "field", "--taken", "2026-06-16 7:30a")
    assert on_log("read", "ottoline", slab, *told, "--sample", "4").status == 0
