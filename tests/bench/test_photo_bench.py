"""Photos into a log against what cannot be saved: their hash, a copy that is on disk, a small picture."""

from __future__ import annotations

import hashlib
import os
import statistics
import time
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageOps

from finishlog.desk.photo import photos
from finishlog.desk.photo.photos import PhotoFacts
from finishlog.records.writing import NewArea, NewCustomer, NewEntry, NewJob, NewSite
from tests.desk.conftest import NOW, SheetShop
from tests.desk.photo_making import exif

pytestmark = pytest.mark.bench
SIZE, EACH, ROUNDS, MOST = (4032, 3024), 12, 5, 1.15


def camera(folder: Path) -> list[Path]:
    """Photos of 12 million pixels with as much detail as a phone's: about 4 MB each."""
    chance = np.random.default_rng(7)
    rough = chance.normal(130, 40, (SIZE[1] // 8, SIZE[0] // 8, 3)).clip(0, 255).astype(np.uint8)
    slab = np.asarray(Image.fromarray(rough).resize(SIZE, Image.Resampling.BICUBIC), dtype=np.int16)
    paths = []
    for number in range(EACH):
        grain = chance.integers(-14, 15, (SIZE[1], SIZE[0], 1), dtype=np.int16)
        made = Image.fromarray((slab + grain).clip(0, 255).astype(np.uint8))
        paths.append(folder / f"IMG_{number:04d}.jpg")
        made.save(paths[-1], quality=90, exif=exif(f"2026:06:16 06:00:{number:02d}", orientation=6))
    return paths


def floor(paths: list[Path], into: Path) -> float:
    """Hash, copy, small picture: nothing else, and every copy on disk."""
    into.mkdir()
    began = time.perf_counter()
    for path in paths:
        data = path.read_bytes()
        name = hashlib.sha256(data).hexdigest()
        with open(into / name, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        with Image.open(BytesIO(data)) as image:
            image.thumbnail((512, 512), reducing_gap=2.0)
            ImageOps.exif_transpose(image).save(into / f"{name}.jpg", quality=85)
    return time.perf_counter() - began


def ours(paths: list[Path], folder: Path) -> float:
    shop = SheetShop(folder)
    log = shop.services.make_log(None)
    with log.writing() as writer:
        job = NewJob("patio", NewCustomer("Bo"), NewSite("s"), areas=(NewArea("field"),), handle="patio")
        writer.add_job(job)
        writer.add_entry("patio", NewEntry("pour", NOW.replace(day=15)))
    log.close()
    shop.services.log()
    began = time.perf_counter()
    done = photos.add(shop.services, "patio", paths, PhotoFacts())
    taken = time.perf_counter() - began
    assert len(done.kept) == EACH
    shop.services.close()
    return taken


def test_photos_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    camera_folder = tmp_path / "phone"
    camera_folder.mkdir()
    paths = camera(camera_folder)
    size = sum(path.stat().st_size for path in paths) / EACH / 1e6
    ratios, each = [], []
    for turn in range(ROUNDS):
        folder = tmp_path / f"shop{turn}"
        folder.mkdir()
        base, own = floor(paths, tmp_path / f"floor{turn}"), ours(paths, folder)
        ratios.append(own / base)
        each.append(own / EACH)
    ratio = statistics.median(ratios)
    print(
        f"\nphotos of {size:.1f} MB: {statistics.median(each) * 1000:.0f} ms each, {ratio:.2f} of the floor "
        f"({min(ratios):.2f} to {max(ratios):.2f}); limit {MOST}"
    )
    assert ratio <= MOST
