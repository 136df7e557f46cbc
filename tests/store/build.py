"""A log of any size for measuring, quickly: python tests/store/build.py PATH N

Rows are written in bulk past the desks (the projections are then computed as always), and
every name is invented.
"""

from __future__ import annotations

import itertools
import random
import sys
import time
from collections import defaultdict
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import insert

from finishlog.store import Log
from finishlog.store.schema.fold import key, slug
from finishlog.store.schema.rows import table
from finishlog.store.schema.tables import (
    AreaRow,
    BuriedRow,
    CustomerRow,
    JobRow,
    LotRow,
    MakerRow,
    MixRow,
    PersonRow,
    PlantRow,
    ProductRow,
    RecipeRow,
    SiteRow,
    StageMaterialRow,
    StageRow,
)
from finishlog.store.schema.tables_entry import CoatRow, EntryRow, LoadRow, MaterialUseRow, ReadingRow
from finishlog.store.sealing.keep import seal_all
from finishlog.store.search import projections

NOW = datetime(2026, 6, 16, 12, tzinfo=UTC)
FIRST = (
    "Puddle",
    "Gravel",
    "Thistle",
    "Bramble",
    "Copper",
    "Marrow",
    "Willow",
    "Otter",
    "Kettle",
    "Fennel",
    "Barley",
    "Clover",
    "Hazel",
    "Juniper",
    "Larch",
    "Maple",
    "Nettle",
    "Quill",
    "Rowan",
    "Sorrel",
)
LAST = (
    "combe",
    "pit",
    "wick",
    "ridge",
    "worth",
    "field",
    "bury",
    "mere",
    "stead",
    "hollow",
    "croft",
    "gate",
    "haven",
    "moor",
    "thorpe",
    "vale",
)
STREETS = (
    "Teakettle Lane",
    "Gravelpit Road",
    "Owl Hollow",
    "Cooper's Way",
    "Sandbar Drive",
    "Quarry Street",
    "Lantern Court",
    "Millrace Avenue",
)
TOWNS = ("Nowhere Falls", "Upper Nonesuch", "Lower Nonesuch", "Elsewhere")
PIECES = ("back patio", "front walk", "driveway", "pool deck", "porch", "side yard", "steps and landing")
BASES = ("Wet Biscuit", "Dusty Drum", "Rust Pot", "Old Saddle", "Flour Sack", "Storm Pail", "Clay Whistle")
RELEASES = ("Otter Back", "Soot Cat", "Walnut Husk", "Slate Dust", "Moss Log")
PATTERNS = ("ashlar slate", "random stone", "herringbone brick", "wood plank", "seamless skin")
PEOPLE = ("Ada", "Bo", "Cy", "Dot", "Eli")
NOTES = (
    "edge burnished by the gate",
    "puddles at the drain",
    "swept twice",
    "hose bib leaks",
    "dog crossed it",
)

ORDER = (
    *(PersonRow, PlantRow, MakerRow, CustomerRow, SiteRow, ProductRow, LotRow, MixRow, JobRow, RecipeRow),
    *(StageRow, StageMaterialRow, AreaRow, BuriedRow, EntryRow, LoadRow, MaterialUseRow, CoatRow, ReadingRow),
)


def build(path: str | Path, jobs: int, *, seed: int = 1) -> None:
    """Make a log of that many jobs at `path`; the same for the same seed."""
    counter = itertools.count()
    log = Log.create(path, clock=lambda: NOW, new_uid=lambda: f"x{next(counter)}")
    with log._connection(write=True) as connection:
        for row, values in _Rows(random.Random(seed)).of(jobs):
            connection.execute(insert(table(row)), values)
        projections.refresh(connection, range(1, jobs + 1))
        seal_all(connection)
    log.close()


