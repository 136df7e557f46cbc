"""What a crew sees of a log on a server: views in a schema of their own, first in a crew's search path.

A crew has no right at all to the tables behind these views, so that a price can be read by nobody who may not see
it, whatever is asked. A view is named as its table, and the store's statements are the same for everyone.

- `entry`, `advice`, `stock_move`, `shelf`, `setting`, `draft` leave prices out. What has a price shows another uid:
  a hash is of all that a row says, and with the uid, which nobody can guess, no price can be tried out on it.
- `seal` and `unsealed` leave out what a crew cannot hash, as it does not see the whole: that stays noted as not
  hashed yet, and the next write of the owner or the office hashes it. A hash is only replaced, never taken away, and
  a note goes once its row has a new one; that a hash is right only `check` can tell. `log_state` counts on by one.
- `draft` has the login's own: their keys in the table end with its name.
- Details are taken for the crew's own new entries only; of `job`, `recipe` and `product` only what an entry changes.
- `written` knows who of a crew logged what: one takes back only one's own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sqlalchemy import Table

from finishlog.records.shop import SETTINGS
from finishlog.roles import NOT_OF_CREW, PRICED_FACTS, refused_words
from finishlog.store.engine.postgres.words import refusing
from finishlog.store.schema import tables, tables_entry, tables_seal, tables_view  # noqa: F401  (fill the metadata)
from finishlog.store.schema.base import Base
from finishlog.store.sealing.form import DETAILS, SHELF_NUMBER

LOG, CREW, OWN = "finishlog", "finishlog_crew", "finishlog_rights"
"""Schemas: the log, a crew's views, and what stands behind them."""
MONEY = tuple(setting.key for setting in SETTINGS if setting.unit.startswith("$"))
"""Settings that are prices."""
_PAID = ("paid", "paid_for")
_DEFINER = f"LANGUAGE plpgsql SECURITY DEFINER SET search_path = {LOG}, pg_temp"
_SEALS = {table: number for table, (number, _) in tables_seal.MARKED.items()}
_HAS_PRICE = " OR ".join(f"facts LIKE '%\"{name}\"%'" for name in PRICED_FACTS)


def _list(words: tuple[str, ...]) -> str:
    return ", ".join(f"'{word}'" for word in words)


def _columns(table: str) -> list[str]:
    return [column.name for column in Base.metadata.tables[table].columns]


def _refuse(act: str) -> str:
    return refusing(refused_words(act))


def behind() -> Iterator[str]:
    """What stands behind the views: who logged what, and the functions."""
    yield f"CREATE SCHEMA IF NOT EXISTS {OWN}"
    yield (
        f"CREATE TABLE IF NOT EXISTS {OWN}.written (what TEXT NOT NULL, id BIGINT NOT NULL, who NAME NOT NULL, "
        "PRIMARY KEY (what, id))"
    )
    yield f"CREATE TABLE IF NOT EXISTS {OWN}.paid (id BIGINT PRIMARY KEY, told JSONB NOT NULL)"
    yield (
        f"CREATE OR REPLACE FUNCTION {OWN}.mine(asked TEXT, row_id BIGINT) RETURNS BOOLEAN LANGUAGE sql STABLE "
        f"SECURITY DEFINER SET search_path = {OWN}, pg_temp AS $$ SELECT EXISTS (SELECT 1 FROM {OWN}.written "
        "WHERE what = asked AND id = row_id AND who = session_user) $$"
    )
    yield (
        f"CREATE OR REPLACE FUNCTION {OWN}.hides(what BIGINT, row_id BIGINT) RETURNS BOOLEAN LANGUAGE sql STABLE "
        f"SECURITY DEFINER SET search_path = {LOG}, pg_temp AS $$ SELECT CASE what "
        f"WHEN {_SEALS['advice']} THEN EXISTS (SELECT 1 FROM advice WHERE id = row_id AND kind = 'plan') "
        f"WHEN {_SEALS['stock_move']} THEN EXISTS "
        "(SELECT 1 FROM stock_move WHERE id = row_id AND price_usd IS NOT NULL) "
        f"WHEN {_SEALS['setting']} THEN true WHEN {_SEALS['draft']} THEN true WHEN {SHELF_NUMBER} THEN true "
        "ELSE false END $$"
    )
    yield _unpriced()


