"""A realistic log of any size, the same for the same seed: python tests/bench/big.py JOBS FILE

Fifteen years of an invented shop: several areas and trucks, lots, coats, rinses, readings over weeks, photos,
samples, reseals booked and written about, claims, corrections and undone entries. Rows are written in bulk past
the desks; the projections are computed and sealed as always, so that the log is what the program itself would
write. Beyond `OWN` jobs all are copies of those, under names of their own (`copies.py`): a log of 200,000 is made
in about twice the time of one of 20,000.
"""

from __future__ import annotations

import gc
import random
import sys
import time
from collections import defaultdict
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import insert

sys.path.insert(0, str(Path(__file__).parent))

import copies
import words

from finishlog.store import Log
from finishlog.store.disk.attachments import Attachments, folder_of
from finishlog.store.entering.handles import HANDLE_MOST
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
    ShapeRow,
    SiteRow,
    StageMaterialRow,
    StageRow,
)
from finishlog.store.schema.tables_entry import (
    ApprovalRow,
    ClaimRow,
    CoatRow,
    EntryFileRow,
    EntryRow,
    FileRow,
    LoadAreaRow,
    LoadRow,
    MaterialUseRow,
    PhotoRow,
    ReadingRow,
    SampleRow,
    StockMoveRow,
)
from finishlog.store.sealing import keep
from finishlog.store.search import projections, shelved

NOW = datetime(2026, 6, 16, 12, tzinfo=UTC)
DAYS = 15 * 365
AT_ONCE = 1_000
"""Jobs in one transaction: memory stays flat, whatever the size."""
OWN = 20_000
"""Jobs that are no copy of another."""
ORDER = (
    *(PersonRow, PlantRow, MakerRow, CustomerRow, SiteRow, ProductRow, LotRow, MixRow, JobRow, RecipeRow),
    *(StageRow, StageMaterialRow, AreaRow, ShapeRow, BuriedRow, FileRow, PhotoRow, EntryRow, LoadRow),
    *(LoadAreaRow, MaterialUseRow, CoatRow, ReadingRow, SampleRow, ApprovalRow, ClaimRow, EntryFileRow),
    StockMoveRow,
)
Values = dict[str, Any]


def build(path: str | Path, jobs: int, *, seed: int = 1, own: int = OWN) -> None:
    """Make a log of that many jobs at `path`, a new file: beyond `own` a multiple of that."""
    own = min(jobs, own)
    assert jobs % own == 0
    Log.create(
        path, clock=lambda: NOW, new_uid=lambda: "none", fill=lambda log: _fill(log, jobs, seed, own)
    ).close()


