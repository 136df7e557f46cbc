"""Save a small log at the newest revision as released/REVISION.sql: python tests/migrations/release.py

Done once, when a revision is released; a released file is never written again.
"""

from __future__ import annotations

import hashlib
import itertools
import sqlite3
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

from finishlog.records.answers import KeptLearned
from finishlog.records.files import Photo
from finishlog.records.log import Approval, Claim, Coat, Reading, Shape
from finishlog.records.writing import (
    NewAdvice,
    NewArea,
    NewBuried,
    NewCustomer,
    NewEntry,
    NewFile,
    NewJob,
    NewLoad,
    NewMaterialUse,
    NewMix,
    NewProduct,
    NewRecipe,
    NewSample,
    NewSite,
    NewStage,
    NewStageMaterial,
    NewStockMove,
)
from finishlog.store import Log, Writer
from finishlog.store.schema import revisions

RELEASED = Path(__file__).parent / "released"
TICKET = b"T-1029, 5 1/2 yd\n"
CARD = " ".join(["8f7a61"] * 24)
PICTURE = b"as good as a picture"
PIGMENT = NewProduct(
    "Wet Biscuit", "pigment", "Moonhill Colors", max_percent_of_cement=8.0, pack_lb=5.0, safety="respirator"
)
RELEASE = NewProduct("Otter Back", "powder release", "Moonhill Colors")
SEALER = NewProduct(
    "Clear Pond", "sealer", "Moonhill Colors", "liquid", solids_percent=25.0, chemistry="solvent acrylic"
)
STAGES = (
    NewStage("integral_color", {}, (NewStageMaterial(PIGMENT, "B-7", 4.0, "%"),)),
    NewStage("stamp", {"pattern": "ashlar slate"}),
)
AREAS = (
    NewArea(
        "field",
        "field",
        "sun",
        400.0,
        4.0,
        0.25,
        NewRecipe("biscuit", STAGES),
        None,
        (Shape(1, "rect", "25x16"),),
    ),
    NewArea("border", "border", area_ft2=40.0, depth_in=4.0, recipe=NewRecipe("biscuit, plain", STAGES[:1])),
    NewArea("landing", "overlay", area_ft2=12.0),
)


def at(day: int, hour: int = 15) -> datetime:
    return datetime(2025, 5, day, hour, tzinfo=UTC)


def fill(writer: Writer, ticket: Path) -> None:
    """A job with a row in every table."""
    site = NewSite("12 Teakettle Lane", "Nowhere Falls", "America/Chicago")
    customer = NewCustomer("Ines Puddlecombe", "555-0101", "ines@example.com")
    job = NewJob(
        "back patio", customer, site, areas=AREAS, buried=(NewBuried("gas line", "along the fence", 18.0),)
    )
    handle = writer.add_job(job).handle
    for entry in entries(ticket):
        writer.add_entry(handle, entry)
    writer.undo(handle)
    writer.change_recipe(
        handle, "border", NewRecipe("otter border", STAGES, reason="a darker border"), version=1
    )
    writer.add_owner(handle, NewCustomer("Barnaby Quillfeather"), date(2026, 3, 1), "bought the house")
    again = NewJob(
        "addition", NewCustomer("Ines Puddelcombe"), site, "planned", date(2027, 4, 12), reference=handle
    )
    addition = writer.add_job(again).handle
    writer.merge_customers(handle, addition)
    writer.add_advice(addition, NewAdvice("order", "closed form, 1", "{}", '{"order_yd3": 5.5}'))
    writer.archive(addition)
    writer.update_customer(handle, leave_alone=True)
    bought = NewStockMove(PIGMENT, "bought", at(1), 5, "bag", "B-7", 210.0, "Ada", note="two pallets")
    writer.undo_stock_move(writer.add_stock_move(replace(bought, job=handle)).uid)
    writer.set_setting("price_per_yd3", "180")
    writer.save_draft("load", "{}")