def written_still(before: str) -> Iterator[str]:
    """Another log has the name: only what is in it and in the one called `before` is still of whoever logged it."""
    both = (
        f"(w.what = '{table}' AND EXISTS (SELECT 1 FROM {LOG}.{table} AS now JOIN {before}.{table} AS was "
        "USING (id, uid) WHERE now.id = w.id))"
        for table in ("entry", "stock_move")
    )
    yield f"DELETE FROM {OWN}.written AS w WHERE NOT ({' OR '.join(both) if before else 'false'})"
    yield f"DELETE FROM {OWN}.paid"


def _unpriced() -> str:
    """JSON with each price at zero, and no cost: as much as is needed to be read again."""
    return f"""
        CREATE OR REPLACE FUNCTION {OWN}.unpriced(told JSONB) RETURNS JSONB LANGUAGE plpgsql IMMUTABLE SECURITY DEFINER
        SET search_path = {OWN}, pg_temp AS $$
        BEGIN
            IF jsonb_typeof(told) = 'array' THEN
                RETURN (SELECT coalesce(jsonb_agg({OWN}.unpriced(one) ORDER BY place), '[]')
                        FROM jsonb_array_elements(told) WITH ORDINALITY AS each (one, place));
            ELSIF jsonb_typeof(told) <> 'object' THEN
                RETURN told;
            END IF;
            RETURN (SELECT coalesce(jsonb_object_agg(key, CASE
                WHEN key = 'cost' THEN 'null'::jsonb
                WHEN jsonb_typeof(value) NOT IN ('number', 'string')
                    OR NOT (key ~ '(usd|price|cost)' OR key IN ({_list(MONEY)})) THEN {OWN}.unpriced(value)
                WHEN jsonb_typeof(value) = 'number' THEN '0'::jsonb ELSE '"0"'::jsonb END), '{{}}')
                FROM jsonb_each(told));
        END $$
    """


def views() -> Iterator[str]:
    """The views, with their triggers and defaults; in a schema that was just made."""
    yield from _view("entry", {"uid": _other_uid(_HAS_PRICE), "facts": _bare_facts()})
    yield from _view(
        "stock_move", {"uid": _other_uid("price_usd IS NOT NULL"), "price_usd": "NULL::double precision"}
    )
    yield from _view(
        "advice", {"uid": _other_uid("kind = 'plan'"), **{name: _bare(name) for name in ("inputs", "answer")}}
    )
    yield from _view("shelf", {"sums": f'({_sums()})::text COLLATE "C"'})
    yield from _view("log_state", {})
    for table in (*DETAILS, "job", "recipe", "product"):
        yield from _view(table, {})
    yield from _rows("setting", f"key NOT IN ({_list(MONEY)})")
    yield from _drafts()
    for table in ("seal", "unsealed"):
        yield from _rows(table, f"NOT {OWN}.hides(what, row_id)")
    yield from _writes()


def _view(table: str, other: dict[str, str]) -> Iterator[str]:
    """All rows of a table, some columns otherwise; a column left out of an insert has the table's default."""
    listed = ", ".join(f"{other[name]} AS {name}" if name in other else name for name in _columns(table))
    yield f"CREATE VIEW {CREW}.{table} AS SELECT {listed} FROM {LOG}.{table}"
    for column in Base.metadata.tables[table].columns:
        if column.server_default is not None:
            default = str(column.server_default.arg).replace("'", "''")  # type: ignore[attr-defined]
            yield f"ALTER VIEW {CREW}.{table} ALTER COLUMN {column.name} SET DEFAULT '{default}'"


def _rows(table: str, which: str, other: Mapping[str, str] | None = None) -> Iterator[str]:
    """Some rows of a table; no function of the asker's is called with the others."""
    said = other or {}
    listed = ", ".join(f"{said[name]} AS {name}" if name in said else name for name in _columns(table))
    asked = f"SELECT {listed} FROM {LOG}.{table} WHERE {which}"
    yield f"CREATE VIEW {CREW}.{table} WITH (security_barrier) AS {asked}"