def _fill(log: Log, jobs: int, seed: int, own: int) -> None:
    gc.freeze()
    gc.disable()  # nothing here is circular, and looking for it takes a quarter of the time
    rows = _Rows(random.Random(seed), own, Attachments(folder_of(log.where)))
    for first in range(1, own + 1, AT_ONCE):
        some = range(first, min(first + AT_ONCE, own + 1))
        for job in some:
            rows.job(job)
        with log._connection(write=True) as connection:
            for row, values in rows.taken():
                connection.execute(insert(table(row)), values)
            projections.refresh(connection, some)
            keep.seal(connection, some)
        gc.collect()
    for number in range(1, jobs // own):
        with log._connection(write=True) as connection:
            copies.copy(connection, number)
            keep.seal(connection, range(number * own + 1, (number + 1) * own + 1))
    with log._connection(write=True) as connection:
        shelved.write_all(connection)
        keep.seal(connection, (), shelved.every_id(connection))
    gc.enable()


class _Rows:
    """Rows by table, parents first."""

    def __init__(self, chance: random.Random, jobs: int, files: Attachments) -> None:
        self.chance = chance
        self.periods = max(6, jobs // 200)
        self.rows: dict[type, list[Values]] = defaultdict(list)
        self.ids: dict[type, int] = defaultdict(int)
        self.handles: set[str] = set()
        self.lots: dict[int, list[int]] = {}
        self.samples = 0
        self._shop()
        self.photos = list(self._photos(files))

    def taken(self) -> list[tuple[type, list[Values]]]:
        """The rows since the last call, in the order of their foreign keys."""
        found = [(row, self.rows[row]) for row in ORDER if self.rows[row]]
        self.rows = defaultdict(list)
        return found

    def add(self, row: type, **values: Any) -> int:
        self.ids[row] += 1
        number = self.ids[row]
        columns = row.__table__.c  # type: ignore[attr-defined]
        if "uid" in columns:
            values["uid"] = f"{self.chance.getrandbits(128):032x}"
        if "id" in columns:
            values["id"] = number
        self.rows[row].append(values)
        return number

    def named(self, row: type, name: str, **values: Any) -> int:
        return self.add(row, name=name, name_key=key(name), **values)

    # the shop

    def _shop(self) -> None:
        for name in words.PEOPLE:
            self.named(PersonRow, name)
        self.mixes = []
        for name in words.PLANTS:
            plant = self.named(PlantRow, name)
            for number in range(3):
                mix = self.add(
                    MixRow, plant_id=plant, number=f"{name[0]}-{4000 + 250 * number}", cement_kind="I/II",
                    cement_lb_per_yd3=517.0 + 47 * number, scm_kind=None if number else "fly ash",
                    scm_lb_per_yd3=None if number else 94.0,
                )  # fmt: skip
                self.mixes.append(mix)
        maker = self.named(MakerRow, "Moonhill Colors")
        kinds = (("pigment", words.BASES), ("powder release", words.RELEASES), ("sealer", words.SEALERS))
        self.products = {kind: [self._product(kind, name, maker) for name in names] for kind, names in kinds}

    def _product(self, kind: str, name: str, maker: int) -> int:
        facts: Values = {"form": "liquid", "chemistry": "acrylic", "solids_percent": 25.0}
        if kind != "sealer":
            facts = {"form": "powder", "chemistry": None, "solids_percent": None}
        product = self.named(ProductRow, name, kind=kind, maker_id=maker, **facts)
        self.lots[product] = [self._lot(product, kind, name, period) for period in range(self.periods)]
        return product

    def _lot(self, product: int, kind: str, name: str, period: int) -> int:
        code = f"{name[0]}{product}-{1000 + period}"
        lot = self.add(LotRow, product_id=product, code=code, code_key=key(code))
        bought = NOW - timedelta(days=DAYS - (period * DAYS) // self.periods)
        unit, amount = ("gal", 55.0) if kind == "sealer" else ("lb", 500.0)
        self._move(product, lot, "bought", amount, unit, bought, price_usd=round(amount * 2.35, 2))
        self._move(product, lot, "opened", None, unit, bought + timedelta(days=3), price_usd=None)
        if bought < NOW - timedelta(days=400):
            self._move(product, lot, "counted", 0.0, unit, bought + timedelta(days=390), price_usd=None)
        return lot

    def _move(
        self, product: int, lot: int, what: str, amount: float | None, unit: str, at: datetime, **more: Any
    ) -> None:
        self.add(StockMoveRow, product_id=product, lot_id=lot, what=what, amount=amount, unit=unit, happened=at,
                 logged=at, person_id=1, **more)  # fmt: skip

    def _photos(self, files: Attachments) -> Iterator[str]:
        """A few real pictures, shared by all."""
        from hashlib import sha256
        from io import BytesIO

        from PIL import Image

        from finishlog.records.files import Content

        for shade in range(4):
            drawn = BytesIO()
            Image.new("RGB", (64, 48), (150 + 10 * shade, 120, 100)).save(drawn, "JPEG")
            content = Content(drawn.getvalue(), sha256(drawn.getvalue()).hexdigest())
            kept = files.put(content)
            added = NOW - timedelta(days=DAYS)
            self.add(FileRow, sha256=kept.sha256, size=kept.size, media_type="image/jpeg", added=added)
            self.add(PhotoRow, sha256=kept.sha256, format="JPEG", width=64, height=48, clock="unknown")
            yield kept.sha256

    # a job

    def job(self, number: int) -> None:
        _Job(self, number).write()

    def handle(self, wanted: str) -> str:
        """The handle the program would give."""
        first = slug(wanted)[:HANDLE_MOST].strip("-")
        found, count = first, 1
        while found in self.handles:
            count += 1
            found = f"{first}-{count}"
        self.handles.add(found)
        return found


class _Job:
    """One job with all that was logged on it."""

    def __init__(self, rows: _Rows, number: int) -> None:
        self.rows, self.number, self.chance = rows, number, rows.chance
        self.poured = NOW - timedelta(
            days=self.chance.randrange(DAYS) - 20, minutes=self.chance.randrange(300)
        )
        self.entries = 0
        self.pigment = self.chance.choice(rows.products["pigment"])
        self.release = self.chance.choice(rows.products["powder release"])
        self.sealer = self.chance.choice(rows.products["sealer"])
        self.pattern = self.chance.choice(words.PATTERNS)
        self.last: int | None = None

    def write(self) -> None:
        self._head()
        self._areas()
        if self.poured >= NOW:
            return
        if self.chance.random() < 0.05:  # three facts of a job long ago
            self.entry("pour", 0, exactness="season", area=self.areas[0])
            return
        self._pour_day()
        self._readings()
        self._years()
        self._papers()

    def _name(self) -> str:
        chance = self.chance
        return chance.choice(words.HEADS) + chance.choice(words.MIDDLES) + chance.choice(words.TAILS)

    def _head(self) -> None:
        chance, rows = self.chance, self.rows
        who = f"{chance.choice(words.GIVEN)} {self._name()}"
        street = chance.choice(words.STREETS) if chance.random() < 0.3 else self._name()
        street = f"{chance.randrange(1, 2000)} {street} {chance.choice(words.WAYS)}"
        town, piece = chance.choice(words.TOWNS), chance.choice(words.PIECES)
        again = rows.ids[CustomerRow] and chance.random() < 0.15
        if again:
            self.customer, self.site = chance.randrange(rows.ids[CustomerRow]) + 1, 0
            self.site = self.customer
        else:
            phone = f"555-01{self.number % 100:02d}" if chance.random() < 0.7 else None
            email = f"{slug(who)}@example.com" if chance.random() < 0.5 else None
            self.customer = rows.named(CustomerRow, who, phone=phone, email=email)
            self.site = rows.add(
                SiteRow, street=street, street_key=key(street), town=town, town_key=key(town),
                zone="America/Chicago", exposure=chance.choice(("sun", "part shade", "shade", "unknown")),
            )  # fmt: skip
            if chance.random() < 0.2:
                what = chance.choice(words.BURIED)
                rows.add(BuriedRow, site_id=self.site, what=what, place="along the fence", depth_in=18.0)
        planned = self.poured >= NOW
        state = "planned" if planned else "archived" if chance.random() < 0.03 else "poured"
        rows.named(
            JobRow, piece, handle=rows.handle(f"{who} {piece}"), customer_id=self.customer, site_id=self.site,
            state=state, archived_from="poured" if state == "archived" else None, logged=min(self.poured, NOW),
            planned_on=self.poured.date() if planned else None,
            note=chance.choice(words.NOTES) if chance.random() < 0.1 else None,
        )  # fmt: skip

    def _areas(self) -> None:
        chance, rows = self.chance, self.rows
        names = [("field", "field")]
        names += [("border", "border")] if chance.random() < 0.25 else []
        names += [("steps", "stairs")] if chance.random() < 0.08 else []
        self.areas: list[int] = []
        self.sizes: list[float] = []
        for position, (name, kind) in enumerate(names, 1):
            long, wide = (chance.randrange(10, 45), chance.randrange(8, 24)) if position == 1 else (20, 3)
            self.sizes.append(float(long * wide))
            area = rows.named(
                AreaRow, name, job_id=self.number, position=position, kind=kind, recipe_id=self._recipe(),
                area_ft2=self.sizes[-1], depth_in=6.0 if kind == "stairs" else 4.0, edge_yd3=0.0,
            )  # fmt: skip
            rows.add(ShapeRow, area_id=area, position=1, sign=1, kind="rect", dimensions=f"{long}x{wide}")
            self.areas.append(area)

    def _recipe(self) -> int:
        rows = self.rows
        frozen = None if self.poured >= NOW else self.poured
        name = f"{words.BASES[self.pigment - 1]} with {self.pattern}"
        recipe = rows.named(RecipeRow, name, frozen=frozen)
        stages: tuple[tuple[str, Values, tuple[int, float, str] | None], ...] = (
            ("integral_color", {}, (self.pigment, 4.0, "%")),
            ("powder_release", {"lb_per_100ft2": 3.5}, (self.release, 3.5, "lb/100 ft2")),
            ("stamp", {"pattern": self.pattern, "mats": 6}, None),
            ("rinse", {"pressure_psi": 2000, "tip_deg": 25}, None),
            ("seal", {"coats": 2}, (self.sealer, 250.0, "ft2/gal")),
        )
        for position, (kind, params, material) in enumerate(stages, 1):
            stage = rows.add(StageRow, recipe_id=recipe, position=position, kind=kind, params=params)
            if material is not None:
                product, rate, unit = material
                rows.add(
                    StageMaterialRow, stage_id=stage, position=1, product_id=product, rate=rate, unit=unit
                )
        return recipe

    def entry(
        self, kind: str, hours: float, *, area: int | None = None, facts: Values | None = None,
        exactness: str = "", note: str | None = None, **more: Any,
    ) -> int:  # fmt: skip
        """Log it that many hours after the end of the pour."""
        chance = self.chance
        happened = self.poured + timedelta(hours=hours)
        self.entries += 1
        return self.rows.add(
            EntryRow, job_id=self.number, number=self.entries, area_id=area, kind=kind, happened=happened,
            logged=min(happened + timedelta(hours=chance.randrange(1, 12)), NOW),
            exactness=exactness or chance.choice(("exact", "exact", "about")), facts=facts or {},
            note=note or (chance.choice(words.NOTES) if chance.random() < 0.06 else None),
            person_id=chance.randrange(len(words.PEOPLE)) + 1,
            **({"replaces_id": None, "withdrawn": False} | more),
        )  # fmt: skip

    def use(self, entry: int, product: int, amount: float, unit: str = "lb", hours: float = 0) -> None:
        lots = self.rows.lots[product]
        past = DAYS - (NOW - self.poured - timedelta(hours=hours)).days
        lot = lots[min(max(past * len(lots) // DAYS, 0), len(lots) - 1)]
        self.rows.add(MaterialUseRow, entry_id=entry, position=1, product_id=product, lot_id=lot,
                      amount=round(amount, 2), unit=unit)  # fmt: skip

    def _pour_day(self) -> None:
        chance, rows = self.chance, self.rows
        wanted = sum(size * 4 / 12 / 27 for size in self.sizes) * chance.uniform(0.98, 1.1)
        mix, trucks = chance.choice(rows.mixes), max(1, round(wanted / 8))
        for truck in range(trucks):
            yards = round(wanted / trucks * 4) / 4 + 0.25
            only = self.areas[0] if len(self.areas) == 1 else None
            entry = self.entry("load", -1.0 + truck * 0.5, area=only, facts={"light": "sun"})
            rows.add(
                LoadRow, entry_id=entry, yards=yards, dumped_yd3=0.0, ticket=f"T{100_000 + 7 * entry % 899_999}",
                returned_yd3=None if chance.random() < 0.2 else 0.25, mix_id=mix,
                slump_in=chance.choice((4.0, 4.5, 5.0)),
            )  # fmt: skip
            if only is None:
                for area in self.areas:
                    rows.add(LoadAreaRow, entry_id=entry, area_id=area)
            self.use(entry, self.pigment, yards * 22.0)
        self._corrected("load" if chance.random() < 0.03 else "")
        self.entry("pour", 0, area=self.areas[0] if len(self.areas) == 1 else None)
        for position, area in enumerate(self.areas):
            release = self.entry("powder_release", 1.5, area=area)
            self.use(release, self.release, self.sizes[position] * 0.035)
            self.entry("stamp", 2.0 + chance.random(), area=area, facts={"pattern": self.pattern, "mats": 6})
        self.entry("joint", 8.0, area=self.areas[0], facts={"method": "saw", "depth_in": 1, "dust": "vacuum"})
        self._photo(20)
        if self.past(31):
            self._rinse()
        if self.past(712):
            self._coats(700, reseal=False)

    def past(self, hours: float) -> bool:
        """Whether that many hours after the pour are over."""
        return self.poured + timedelta(hours=hours) < NOW

    def _corrected(self, kind: str) -> None:
        """A note that was wrong and is replaced, or a second note that is undone."""
        if kind or self.chance.random() < 0.06:
            first = self.entry("note", -0.5, note="the neighbor's hose was left on")
            undone = self.chance.random() < 0.4
            note = None if undone else "the hose was ours"
            self.entry("note", -0.5, note=note, replaces_id=first, withdrawn=undone)

    def _rinse(self) -> None:
        left = self.chance.randrange(10, 35)
        facts = {"pressure_psi": 2000, "tip_deg": 25, "passes": 2, "release_left_percent": left}
        first = self.entry("rinse", 30, area=self.areas[0], facts=facts)
        if self.chance.random() < 0.05:
            self.entry(
                "rinse", 30, area=self.areas[0], replaces_id=first, facts=facts | {"release_left_percent": 12}
            )

    def _coats(self, hours: float, *, reseal: bool) -> None:
        for number in (1,) if reseal else (1, 2):
            entry = self.entry("seal", hours + 5 * number, area=self.areas[0])
            self.rows.add(
                CoatRow, entry_id=entry, number=number, reseal=reseal, area_ft2=self.sizes[0], slab_f=72.0,
                air_f=75.0, humidity_percent=50.0,
            )  # fmt: skip
            self.use(entry, self.sealer, self.sizes[0] / 250, "gal", hours)

    def _photo(self, hours: float) -> None:
        if self.chance.random() < 0.5 and self.past(hours):
            facts = {"damp": False, "sealed": hours > 700, "light": "open_shade"}
            entry = self.entry("photo", hours, area=self.areas[0], facts=facts)
            for position in range(1, self.chance.randrange(2, 4)):
                self.rows.add(EntryFileRow, entry_id=entry, position=position, name=f"slab-{entry}-{position}.jpg",
                              sha256=self.chance.choice(self.rows.photos))  # fmt: skip

    def _readings(self) -> None:
        """Some slabs are read over their first weeks: they lighten, by a curve of their own."""
        chance = self.chance
        if chance.random() > 0.3:
            return
        start = (
            48.0 + 2 * (self.pigment % 7) + chance.gauss(0, 1),
            4.0 + self.pigment % 5,
            10.0 + self.pigment,
        )
        for day in (1, 7, 28, 60)[: chance.randrange(1, 5)]:
            grown = 6.5 * (1 - 2.718 ** (-day / 12))
            self._reading(day, (start[0] + grown, start[1] - grown / 10, start[2] + grown / 12), "base")
            if day >= 7:
                self._reading(day, (41.0 + chance.gauss(0, 1), 3.5, 8.0), "release color")
        if chance.random() < 0.2:
            self._reading(90, (start[0] - 1.5, start[1] + 1, start[2] + 3), "base", sealed=True)

    def _reading(self, day: float, lab: tuple[float, ...], spot: str, **more: Any) -> None:
        if not self.past(24 * day):
            return
        entry = self.entry("reading", 24 * day, area=self.areas[0], exactness="exact")
        lightness, a, b = (round(value + self.chance.gauss(0, 0.5), 1) for value in lab)
        self.rows.add(
            ReadingRow, entry_id=entry, lightness=lightness, a=a, b=b, spot=spot, source="by hand",
            **({"damp": False, "sealed": False} | more),
        )  # fmt: skip

    def _years(self) -> None:
        """Reseals as they came due: written about, booked, done; a visit now and then."""
        year = self.chance.randrange(2, 5)
        while (hours := year * 8766) and self.past(hours + 800):
            day = (self.poured + timedelta(hours=hours + 720)).date().isoformat()
            self.entry("reminder", hours, facts={"how": "letter", "what": "remind"})
            if self.chance.random() < 0.2:
                self.entry("care", hours + 100, facts={"state": "declined"})
                return
            self.entry("care", hours + 200, facts={"state": "booked", "on": day})
            self.entry("visit", hours + 400, area=self.areas[0], facts={"condition": "worn"})
            self._coats(hours + 715, reseal=True)
            self.entry("care", hours + 730, facts={"state": "done"})
            self._photo(hours + 740)
            year += self.chance.randrange(3, 6)

    def _papers(self) -> None:
        chance, rows = self.chance, self.rows
        if chance.random() < 0.05 and self.past(300):
            rows.samples += 1
            entry = self.entry("sample", 2, area=self.areas[0])
            rows.add(
                SampleRow,
                entry_id=entry,
                number=rows.samples,
                size="2x2 ft",
                kept_where="shed",
                half_sealed=True,
            )
            approval = self.entry("approval", 300)
            rows.add(
                ApprovalRow, entry_id=approval, sample=rows.samples, signed_by="the owner", approved=True
            )
        if chance.random() < 0.02 and self.past(5000):
            entry = self.entry("claim", 5000, facts={"about": "whitening"})
            rows.add(ClaimRow, entry_id=entry, complaint=chance.choice(words.COMPLAINTS), settled=True)


if __name__ == "__main__":
    began = time.perf_counter()
    build(sys.argv[2], int(sys.argv[1]))
    size = Path(sys.argv[2]).stat().st_size
    took = time.perf_counter() - began
    print(
        f"{sys.argv[1]} jobs in {took:.1f} s, {size / 1e6:.1f} MB, {size / 1e3 / int(sys.argv[1]):.1f} kB a job"
    )
