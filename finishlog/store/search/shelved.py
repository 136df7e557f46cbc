"""Projection of the shelf: what each lot's moves and uses add up to, written from `finishlog.trade.shelf`.

A lot that was touched is added up again from its own rows and from those of its jobs that have a sweep or a
return (see `tallies`), all found by index. So it always equals the sum of everything.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from functools import cache
from typing import Any

from sqlalchemy import delete, insert, select, text
from sqlalchemy.engine import Connection
from sqlalchemy.sql import bindparam
from sqlalchemy.sql.elements import TextClause

from finishlog.records.log import Product
from finishlog.records.shelf import ShelfMark
from finishlog.store.reading import stock as rows
from finishlog.store.reading.shop import load_products
from finishlog.store.schema.fold import key as folded
from finishlog.store.schema.prices import hidden
from finishlog.store.schema.rows import IDS, RANGE, Found, Query, by_ids, table
from finishlog.store.schema.rows import read as read_rows
from finishlog.store.schema.rows import read_all as read_rows_all
from finishlog.store.schema.tables import LotRow, ProductRow
from finishlog.store.schema.tables_view import ShelfRow
from finishlog.store.search.dialects import fact, few
from finishlog.trade import shelf as stock

Key = tuple[int, int | None]
"""Product and lot, by id."""
LOTS_AT_ONCE = 100
PRODUCT, MOVE = 8, 15
"""Numbers of the tables in `unsealed` (`finishlog.store.sealing.form.PLAIN`)."""

_NEW = "SELECT id FROM entry WHERE id > (SELECT coalesce(max(entry_id), 0) FROM chain)"
_FRESH = f"{_NEW} UNION ALL SELECT replaces_id FROM entry WHERE id {{0}} AND replaces_id IS NOT NULL"
_MOVED = (
    f"SELECT row_id FROM unsealed WHERE what = {MOVE} UNION SELECT replaces_id FROM stock_move "
    f"WHERE replaces_id IS NOT NULL AND id IN (SELECT row_id FROM unsealed WHERE what = {MOVE})"
)
_USED = "SELECT DISTINCT product_id, lot_id FROM material_use WHERE entry_id {0}"
_STOCKED = "SELECT DISTINCT product_id, lot_id FROM stock_move WHERE id IN ({0})"
_PRODUCTS = f"SELECT row_id FROM unsealed WHERE what = {PRODUCT}"
_OF_PRODUCTS = f"SELECT product_id, lot_id FROM shelf WHERE product_id IN ({_PRODUCTS})"
_BACK = """(
    EXISTS (SELECT 1 FROM entry s WHERE s.job_id = {0} AND s.kind = 'sweep')
    OR EXISTS (SELECT 1 FROM stock_move m WHERE m.job_id = {0} AND m.what = 'reclaimed')
)"""
"""Whether a job has a sweep or a return."""
_JOBS = (
    f"SELECT DISTINCT e.job_id FROM entry e WHERE e.id {{0}} AND (e.kind = 'sweep' "
    f"OR EXISTS (SELECT 1 FROM material_use u WHERE u.entry_id = e.id)) AND {_BACK.format('e.job_id')} "
    f"UNION SELECT job_id FROM stock_move WHERE id IN ({_MOVED}) AND what = 'reclaimed' AND job_id IS NOT NULL "
    "UNION SELECT job_id FROM stock_move WHERE what = 'reclaimed' AND job_id IS NOT NULL "
    f"AND product_id IN ({_PRODUCTS})"
)
_JOBS_OF_MOVE = (
    "SELECT job_id FROM stock_move WHERE uid = :move AND what = 'reclaimed' AND job_id IS NOT NULL"
)
_OF_JOBS = """
    SELECT e.job_id, u.product_id, u.lot_id FROM entry e
    JOIN material_use u ON u.entry_id = e.id JOIN product p ON p.id = u.product_id
    WHERE e.job_id IN :jobs AND (e.kind = 'sweep' OR p.kind = 'powder release')
    UNION
    SELECT job_id, product_id, lot_id FROM stock_move WHERE job_id IN :jobs AND what = 'reclaimed'
