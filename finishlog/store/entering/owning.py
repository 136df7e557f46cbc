"""Site owners, and merging double customers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.engine import Connection

from finishlog.errors import InputError
from finishlog.records.log import Customer, Owner
from finishlog.records.writing import NewCustomer
from finishlog.store.engine.protocol import put
from finishlog.store.entering.finding import Finder
from finishlog.store.schema import typed
from finishlog.store.schema.fold import key, slug
from finishlog.store.schema.rows import Found, table
from finishlog.store.schema.tables import CustomerRow, JobRow, OwnershipRow

_FACTS = ("phone", "email", "note")


class Owning:
    """Writes owners and merges customers within one transaction."""

    def __init__(self, connection: Connection, find: Finder, new_uid: Callable[[], str]) -> None:
        self._connection = connection
        self._find = find
        self._new_uid = new_uid

    def add_owner(self, site: int, new: NewCustomer, since: date, note: str | None) -> Owner:
        """Set the site's owner from that day on. Raises InputError if already logged."""
        customer = self._find.customer(new)
        same = select(OwnershipRow.id).where(
            OwnershipRow.site_id == site, OwnershipRow.customer_id == customer, OwnershipRow.since == since
        )
        if self._connection.scalar(same) is not None:
            raise InputError(f"{new.name} is already the owner since {since}.", where="owner")
        put(
            self._connection,
            OwnershipRow,
            uid=self._new_uid(),
            site_id=site,
            customer_id=customer,
            since=since,
            note=typed.note(note),
        )
        return Owner(self.customer(customer), since, typed.note(note))

    def customer(self, customer: int) -> Customer:
        """The record of a customer."""
        row = self._row(customer)
        return Customer(row.uid, row.name, row.phone, row.email, row.note, row.leave_alone)

    def _row(self, customer: int) -> Found:
        customers = table(CustomerRow)
        return self._connection.execute(select(customers).where(customers.c.id == customer)).one()

    def named(self, text: str, where: str) -> int:
        """A customer by name, by uid or by the handle of one of their jobs. Raises InputError."""
        of_job = select(JobRow.customer_id).where(JobRow.handle == slug(text))
        by_uid = select(CustomerRow.id).where(CustomerRow.uid == text, CustomerRow.merged_into_id.is_(None))
        found = self._connection.scalar(of_job) or self._connection.scalar(by_uid)
        return self._by_name(text, where) if found is None else found

    def _by_name(self, text: str, where: str) -> int:
        query = select(CustomerRow.id).where(
            CustomerRow.name_key == key(text), CustomerRow.merged_into_id.is_(None)
        )
        ids = list(self._connection.scalars(query.order_by(CustomerRow.id).limit(2)))
        if len(ids) == 1:
            return ids[0]
        shown = text[:60]
        if ids:
            cause = "Name one of the customer's jobs instead."
            handle = select(JobRow.handle).where(JobRow.customer_id.in_(ids)).order_by(JobRow.id).limit(1)
            example = self._connection.scalar(handle) or ""
            raise InputError(
                f'More than one customer is called "{shown}".', cause, where=where, example=example
            )
        raise InputError(f'No customer "{shown}".', where=where, example="a name or a job's handle")

    def update(self, customer: int, facts: Mapping[str, Any]) -> None:
        """Set the given fields; a blank is unknown. Raises InputError for invalid text."""
        kept = {name: typed.note(value, name) if name in _FACTS else value for name, value in facts.items()}
        change = update(CustomerRow).where(CustomerRow.id == customer)
        self._connection.execute(change.values(version=CustomerRow.version + 1, **kept))

    def merge(self, keep: int, double: int) -> None:
        """Move everything from the double to the kept customer; the double remains, with a pointer."""
        if keep == double:
            raise InputError("They are already one customer.", where="customer")
        kept, doubled = self._row(keep), self._row(double)
        news = {name: doubled._mapping[name] for name in _FACTS if kept._mapping[name] is None}
        news["leave_alone"] = kept.leave_alone or doubled.leave_alone
        customers = update(CustomerRow)
        again = {"version": CustomerRow.version + 1}
        self._connection.execute(customers.where(CustomerRow.id == keep).values(**news, **again))
        self._connection.execute(
            customers.where((CustomerRow.id == double) | (CustomerRow.merged_into_id == double)).values(
                merged_into_id=keep, **again
            )
        )
        for row in (JobRow, OwnershipRow):
            moved = update(row).where(row.customer_id == double)
            self._connection.execute(moved.values(customer_id=keep, version=row.version + 1))

    def sites_of(self, *customers: int) -> set[int]:
        """Sites where these customers had work done, and sites they own."""
        jobs = select(JobRow.site_id).where(JobRow.customer_id.in_(customers))
        owned = select(OwnershipRow.site_id).where(OwnershipRow.customer_id.in_(customers))
        return {*self._connection.scalars(jobs), *self._connection.scalars(owned)}