def _drafts() -> Iterator[str]:
    """Unfinished forms of the login's own."""
    own = "' / ' || session_user::text"
    forms = f"key LIKE 'entry %' AND split_part(key, ' ', 3) NOT IN ({_list(NOT_OF_CREW)})"
    key = f'left(key, -length({own})) COLLATE "C"'
    yield from _rows("draft", f"{forms} AND right(key, length({own})) = {own}", {"key": key})
    yield from _on(
        "draft",
        "INSERT",
        f"""
        IF NOT ({forms.replace("key", "NEW.key")}) THEN {_refuse("plan")} END IF;
        INSERT INTO {LOG}.draft (key, body, saved) VALUES (NEW.key || {own}, NEW.body, NEW.saved); RETURN NEW;""",
    )
    yield from _on("draft", "DELETE", f"DELETE FROM {LOG}.draft WHERE key = OLD.key || {own}; RETURN OLD;")


def _other_uid(priced: str) -> str:
    return f'CASE WHEN {priced} THEN md5(uid) COLLATE "C" ELSE uid END'


def _bare_facts() -> str:
    bare = f'(facts::jsonb - ARRAY[{_list(PRICED_FACTS)}])::text COLLATE "C"'
    return f"CASE WHEN {_HAS_PRICE} THEN {bare} ELSE facts END"


def _bare(column: str) -> str:
    return (
        f"CASE WHEN kind = 'plan' THEN {OWN}.unpriced({column}::jsonb)::text COLLATE \"C\" ELSE {column} END"
    )


def _sums() -> str:
    zeros = ", ".join(f"'{name}', '0'" for name in _PAID)
    return f"sums::jsonb || jsonb_build_object({zeros})"


def _writes() -> Iterator[str]:
    own = f"NOT {OWN}.mine('{{0}}', NEW.replaces_id)"
    other = f"IF NEW.replaces_id IS NOT NULL AND {own} THEN {_refuse('others')} END IF;"
    priced = _HAS_PRICE.replace("facts", "NEW.facts")
    yield from _takes("entry", f"IF NEW.kind IN ({_list(NOT_OF_CREW)}) OR {priced} THEN {_refuse('plan')} END IF; "
                               + other.format("entry"), noted=True)  # fmt: skip
    bought = "NEW.what = 'bought' OR NEW.price_usd IS NOT NULL"
    yield from _takes(
        "stock_move", f"IF {bought} THEN {_refuse('buy')} END IF; " + other.format("stock_move"), noted=True
    )
    yield from _takes("advice", f"IF NEW.kind = 'plan' THEN {_refuse('plan')} END IF;")
    for table in DETAILS:
        new = f"EXISTS (SELECT 1 FROM {LOG}.chain WHERE entry_id = NEW.entry_id)"
        yield from _takes(
            table, f"IF NOT {OWN}.mine('entry', NEW.entry_id) OR {new} THEN {_refuse('others')} END IF;"
        )
    yield from _shelf()
    yield from _on("seal", "INSERT", f"""
        DELETE FROM {LOG}.seal WHERE what = NEW.what AND row_id = NEW.row_id;
        IF NOT {OWN}.hides(NEW.what, NEW.row_id) THEN {_insert('seal')}
        ELSIF NOT EXISTS (SELECT 1 FROM {LOG}.unsealed WHERE what = NEW.what AND row_id = NEW.row_id) THEN
            INSERT INTO {LOG}.unsealed (what, row_id) VALUES (NEW.what, NEW.row_id);
        END IF; RETURN NEW;""")  # fmt: skip
    yield from _on("seal", "DELETE", "RETURN NULL;")
    yield from _on("unsealed", "DELETE", f"""
        DELETE FROM {LOG}.unsealed WHERE id = OLD.id AND EXISTS (SELECT 1 FROM {LOG}.seal AS s
            WHERE s.what = OLD.what AND s.row_id = OLD.row_id AND s.xmin = pg_current_xact_id()::xid);
        RETURN OLD;""")  # fmt: skip
    yield from _changes(
        "log_state", ("writes", "entries", "proof"),
        "NEW.writes <> OLD.writes + 1 OR NEW.entries < OLD.entries", "others",
    )  # fmt: skip
    yield from _changes(
        "job", ("state", "version"), "OLD.state = 'archived' OR NEW.state = 'archived'", "archive"
    )
    yield from _changes("recipe", ("frozen",), "OLD.frozen IS NOT NULL", "plan")
    known = tuple(name for name in _columns("product") if Base.metadata.tables["product"].c[name].nullable)
    told = tuple(name for name in known if name != "maker_id")
    over = " OR ".join(
        f"(OLD.{name} IS NOT NULL AND NEW.{name} IS DISTINCT FROM OLD.{name})" for name in told
    )
    yield from _changes("product", ("version", *told), over, "buy")