"""
_EVERY = (
    "SELECT product_id, lot_id FROM material_use UNION SELECT product_id, lot_id FROM stock_move "
    "UNION SELECT id, NULL FROM product"
)
_UNUSED = (
    "SELECT product_id, id FROM lot WHERE NOT EXISTS (SELECT 1 FROM material_use u WHERE u.lot_id = lot.id) UNION "
    "SELECT id, NULL FROM product p WHERE NOT EXISTS "
    "(SELECT 1 FROM material_use u WHERE u.product_id = p.id AND u.lot_id IS NULL)"
)
"""What no job leads to."""
_USES_OF_LOTS = "SELECT entry_id FROM material_use WHERE lot_id IN :lots"
_USES_WITHOUT = "SELECT entry_id FROM material_use WHERE product_id IN :products AND lot_id IS NULL"
_MOVES_OF_LOTS = "SELECT id FROM stock_move WHERE lot_id IN :lots"
_MOVES_WITHOUT = "SELECT id FROM stock_move WHERE product_id IN :products AND lot_id IS NULL"
_BACK_OF_LOTS = (
    f"SELECT DISTINCT e.job_id FROM entry e WHERE e.id IN ({_USES_OF_LOTS}) AND {_BACK.format('e.job_id')} "
    f"UNION SELECT job_id FROM stock_move WHERE lot_id IN :lots AND what = 'reclaimed' AND job_id IS NOT NULL"
)
_BACK_WITHOUT = (
    "SELECT DISTINCT e.job_id FROM entry e JOIN material_use u ON u.entry_id = e.id "
    f"WHERE u.product_id IN :products AND {_BACK.format('e.job_id')} "
    "UNION SELECT job_id FROM stock_move WHERE product_id IN :products AND what = 'reclaimed' AND job_id IS NOT NULL"
)
_ENTRIES_OF_JOBS = "SELECT id FROM entry WHERE job_id IN :jobs"
_MOVES_OF_JOBS = "SELECT id FROM stock_move WHERE job_id IN :jobs AND what = 'reclaimed'"


_MARKS = "SELECT s.id, s.product_id, l.code, s.state FROM shelf s LEFT JOIN lot l ON l.id = s.lot_id"
_COUNTS = "SELECT product_id, count(*) FROM shelf WHERE open = 0 GROUP BY product_id"
_USED_UP = (
    f"{_MARKS} WHERE s.product_id = :product AND s.open = 0 "
    "ORDER BY coalesce(l.code, '') LIMIT :limit OFFSET :offset"
)

# written


def refresh(connection: Connection) -> list[int]:
    """Write the lots anew that this unit of work touched; their ids. Before the new rows are hashed."""
    return write(connection, _touched(connection))


def write_all(connection: Connection) -> None:
    """Write every lot anew."""
    for portion in _portions(_every(connection)):
        write(connection, portion)


def write(connection: Connection, keys: Collection[Key]) -> list[int]:
    """Write these lots anew; their ids."""
    target = table(ShelfRow)
    ids = [id_of(key) for key in keys]
    for portion in _portions(sorted(keys, key=id_of)):
        connection.execute(delete(target).where(target.c.id.in_([id_of(key) for key in portion])))
        made = [_row(key, tally) for key, tally in _fold(connection, portion).items()]
        if made:
            connection.execute(insert(target), made)
    return ids


def id_of(key: Key) -> int:
    """The id of a lot's row: even for a lot, odd for what was used of a product without one."""
    product, lot = key
    return product * 2 + 1 if lot is None else lot * 2


def _row(key: Key, tally: stock.Tally) -> dict[str, Any]:
    lot = stock.as_lot(tally)
    return {
        "id": id_of(key),
        "product_id": key[0],
        "lot_id": key[1],
        "state": stock.standing(lot),
        "kept": lot.is_kept,
        "open": lot.left != 0 or lot.reclaimed_left > 0,
        "sums": tally.told(),
    }


def _portions(keys: Sequence[Key]) -> Iterator[Sequence[Key]]:
    for start in range(0, len(keys), LOTS_AT_ONCE):
        yield keys[start : start + LOTS_AT_ONCE]


def _every(connection: Connection) -> list[Key]:
    return sorted(_keys(connection, _EVERY), key=id_of)


# what was touched


def _touched(connection: Connection) -> set[Key]:
    fresh = few(connection, _FRESH.format(few(connection, _NEW)))
    queries = (_JOBS.format(fresh), _USED.format(fresh), _STOCKED.format(_MOVED), _OF_PRODUCTS)
    jobs, *lots = read_rows_all(connection, queries, {})
    found = {(product, lot) for some in lots for product, lot in some}
    return found | _of_jobs(connection, {row[0] for row in jobs})


def _of_jobs(connection: Connection, jobs: Collection[int]) -> set[Key]:
    """Lots to which a sweep or a return of these jobs may belong; without one where there are several."""
    found: set[Key] = set()
    lots: dict[tuple[int, int], set[int | None]] = {}
    if jobs:
        for job, product, lot in connection.execute(_asked(_OF_JOBS, "jobs"), {"jobs": sorted(jobs)}):
            found.add((product, lot))
            lots.setdefault((job, product), set()).add(lot)
    return found | {(product, None) for (_, product), some in lots.items() if len(some) > 1}