def entries(ticket: Path) -> Iterator[NewEntry]:
    mix = NewMix("Stoneport", "4021", "Type IL", cement_lb_per_yd3=564.0, admixtures="retarder")
    areas = (("field", 5.0), ("border", 0.25))
    load = NewLoad(5.5, 0.25, 0.0, "T-1029", mix, 3.0, "after the color", 4.5, 5.0, False, areas)
    pigment = (NewMaterialUse(PIGMENT, 120.25, lot="B-7"),)
    yield NewEntry(
        "load", at(14), "about", None, "Ada", None, materials=pigment, load=load, files=(NewFile(ticket),)
    )
    bags = (NewMaterialUse(NewProduct("Gray Topping", "overlay"), 3.0, "bag"),)
    yield NewEntry("material", at(14), area="landing", materials=bags, facts={"mix_water_gal": 4.5})
    yield NewEntry("powder_release", at(14, 17), materials=(NewMaterialUse(RELEASE, 14.0, reclaimed=True),))
    yield NewEntry("rinse", at(15, 20), facts={"pressure_psi": 2000, "release_left_percent": 20})
    yield NewEntry("rinse", at(15, 20), facts={"pressure_psi": 1500}, replaces=4, note="read the gauge wrong")
    panel = NewSample(None, 1, "2x2 ft", "behind the shed", True, "Type IL", ((PIGMENT, 3.0),))
    yield NewEntry("sample", at(14), sample=panel)
    yield NewEntry("approval", at(16), approval=Approval(1, "Ines Puddlecombe"))
    coat = Coat(1, False, 400.0, 70.0, 72.0, 40.0)
    yield NewEntry("seal", at(30), materials=(NewMaterialUse(SEALER, 3.0, "gal"),), coat=coat)
    picture = NewFile(
        ticket.with_name("field.png"), photo=Photo("PNG", 4, 3, "2025-05-20T10:00:00", "-05:00")
    )
    yield NewEntry("photo", at(20), area="field", facts={"damp": False}, files=(picture,))
    sha256 = hashlib.sha256(PICTURE).hexdigest()
    seen = Reading(62.0, 5.0, 15.0, photo=sha256, sample=1, box="0,0,2,2", camera="Plum 7", card=CARD)
    yield NewEntry("reading", at(31), reading=seen)
    yield NewEntry("claim", at(31), claim=Claim("white haze", "sealed damp", "stripped a corner"))
    yield NewEntry("pour", at(14, 16), area="field")
    yield NewEntry("note", at(31), note="by mistake")


def made(folder: Path) -> Path:
    """That log, closed, in this folder."""
    counter = itertools.count(1)
    ticket = folder / "ticket.txt"
    ticket.write_bytes(TICKET)
    (folder / "field.png").write_bytes(PICTURE)
    where = folder / "made.finishlog"
    now = datetime(2026, 6, 16, 12, tzinfo=UTC)
    log = Log.create(where, clock=lambda: now, new_uid=lambda: f"uid-{next(counter):04d}")
    with log.writing() as writer:
        fill(writer, ticket)
    log.keep_learned([KeptLearned("base", "shop", "an old form", 1, "{}", "{}")])
    log.close()
    return where


def statements(log: Path) -> Iterator[str]:
    """The log as SQL; rows of virtual tables go in through them."""
    with closing(sqlite3.connect(log)) as raw:
        yield f"PRAGMA application_id={raw.execute('PRAGMA application_id').fetchone()[0]};"
        rows = raw.execute(
            "SELECT type, name, sql FROM sqlite_schema WHERE sql IS NOT NULL "
            "AND name NOT GLOB 'job_text_*' AND name NOT GLOB 'sqlite_*' "
            "ORDER BY type = 'trigger', type = 'index', rowid"
        )
        for kind, name, sql in rows.fetchall():
            yield " ".join(sql.split()) + ";"
            if kind == "table" and name != "job_word":
                yield from _inserts(raw, name)


def _inserts(raw: sqlite3.Connection, table: str) -> Iterator[str]:
    columns = [row[1] for row in raw.execute(f"PRAGMA table_info({table})")]
    listed = ", ".join((["rowid"] if table == "job_text" else []) + columns)
    for row in raw.execute(f"SELECT {listed} FROM {table}").fetchall():
        values = ", ".join(raw.execute("SELECT quote(?)", (value,)).fetchone()[0] for value in row)
        yield f"INSERT INTO {table} ({listed}) VALUES ({values});"


def main() -> int:
    target = RELEASED / f"{revisions.head()}.sql"
    if target.exists():
        print(f"{target.name} is released already.", file=sys.stderr)
        return 1
    head = f"-- A small log at revision {revisions.head()}: python tests/migrations/release.py"
    with tempfile.TemporaryDirectory() as folder:
        target.write_text("\n".join([head, *statements(made(Path(folder)))]) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