def _insert(table: str) -> str:
    names = _columns(table)
    return f"INSERT INTO {LOG}.{table} ({', '.join(names)}) VALUES ({', '.join(f'NEW.{name}' for name in names)});"


def _takes(table: str, unless: str, *, noted: bool = False) -> Iterator[str]:
    note = f"INSERT INTO {OWN}.written VALUES ('{table}', NEW.id, session_user);" if noted else ""
    yield from _on(table, "INSERT", f"{unless} {_insert(table)} {note} RETURN NEW;")


def _changes(table: str, only: tuple[str, ...], unless: str, act: str) -> Iterator[str]:
    """An update of these columns; of others, or where `unless`, it is refused."""
    rest = " OR ".join(
        f"NEW.{name} IS DISTINCT FROM OLD.{name}" for name in _columns(table) if name not in only
    )
    sets = ", ".join(f"{name} = NEW.{name}" for name in only)
    yield from _on(table, "UPDATE", f"IF {rest} OR {unless} THEN {_refuse(act)} END IF; "
                                    f"UPDATE {LOG}.{table} SET {sets} WHERE id = OLD.id; RETURN NEW;")  # fmt: skip


def _shelf() -> Iterator[str]:
    """What was paid stays with a lot that is added up anew: nothing that a crew logs changes it."""
    kept = ", ".join(f"'{name}', sums::jsonb -> '{name}'" for name in _PAID)
    yield from _on("shelf", "DELETE", f"""
        INSERT INTO {OWN}.paid SELECT id, jsonb_build_object({kept}) FROM {LOG}.shelf WHERE id = OLD.id
        ON CONFLICT (id) DO UPDATE SET told = excluded.told;
        DELETE FROM {LOG}.shelf WHERE id = OLD.id; RETURN OLD;""")  # fmt: skip
    yield from _on("shelf", "INSERT", f"""
        NEW.sums = (jsonb_strip_nulls(NEW.sums::jsonb) || coalesce(
            (SELECT told FROM {OWN}.paid WHERE id = NEW.id), jsonb_build_object('paid', '0', 'paid_for', '0')))::text;
        {_insert('shelf')} DELETE FROM {OWN}.paid WHERE id = NEW.id; RETURN NEW;""")  # fmt: skip


def _on(table: str, event: str, body: str) -> Iterator[str]:
    name = f"{table}_{event.lower()}"
    yield f"CREATE OR REPLACE FUNCTION {OWN}.{name}() RETURNS trigger {_DEFINER} AS $$ BEGIN {body} END $$"
    yield (
        f"CREATE TRIGGER {name} INSTEAD OF {event} ON {CREW}.{table} FOR EACH ROW EXECUTE FUNCTION {OWN}.{name}()"
    )


def viewed() -> frozenset[str]:
    """The tables that a crew sees by a view alone."""
    names = ("entry", "stock_move", "advice", "shelf", "log_state", *DETAILS, "job", "recipe", "product")
    return frozenset((*names, "setting", "draft", "seal", "unsealed"))


def tables_of(metadata: dict[str, Table] | None = None) -> frozenset[str]:
    """The tables of the log that SQLAlchemy knows."""
    return frozenset(metadata or Base.metadata.tables)
