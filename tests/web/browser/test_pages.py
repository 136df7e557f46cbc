"""What a page looks like and does in a hand."""

from __future__ import annotations

import pytest

from tests.web.browser.conftest import Net


@pytest.mark.long
def test_the_links_of_who_has_them_all_are_one_row_for_a_thumb(net: Net) -> None:
    net.served.site.people.add("Una", "office")
    phone = net.browser((360, 640))
    net.comes_in(phone, "Una")
    phone.fits()
    links = phone.driver.find_elements("css selector", "nav a")
    assert [link.text for link in links] == ["Today", "Find", "Waiting", "Screens"]
    assert len({link.rect["y"] for link in links}) == 1
    assert all(link.size["height"] >= 48 and link.size["width"] >= 48 for link in links)
