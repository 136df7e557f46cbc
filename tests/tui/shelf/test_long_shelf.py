"""A shelf of thousands of lots: pages come as they are looked at, with what is to be minded of each."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

from finishlog.records.log import Product
from finishlog.records.shelf import Shelf, ShelfLine, ShelfLot
from finishlog.tui.desks.office import ShelfView
from finishlog.tui.shelf import paint

Open = Callable[..., Any]
MANY = 3_412
NOTHING = Fraction(0)


def line(at: int) -> ShelfLine:
    product = Product(f"p{at // 1000}", f"Otter Back {at // 1000}", None, "powder release")
    held = ShelfLot(product, f"L{at}", "lb", *[NOTHING] * 6, NOTHING, NOTHING, NOTHING)
    return ShelfLine(held, "out", "used up")


def desks(fake: Any) -> Any:
    class Desks(fake.desks):  # type: ignore[misc]
        many = MANY

        def shelf(self, units: str, limit: int, offset: int) -> ShelfView:
            self.asked.append(f"shelf {limit} {offset}")
            lines = tuple(line(at) for at in range(offset, min(offset + limit, self.many)))
            safety = {one.held.product.uid: (f"Mind {one.held.product.name}.",) for one in lines}
            return ShelfView(Shelf("Nothing runs out soon.", lines, (), self.many), {}, safety)

    return Desks()


async def test_the_end_of_a_long_shelf_reads_only_the_pages_in_view(open_app: Open, fake: Any) -> None:
    shop = desks(fake)
    async with open_app(desks=shop) as stage:
        await stage.press("4")
        assert "1 of 3,412" in stage.text
        assert "Mind Otter Back 0." in stage.text
        await stage.press("end")
        assert f"{MANY:,} of {MANY:,}" in stage.text
        assert f"lot L{MANY - 1}" in stage.text
        assert "Mind Otter Back 3." in stage.text
        await stage.until(lambda: "shelf 50 3350" in shop.asked)  # asked for as it is painted
        calls = [call for call in shop.asked if call.startswith("shelf")]
        assert calls == ["shelf 50 0", "shelf 50 3400", "shelf 50 3350"]


async def test_a_shelf_read_again_keeps_the_mark_on_its_lot(open_app: Open, fake: Any) -> None:
    shop = desks(fake)
    async with open_app(desks=shop) as stage:
        await stage.press("4", "end", "up")
        stage.app.screen.reread()
        await stage.settle()
        assert stage.app.screen.current.held.lot == f"L{MANY - 2}"
        assert shop.asked[-1] == "shelf 150 3350"


def test_a_lot_that_has_not_come_stands_as_a_row_of_its_own() -> None:
    assert paint.missing(80, here=False).text.strip() == "…"
    assert paint.missing(80, here=True).text.strip() == f"{paint.MARK} …"
