"""Looks up or creates people, plants, products, mixes and places named in a new entry.

Existing rows are never overwritten; only unknown fields are filled in.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

from sqlalchemy import Select, bindparam, select, update
from sqlalchemy.engine import Connection

from finishlog.records.writing import NewCustomer, NewMix, NewProduct, NewSite
from finishlog.store.engine.protocol import put, run
from finishlog.store.schema import typed
from finishlog.store.schema.base import Base
from finishlog.store.schema.fold import key
from finishlog.store.schema.rows import Found, Query, table
from finishlog.store.schema.tables import (
    CustomerRow,
    JobRow,
    LotRow,
    MakerRow,
    MixRow,
    PersonRow,
    PlantRow,
    ProductRow,
    SiteRow,
)

Named = type[PersonRow] | type[PlantRow] | type[MakerRow]
_ANY_OF_NAME = "SELECT 1 FROM customer WHERE name_key = :key LIMIT 1"
_ANY_OF_STREET = "SELECT 1 FROM site WHERE street_key = :key LIMIT 1"


class Finder:
    """Looks up or creates; caches results within one transaction."""

    def __init__(self, connection: Connection, new_uid: Callable[[], str]) -> None:
        self._connection = connection
        self._new_uid = new_uid
        self._known: dict[tuple[object, ...], int] = {}
        self.filled = 0
        """Existing rows that gained information."""
        self.customers: set[int] = set()
        """Those that gained some: what is kept of all their jobs tells of it."""

    def forget(self) -> None:
        """Clears the cache: cached rows may have been rolled back."""
        self._known.clear()

    def person(self, name: str | None) -> int | None:
        """The id of that name, added if new; None for a blank."""
        return self._named(PersonRow, name, "person")

    def plant(self, name: str | None) -> int | None:
        """The id of that name, added if new; None for a blank."""
        return self._named(PlantRow, name, "plant")

    def maker(self, name: str | None) -> int | None:
        """The id of that name, added if new; None for a blank."""
        return self._named(MakerRow, name, "maker")

    def _named(self, row: Named, name: str | None, what: str) -> int | None:
        kept = typed.maybe(name, what)
        if kept is None:
            return None
        folded = key(kept)

        def query() -> Select[int]:
            return select(row.id).where(row.name_key == folded)

        return self._once((row, folded), query, row, name=kept, name_key=folded)

    def lot(self, product: int, code: str | None) -> int | None:
        """The id of that code within the product, added if new; None for a blank."""
        kept = typed.maybe(code, "lot")
        if kept is None:
            return None
        folded = key(kept)

        def query() -> Select[int]:
            return select(LotRow.id).where(LotRow.product_id == product, LotRow.code_key == folded)

        asked = (LotRow, product, folded)
        return self._once(asked, query, LotRow, product_id=product, code=kept, code_key=folded)

    def _once(
        self, asked: tuple[object, ...], query: Callable[[], Select[int]], row: type[Base], **values: Any
    ) -> int:
        known = self._known.get(asked)
        if known is None:
            known = self._connection.scalar(query())
        if known is None:
            known = self._make(row, **values)
        self._known[asked] = known
        return known

    def _make(self, row: type[Base], **values: Any) -> int:
        return put(self._connection, row, uid=self._new_uid(), **values)

    def product(self, new: NewProduct) -> int:
        """By name, kind and maker: the same shade of another maker is another product."""
        known = self._known.get((new,))
        if known is None:
            known = self._known[(new,)] = self._product(new)
        return known

    def _product(self, new: NewProduct) -> int:
        name = typed.name(new.name, "product")
        kind = typed.name(new.kind, "kind of product")
        maker = self.maker(new.maker)
        facts = {
            "form": new.form,
            "chemistry": typed.maybe(new.chemistry, "chemistry"),
            "solids_percent": new.solids_percent,
            "max_percent_of_cement": new.max_percent_of_cement,
            "pack_lb": new.pack_lb,
            "safety": typed.note(new.safety, "safety notes"),
        }
        query = select(table(ProductRow)).where(
            ProductRow.name_key == key(name),
            ProductRow.kind == kind,
            ProductRow.maker_id.is_not_distinct_from(maker),
        )
        found = self._connection.execute(query).first()
        if found is not None:
            self._fill(ProductRow, found, facts)
            return int(found.id)
        given = {column: value for column, value in facts.items() if value is not None}
        return self._make(ProductRow, name=name, name_key=key(name), kind=kind, maker_id=maker, **given)

    def _fill(self, row: type[Base], found: Found, facts: dict[str, Any]) -> None:
        """Fill in the row's unknown fields."""
        held = found._mapping
        news = {
            column: value for column, value in facts.items() if value is not None and held[column] is None
        }
        if news:
            target = table(row)
            change = update(target).where(target.c.id == found.id)
            self._connection.execute(change.values(version=target.c.version + 1, **news))
            self.filled += 1
            if row is CustomerRow:
                self.customers.add(int(found.id))

    def mix(self, new: NewMix) -> int:
        """An identical mix; any difference in text, number or date makes a new one.

        A ticket that names only the plant must not inherit the cement of an older design.
        """
        if (new,) in self._known:
            return self._known[(new,)]
        values = {
            "plant_id": self.plant(new.plant),
            "number": typed.maybe(new.number, "mix number"),
            "cement_kind": typed.maybe(new.cement_kind, "cement"),
            "cement_mill": typed.maybe(new.cement_mill, "cement mill"),
            "cement_lb_per_yd3": new.cement_lb_per_yd3,
            "scm_kind": typed.maybe(new.scm_kind, "other cementitious"),
            "scm_lb_per_yd3": new.scm_lb_per_yd3,
            "admixtures": typed.note(new.admixtures, "admixtures"),
            "sand": typed.maybe(new.sand, "sand"),
            "valid_from": new.valid_from,
            "valid_to": new.valid_to,
        }
        columns = table(MixRow).c

        def query() -> Select[int]:
            return select(MixRow.id).where(
                *(columns[name].is_not_distinct_from(value) for name, value in values.items())
            )

        known = self._once((MixRow, *values.values()), query, MixRow, **values)
        self._known[(new,)] = known
        return known

    def customer(self, new: NewCustomer) -> int:
        """By name, unless phone or e-mail show a namesake."""
        name = typed.name(new.name, "customer")
        facts = {
            "phone": typed.maybe(new.phone, "telephone"),
            "email": typed.maybe(new.email, "e-mail"),
            "note": typed.note(new.note, "customer's note"),
        }
        for found in self._of_name(key(name)):
            if _agrees(found, phone=facts["phone"], email=facts["email"]):
                if found.merged_into_id is not None:  # a merged double: the customer kept
                    return int(found.merged_into_id)
                self._fill(CustomerRow, found, facts)
                return int(found.id)
        return self._make(CustomerRow, name=name, name_key=key(name), leave_alone=new.leave_alone, **facts)

    def site(self, new: NewSite, customer: int, zone: str) -> int:
        """By street and town; a blank town matches only a site of the same customer."""
        street = typed.name(new.street, "street")
        town = typed.maybe(new.town, "town")
        town_key = None if town is None else key(town)
        sites = self._of_street(key(street))
        found = next((row for row in sites if row.town_key == town_key), None)
        if found is None:
            vague = (row for row in sites if town_key is None or row.town_key is None)
            found = next((row for row in vague if self._works_at(customer, row.id)), None)
        facts = {"town": town, "town_key": town_key, "map_note": typed.note(new.map_note, "map note")}
        if found is not None:
            self._fill(SiteRow, found, facts)
            self._fill_exposure(found, new.exposure)
            return int(found.id)
        return self._make(
            SiteRow,
            street=street,
            street_key=key(street),
            zone=new.zone or zone,
            exposure=new.exposure,
            **facts,
        )

    def _fill_exposure(self, found: Found, exposure: str) -> None:
        if found.exposure == "unknown" and exposure != "unknown":
            change = update(SiteRow).where(SiteRow.id == found.id)
            self._connection.execute(change.values(exposure=exposure, version=SiteRow.version + 1))

    def _of_name(self, folded: str) -> Sequence[Found]:
        """Most names of a sheet are new, and to see that costs a twentieth of the whole row."""
        if not run(self._connection, _ANY_OF_NAME, key=folded):
            return ()
        return self._connection.execute(_customers_query(), {"name_key": folded}).all()

    def _of_street(self, folded: str) -> Sequence[Found]:
        if not run(self._connection, _ANY_OF_STREET, key=folded):
            return ()
        return self._connection.execute(_sites_query(), {"street_key": folded}).all()

    def _works_at(self, customer: int, site: int) -> bool:
        query = select(JobRow.id).where(JobRow.customer_id == customer, JobRow.site_id == site).limit(1)
        return self._connection.scalar(query) is not None


@cache
def _customers_query() -> Query:
    """Customers of a name, merged doubles last."""
    query = select(table(CustomerRow)).where(CustomerRow.name_key == bindparam("name_key"))
    return query.order_by(CustomerRow.merged_into_id.is_not(None), CustomerRow.id)


@cache
def _sites_query() -> Query:
    return select(table(SiteRow)).where(SiteRow.street_key == bindparam("street_key")).order_by(SiteRow.id)


def _agrees(found: Found, **facts: str | None) -> bool:
    held = found._mapping
    return all(
        value is None or held[column] is None or key(value) == key(held[column])
        for column, value in facts.items()
    )
