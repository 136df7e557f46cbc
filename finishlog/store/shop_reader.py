"""Queries about the shop as a whole: settings, people, products, lots and what is on the shelf."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from sqlalchemy import text
from sqlalchemy.engine import Connection

from finishlog.errors import LogError
from finishlog.store.reading.settings import settings, shop

if TYPE_CHECKING:
    from finishlog.records.answers import StockMove, Swept, UsedMaterial
    from finishlog.records.log import Product, Recipe
    from finishlog.records.shelf import ShelfMark
    from finishlog.records.shop import Shop
    from finishlog.trade.shelf import Tally

# as text, so that the first rows load without the mapped tables
_SETTING = text("SELECT value FROM setting WHERE key = :key")


@contextmanager
def whole() -> Iterator[None]:
    """Treats a missing or impossible row as file damage."""
    try:
        yield
    except (KeyError, ValueError) as error:
        raise LogError(
            "The log is damaged: a job cannot be read.",
            f"What was found is {error}.",
            "Run finishlog check; finishlog restore lists the copies.",
        ) from error


class ShopReader:
    """What the log knows of the shop and its shelf."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def settings(self) -> dict[str, str]:
        """The shop's own values by key; others have their default."""
        return settings(self._connection)

    def setting(self, key: str) -> str | None:
        """The value saved under this key, or None: a setting, or a desk's memory."""
        row = self._connection.execute(_SETTING, {"key": key}).first()
        return None if row is None else str(row[0])

    def shop(self) -> Shop:
        """All settings, the shop's own over the defaults. Skips unknown keys."""
        return shop(self._connection)

    def stock_moves(self, product: str | None = None, *, history: bool = False) -> tuple[StockMove, ...]:
        """Current shelf moves of one product (by uid) or all; with `history` every one ever logged."""
        from finishlog.store.reading import stock

        return stock.moves(self._connection, product, history=history)

    def material_uses(
        self, product: str | None = None, *, kinds: Collection[str] = ()
    ) -> tuple[UsedMaterial, ...]:
        """Materials used by current entries of all jobs: of one product (by uid), of these kinds, or all."""
        from finishlog.store.reading import stock

        return stock.uses(self._connection, product, kinds)

    def swept(self) -> tuple[Swept, ...]:
        """Clean powder reclaimed by current sweep entries of all jobs."""
        from finishlog.store.reading import stock

        return stock.swept(self._connection)

    def shelf(
        self,
        products: Collection[str] | None = None,
        *,
        lots: Collection[str] | None = None,
        without: str | None = None,
    ) -> tuple[Tally, ...]:
        """What the lots of these products (by uid; None: of all) add up to, by kind, product and lot.

        With `lots` only those of these codes and what is not plainly used up. As if the move `without` (by
        uid) had never been.
        """
        from finishlog.store.search import shelved
        from finishlog.trade.shelf import in_order

        self._fresh_shelf()
        found = shelved.read(self._connection, products, lots)
        if without is not None:
            other = shelved.without_move(self._connection, without)
            found = {number: each for number, tally in found.items() if (each := other.get(number, tally))}
        return tuple(in_order(found.values()))

    def shelf_marks(self, *, every: bool = False) -> list[ShelfMark]:
        """How each lot stands that was ever stocked (`every`: or used), by kind, product and lot.

        Without those that are plainly used up.
        """
        from finishlog.store.search import shelved

        self._fresh_shelf()
        return shelved.standing(self._connection, every=every)

    def shelf_used_up(self, *, limit: int | None = None, offset: int = 0) -> tuple[int, list[ShelfMark]]:
        """How many lots are plainly used up, and some of them, by kind, product and lot."""
        from finishlog.store.search import shelved

        self._fresh_shelf()
        return shelved.used_up(self._connection, limit, offset)

    def shelf_of(self, marks: Collection[ShelfMark]) -> dict[int, Tally]:
        """What these lots add up to, by the id of their mark."""
        from finishlog.store.search import shelved

        return shelved.read_some(self._connection, [mark.id for mark in marks])

    def _fresh_shelf(self) -> None:
        """Hook: a writer adds up the lots it touched before a query."""

    def people(self) -> tuple[str, ...]:
        """Names to suggest, most recent worker first."""
        from finishlog.store.reading import lists

        return lists.people(self._connection)

    def plants(self) -> tuple[str, ...]:
        """Names for suggestions, the last used first."""
        from finishlog.store.reading import lists

        return lists.plants(self._connection)

    def makers(self) -> tuple[str, ...]:
        """Names for suggestions, the last used first."""
        from finishlog.store.reading import lists

        return lists.makers(self._connection)

    def customers(self) -> tuple[str, ...]:
        """Names to suggest, latest job first."""
        from finishlog.store.reading import lists

        return lists.customers(self._connection)

    def products(self, kind: str | None = None, *, named: str | None = None) -> tuple[Product, ...]:
        """Products of one kind or all, most recently used first; with `named` those of that folded name.

        What a unit of work itself uses does not count for the order: a sheet asks at every row, and each time
        the shelf would be added up.
        """
        from finishlog.store.search import shelved

        return shelved.products(self._connection, kind, named)

    def recipes(self, limit: int = 200) -> tuple[Recipe, ...]:
        """Recipes, most recently used first."""
        from finishlog.store.reading import lists

        return lists.recipes(self._connection, limit)

    def lots(self, product: str, kind: str | None = None) -> tuple[str, ...]:
        """Bag lots of a product by name, most recently used first."""
        from finishlog.store.reading import lists

        return lists.lots(self._connection, product, kind)