def without_move(connection: Connection, move: str) -> dict[int, stock.Tally | None]:
    """The lots that a move (by uid) changes, by the id of their row, as they would be without it; None: not at all."""
    query = text("SELECT product_id, lot_id FROM stock_move WHERE uid = :move")
    found = {(row[0], row[1]) for row in connection.execute(query, {"move": move})}
    found |= _of_jobs(connection, set(connection.scalars(text(_JOBS_OF_MOVE), {"move": move})))
    made = _fold(connection, found, without=move)
    return {id_of(key): made.get(key) for key in found}


# added up


def _fold(
    connection: Connection, keys: Collection[Key], without: str | None = None
) -> dict[Key, stock.Tally]:
    """What these lots add up to; one of which nothing is told is left out."""
    lots = sorted(lot for _, lot in keys if lot is not None)
    products = sorted(product for product, lot in keys if lot is None)
    given = {"lots": lots, "products": products}
    jobs = _ids(connection, _BACK_OF_LOTS, **given) | _ids(connection, _BACK_WITHOUT, **given)
    entries = _ids(connection, _USES_OF_LOTS, **given) | _ids(connection, _USES_WITHOUT, **given)
    moves = _ids(connection, _MOVES_OF_LOTS, **given) | _ids(connection, _MOVES_WITHOUT, **given)
    if jobs:
        entries |= _ids(connection, _ENTRIES_OF_JOBS, jobs=sorted(jobs))
        moves |= _ids(connection, _MOVES_OF_JOBS, jobs=sorted(jobs))
    found = stock.tallies(
        rows.moves_with(connection, moves, without),
        rows.uses_in(connection, entries),
        rows.swept(connection, entries) if jobs else (),
    )
    codes, known = _codes(connection, lots), load_products(connection, {product for product, _ in keys})
    named = {key: (known[key[0]].uid, None if key[1] is None else codes[key[1]]) for key in keys}
    return {key: found[name] for key, name in named.items() if name in found}


@cache
def _codes_query() -> Query:
    return select(LotRow.id, LotRow.code).where(LotRow.id.in_(IDS))


def _codes(connection: Connection, lots: Collection[int]) -> dict[int, str]:
    return {row[0]: row[1] for row in by_ids(connection, _codes_query(), lots)}


@cache
def _asked(query: str, *lists: str) -> TextClause:
    return text(query).bindparams(*(bindparam(name, expanding=True) for name in lists))


def _ids(connection: Connection, query: str, **given: Sequence[int]) -> set[int]:
    """Nothing where a list that the query needs is empty."""
    needed = {name: some for name, some in given.items() if f":{name}" in query}
    if not needed:
        return {row[0] for row in read_rows(connection, query, {})}
    if not all(needed.values()):
        return set()
    return set(connection.scalars(_asked(query, *needed), needed))


def _keys(connection: Connection, query: str) -> set[Key]:
    return {(row[0], row[1]) for row in read_rows(connection, query, {})}


# read


@cache
def _shelf_query() -> Query:
    columns = (ShelfRow.id, ShelfRow.product_id, LotRow.code, ShelfRow.sums)
    return select(*columns).outerjoin(LotRow, LotRow.id == ShelfRow.lot_id)


def read(
    connection: Connection, products: Collection[str] | None = None, lots: Collection[str] | None = None
) -> dict[int, stock.Tally]:
    """The lots of these products (by uid; None: of all) by the id of their row, as they are kept.

    With `lots` only those of these codes, and what is not plainly used up.
    """
    query = _shelf_query()
    if products is not None:
        query = query.join(ProductRow, ProductRow.id == ShelfRow.product_id).where(
            ProductRow.uid.in_(products)
        )
    if lots is not None:
        query = query.where(ShelfRow.open.is_(True) | LotRow.code.in_(lots))
    return _tallies(connection, connection.execute(query).all())


def read_some(connection: Connection, ids: Collection[int]) -> dict[int, stock.Tally]:
    """The lots with these ids of rows."""
    return _tallies(connection, list(by_ids(connection, _some_query(), ids)))


@cache
def _some_query() -> Query:
    return _shelf_query().where(ShelfRow.id.in_(IDS))


def _tallies(connection: Connection, found: Sequence[Found]) -> dict[int, stock.Tally]:
    known = load_products(connection, {row.product_id for row in found})
    found_lots = {row.id: stock.from_told(known[row.product_id], row.code, row.sums) for row in found}
    if hidden(connection):
        for tally in found_lots.values():
            tally.paid = tally.paid_for = stock.ZERO
    return found_lots


def standing(connection: Connection, *, every: bool) -> list[ShelfMark]:
    """Each lot that was ever stocked (`every`: or used) and is not plainly used up, by kind, product and lot."""
    query = f"{_MARKS} WHERE s.open = 1" if every else f"{_MARKS} WHERE s.open = 1 AND s.kept = 1"
    found = connection.execute(text(query)).all()
    known = load_products(connection, {row.product_id for row in found})
    marks = [ShelfMark(row.id, known[row.product_id], row.code, row.state) for row in found]
    return sorted(marks, key=lambda mark: (*_rank(mark.product), mark.lot or ""))


