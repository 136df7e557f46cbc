"""A camera known over time, and a chip of known color in the frame, as another program would use them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.color.card_drawing import CORNERS, SLAB, SLAB_LAB, drawn, spot_of
from tests.conftest import Ran

Run = Callable[..., Ran]
AROUND = " ".join(f"{x},{y}" for x, y in CORNERS)
BASE = f"base={','.join(map(str, SLAB))}"
MAKE, MODEL = 0x010F, 0x0110
GRAY = ",".join(map(str, spot_of(21)))


@pytest.fixture
def shoot(tmp_path: Path) -> Callable[..., str]:
    """A photo by that camera, with a tone that no gray card undoes."""

    def shot(name: str, model: str | None = "Plum 7", gain: float = 0.8) -> str:
        exif = Image.Exif()
        if model:
            exif[MAKE], exif[MODEL] = "Plum", model
        path = tmp_path / f"{name}.png"
        toned = 255 * (drawn(gain=gain, scatter=0.02) / 255) ** 0.7
        Image.fromarray(np.rint(toned).astype(np.uint8)).save(path, exif=exif)
        return str(path)

    return shot


@pytest.fixture
def on_log(finishlog: Run, tmp_path: Path) -> Run:
    log = str(tmp_path / "shop.finishlog")

    def run(*argv: str) -> Ran:
        return finishlog("--log", log, *argv)

    assert run("new").status == 0
    assert run("job", "new", "--customer", "Ottoline Quillfeather", "--job", "back patio", "--town", "Puddlecombe",
               "--areas", "field 24x18 4in", "--planned-on", "2026-06-15").status == 0  # fmt: skip
    assert run("record", "ottoline", "pour", "--at", "2026-06-15 9a", "--because", "test").status == 0
    return run


def kept(on_log: Run, photo: str, *more: str) -> dict[str, object]:
    ran = on_log("read", "ottoline", photo, "--box", BASE, "--corners", AROUND, "--taken", "2026-06-16 7a", "--dry",
                 "--bare", *more, "--json")  # fmt: skip
    assert ran.status == 0, ran.err
    answer: dict[str, object] = ran.json()
    return answer


def readings(on_log: Run) -> list[dict[str, object]]:
    entries = on_log("show", "ottoline", "--json").json()["record"]["entries"]
    return [each["reading"] for each in entries if each["kind"] == "reading"]


def test_a_reading_keeps_its_camera_and_how_the_card_came_out(
    on_log: Run, shoot: Callable[..., str], tmp_path: Path
) -> None:
    kept(on_log, shoot("one"))
    kept(on_log, shoot("two", model=None, gain=0.7), "--camera", "old tablet")
    first, second = readings(on_log)
    assert (first["camera"], second["camera"]) == ("Plum 7", "old tablet")
    assert len(str(first["card"]).split()) == 24
    number = "3"
    assert on_log("record", "ottoline", "reading", "--replaces", number, "--set", "damp=yes").status == 0
    assert readings(on_log)[-1]["card"] in (first["card"], second["card"])
    assert on_log("check").status == 0
    assert on_log("export", str(tmp_path / "out")).status == 0
    assert str(first["card"]) in (tmp_path / "out" / "reading.csv").read_text()


def test_what_a_camera_is_known_by_is_said_and_makes_its_gray_cards_surer(
    on_log: Run, shoot: Callable[..., str]
) -> None:
    rough = on_log("read", shoot("gray", gain=0.75), "--box", BASE, "--gray", GRAY, "--json").json()
    assert (rough["camera"], rough["camera_photos"]) == ("Plum 7", 0)
    for i in range(3):
        assert kept(on_log, shoot(f"card{i}", gain=0.6 + 0.1 * i))["camera_photos"] == i
    sure = on_log("read", shoot("gray2", gain=0.75), "--box", BASE, "--gray", GRAY, "--json").json()
    assert sure["camera_photos"] == 3
    off = [np.linalg.norm(np.subtract(each["readings"][0]["lab"], SLAB_LAB)) for each in (rough, sure)]
    assert off[1] < 0.5 * off[0]
    assert sure["readings"][0]["lab_sd"][0] < 0.7 * rough["readings"][0]["lab_sd"][0]
    assert (
        "3 earlier photos by Plum 7"
        in on_log("read", shoot("gray3", gain=0.75), "--box", BASE, "--gray", GRAY).out
    )
    other = on_log("read", shoot("other", "Plum 8"), "--box", BASE, "--gray", GRAY, "--json").json()
    assert other["camera_photos"] == 0


def test_a_photo_read_again_is_not_its_own_witness(on_log: Run, shoot: Callable[..., str]) -> None:
    photo = shoot("one")
    assert kept(on_log, photo)["camera_photos"] == 0
    assert kept(on_log, photo)["camera_photos"] == 0


def test_a_chip_of_known_color_makes_colors_like_its_own_surer(
    finishlog: Run, shoot: Callable[..., str]
) -> None:
    photo = shoot("one")
    told = ("read", photo, "--box", BASE, "--corners", AROUND, "--json")
    chip = f"{','.join(map(str, SLAB_LAB))}={SLAB[0] + 60},{SLAB[1]},50,50"
    without, with_it = finishlog(*told).json(), finishlog(*told, "--chip", chip).json()
    wide, narrow = (each["readings"][0]["lab_sd"] for each in (without, with_it))
    assert all(b <= a for a, b in zip(wide, narrow, strict=True))
    assert with_it["readings"][0]["lab"] == pytest.approx(SLAB_LAB, abs=1.5)


@pytest.mark.parametrize(
    ("chip", "said"),
    [("12=1,1,30,30", "No dry, bare reading of sample 12"), ("58,9,17", "is no chip"), ("=1,1,9,9", "is no chip"),
     ("58,9,17=5000,1,30,30", "outside the picture"), ("58,9=1,1,30,30", "")],
)  # fmt: skip
def test_a_chip_that_is_none_is_refused(
    finishlog: Run, shoot: Callable[..., str], chip: str, said: str
) -> None:
    ran = finishlog("read", shoot("one"), "--box", BASE, "--corners", AROUND, "--chip", chip)
    assert ran.status == 2
    assert said in ran.err


@pytest.mark.parametrize("told", ["20,0,0", "30,60,-70"])
def test_a_chip_that_the_card_contradicts_is_left_out_and_said(
    finishlog: Run, shoot: Callable[..., str], told: str
) -> None:
    argv = ("read", shoot("one"), "--box", BASE, "--corners", AROUND)
    chip = f"{told}={SLAB[0] + 60},{SLAB[1]},50,50"
    without, with_it = finishlog(*argv, "--json").json(), finishlog(*argv, "--chip", chip, "--json").json()
    assert with_it["readings"] == without["readings"]
    assert f"not {told.replace(',', ', ')}" in " ".join(with_it["notes"])
    good = f"{','.join(map(str, SLAB_LAB))}={SLAB[0] + 60},{SLAB[1]},50,50"
    assert "1 chip of known color" in finishlog(*argv, "--chip", good).out


def test_a_chip_beside_a_gray_card_is_refused_not_dropped(finishlog: Run, shoot: Callable[..., str]) -> None:
    chip = f"{','.join(map(str, SLAB_LAB))}={SLAB[0] + 60},{SLAB[1]},50,50"
    ran = finishlog("read", shoot("one"), "--box", BASE, "--gray", GRAY, "--chip", chip)
    assert ran.status == 2
    assert "24-patch" in ran.err