class _Rows:
    """Rows by table, parents first."""

    def __init__(self, chance: random.Random) -> None:
        self.chance = chance
        self.rows: dict[type, list[dict[str, Any]]] = defaultdict(list)

    def of(self, jobs: int) -> list[tuple[type, list[dict[str, Any]]]]:
        self._shop()
        for job in range(1, jobs + 1):
            self._job(job)
        order = (
            PersonRow,
            PlantRow,
            MakerRow,
            CustomerRow,
            SiteRow,
            ProductRow,
            LotRow,
            MixRow,
            JobRow,
            RecipeRow,
        )
        order += (StageRow, StageMaterialRow, AreaRow, BuriedRow, EntryRow, LoadRow, MaterialUseRow, CoatRow)
        return [(row, self.rows[row]) for row in (*order, ReadingRow) if self.rows[row]]

    def _add(self, row: type, **values: Any) -> int:
        number = len(self.rows[row]) + 1
        if "uid" in row.__table__.c:
            values |= {"uid": f"{row.__tablename__}{number}"}
        if "id" in row.__table__.c:
            values |= {"id": number}
        self.rows[row].append(values)
        return number

    def _named(self, row: type, name: str, **values: Any) -> int:
        return self._add(row, name=name, name_key=key(name), **values)

    def _shop(self) -> None:
        for name in PEOPLE:
            self._named(PersonRow, name)
        for name in ("Stoneport", "Ridgeline", "Old Quarry"):
            plant = self._named(PlantRow, name)
            self._add(MixRow, plant_id=plant, number=f"M{plant}00", cement_lb_per_yd3=500.0 + 16 * plant)
        maker = self._named(MakerRow, "Moonhill Colors")
        for kind, names in (("pigment", BASES), ("powder release", RELEASES), ("sealer", ("Clear Pond",))):
            for name in names:
                product = self._named(ProductRow, name, kind=kind, maker_id=maker)
                for lot in range(1, 4):
                    code = f"{name[0]}{product}{lot}"
                    self._add(LotRow, product_id=product, code=code, code_key=key(code))

    def _job(self, job: int) -> None:
        chance = self.chance
        name = f"{chance.choice(FIRST)}{chance.choice(LAST)}"
        street = f"{chance.randrange(1, 2000)} {chance.choice(STREETS)}"
        town, piece = chance.choice(TOWNS), chance.choice(PIECES)
        customer = self._named(CustomerRow, name)
        site = self._add(
            SiteRow,
            street=street,
            street_key=key(street),
            town=town,
            town_key=key(town),
            zone="America/Chicago",
        )
        self._named(
            JobRow,
            piece,
            handle=f"{slug(name)}-{slug(piece)}-{job}",
            customer_id=customer,
            site_id=site,
            state="poured",
            logged=NOW,
        )
        if chance.random() < 0.2:
            self._add(BuriedRow, site_id=site, what="gas line", place="along the fence", depth_in=18.0)
        poured = datetime(2006, 4, 1, 13, tzinfo=UTC) + timedelta(days=chance.randrange(20 * 365))
        base, release = chance.randrange(len(BASES)), chance.randrange(len(RELEASES))
        pattern = chance.choice(PATTERNS)
        recipe = self._named(RecipeRow, f"{BASES[base]} with {RELEASES[release]}", frozen=poured)
        self._stages(recipe, base + 1, len(BASES) + release + 1, pattern)
        area = self._named(
            AreaRow,
            "field",
            job_id=job,
            position=1,
            recipe_id=recipe,
            area_ft2=float(chance.randrange(120, 900)),
            depth_in=4.0,
            edge_yd3=0.0,
        )
        self._entries(job, area, poured, base + 1, len(BASES) + release + 1)

    def _stages(self, recipe: int, pigment: int, release: int, pattern: str) -> None:
        facts: dict[str, dict[str, Any]] = {"stamp": {"pattern": pattern}}
        for position, kind in enumerate(("integral_color", "powder_release", "stamp", "rinse", "seal"), 1):
            stage = self._add(
                StageRow, recipe_id=recipe, position=position, kind=kind, params=facts.get(kind, {})
            )
            product = {"integral_color": pigment, "powder_release": release}.get(kind)
            if product is not None:
                rate, unit = (4.0, "%") if kind == "integral_color" else (3.5, "lb/100 ft2")
                self._add(
                    StageMaterialRow, stage_id=stage, position=1, product_id=product, rate=rate, unit=unit
                )

    def _entries(self, job: int, area: int, poured: datetime, pigment: int, release: int) -> None:
        chance = self.chance
        for number, (kind, hours) in enumerate(
            (("load", 0), ("pour", 2), ("powder_release", 3), ("stamp", 4), ("rinse", 30), ("seal", 700)), 1
        ):
            note = chance.choice(NOTES) if chance.random() < 0.1 else None
            entry = self._add(
                EntryRow,
                job_id=job,
                number=number,
                area_id=area,
                kind=kind,
                exactness="exact",
                note=note,
                happened=poured + timedelta(hours=hours),
                logged=poured + timedelta(hours=hours + 8),
                person_id=chance.randrange(len(PEOPLE)) + 1,
                facts={"release_left_percent": chance.randrange(10, 35)} if kind == "rinse" else {},
            )
            if kind == "load":
                yards = chance.randrange(8, 40) / 4
                self._add(
                    LoadRow,
                    entry_id=entry,
                    yards=yards,
                    returned_yd3=0.25,
                    dumped_yd3=0.0,
                    ticket=f"T{10_000 + job}",
                    mix_id=chance.randrange(3) + 1,
                )
                self._use(entry, pigment, yards * 22.0)
            elif kind == "powder_release":
                self._use(entry, release, 14.0)
            elif kind == "seal":
                self._add(CoatRow, entry_id=entry, number=1)
        if job % 4 == 0:
            self._reading(job, area, poured)

    def _use(self, entry: int, product: int, amount: float) -> None:
        lot = 3 * (product - 1) + self.chance.randrange(3) + 1
        self._add(
            MaterialUseRow,
            entry_id=entry,
            position=1,
            product_id=product,
            lot_id=lot,
            amount=amount,
            unit="lb",
        )

    def _reading(self, job: int, area: int, poured: datetime) -> None:
        entry = self._add(
            EntryRow,
            job_id=job,
            number=7,
            area_id=area,
            kind="reading",
            exactness="exact",
            happened=poured + timedelta(days=60),
            logged=poured + timedelta(days=60),
            facts={},
            person_id=1,
            note=None,
        )
        lightness, a, b = (self.chance.uniform(*span) for span in ((40, 75), (1, 12), (4, 22)))
        self._add(
            ReadingRow,
            entry_id=entry,
            lightness=round(lightness, 1),
            a=round(a, 1),
            b=round(b, 1),
            spot="base",
            source="by hand",
        )


if __name__ == "__main__":
    began = time.perf_counter()
    build(sys.argv[1], int(sys.argv[2]))
    size = Path(sys.argv[1]).stat().st_size / 1e6
    print(f"{sys.argv[2]} jobs in {time.perf_counter() - began:.1f} s, {size:.1f} MB")