def _rank(product: Product) -> tuple[str, str]:
    return product.kind, product.name.casefold()


def used_up(connection: Connection, limit: int | None, offset: int) -> tuple[int, list[ShelfMark]]:
    """How many lots are plainly used up, and some of them by kind, product and lot."""
    counts = {row[0]: row[1] for row in connection.execute(text(_COUNTS))}
    known = load_products(connection, list(counts))
    marks: list[ShelfMark] = []
    for number, product in sorted(known.items(), key=lambda each: (*_rank(each[1]), each[0])):
        rest = counts[number] - offset
        here = max(0, rest if limit is None else min(rest, limit))
        if here:
            given = {"product": number, "limit": here, "offset": offset}
            found = connection.execute(text(_USED_UP), given)
            marks += [ShelfMark(row.id, product, row.code, row.state) for row in found]
        offset = max(0, offset - counts[number])
        limit = None if limit is None else limit - here
    return sum(counts.values()), marks


@cache
def _products_query(of_kind: bool, named: bool, day_used: str) -> Any:
    """Most recently used first, then those only planned or bought, newest first; of one name newest first.

    When it was used is unknown of a lot whose sums are damaged: its product still has a name.
    """
    last_use = text(f"max({day_used}) DESC NULLS LAST")
    query = select(ProductRow.id).order_by(*(() if named else (last_use,)), ProductRow.id.desc())
    if named:
        query = query.where(ProductRow.name_key == bindparam("named"))
    else:  # all that is kept of each lot is looked into
        joined = query.outerjoin(ShelfRow, ShelfRow.product_id == ProductRow.id)
        query = joined.group_by(ProductRow.id)
    return query.where(ProductRow.kind == bindparam("kind")) if of_kind else query


def products(connection: Connection, kind: str | None, named: str | None) -> tuple[Product, ...]:
    """Products of one kind or all, most recently used first, or of one name, newest first."""
    given = {"kind": kind, "named": None if named is None else _key(named)}
    day_used = fact(connection, "shelf.sums", "day used")
    query = _products_query(kind is not None, named is not None, day_used)
    ids = list(connection.scalars(query, {name: one for name, one in given.items() if one is not None}))
    known = load_products(connection, ids)
    return tuple(known[number] for number in ids)


def _key(name: str) -> str:
    """A name as it is looked for; half a character, which no log holds, is a question mark."""
    return folded(name).encode("utf-8", "replace").decode("utf-8")


def kept(connection: Connection, first: int, last: int) -> Iterator[tuple[int, list[Any]]]:
    """The rows with ids in this range, as they are stored."""
    columns = ", ".join(column.name for column in table(ShelfRow).columns)
    query = f"SELECT {columns} FROM shelf WHERE id {RANGE} ORDER BY id"
    yield from ((row[0], list(row)) for row in read_rows(connection, query, {"first": first, "last": last}))


# compared


def every_id(connection: Connection) -> list[int]:
    """The ids of all rows."""
    return list(connection.scalars(text("SELECT id FROM shelf ORDER BY id")))


def differing(connection: Connection, jobs: Collection[int] | None = None) -> set[int]:
    """Lots that are not what they add up to, by the id of their row.

    None: all; else those that these jobs used, and those that no job did.
    """
    if jobs is None:
        keys = set(_every(connection))
    else:
        used = _USED.format("IN (SELECT id FROM entry WHERE job_id IN :jobs)")
        found = connection.execute(_asked(used, "jobs"), {"jobs": list(jobs)})
        keys = {(row[0], row[1]) for row in found} | _keys(connection, _UNUSED)
    wrong: set[int] = set()
    for portion in _portions(sorted(keys, key=id_of)):
        ids = [id_of(key) for key in portion]
        made = {id_of(key): _row(key, tally) for key, tally in _fold(connection, portion).items()}
        held = connection.execute(select(table(ShelfRow)).where(table(ShelfRow).c.id.in_(ids)))
        stored = {row.id: dict(row._mapping) for row in held}
        wrong |= {one for one in ids if made.get(one) != stored.get(one)}
    return wrong if jobs is not None else wrong | (set(every_id(connection)) - {id_of(key) for key in keys})


def write_ids(connection: Connection, ids: Collection[int]) -> None:
    """Write the lots with these ids of rows anew; a row that is no lot's is taken away."""
    connection.execute(delete(table(ShelfRow)).where(table(ShelfRow).c.id.in_(ids)))
    write(connection, [key for key in _every(connection) if id_of(key) in set(ids)])
