"""From nothing to the first purchase in the browser, by the command that serves it."""

import re

import pytest

from tests.own_database import own_database
from tests.project.served import bare, serve

from .conftest import PHONE
from .visitors import ScriptlessVisitor, Visitor

WORD = "sawdust-and-lime"


@pytest.mark.database
@pytest.mark.slow
@pytest.mark.parametrize("way", [Visitor, ScriptlessVisitor])
def test_from_an_empty_folder_to_the_first_purchase(way, chromium, tmp_path):
    with own_database(tmp_path) as env:
        env = bare(env, DATA_ROOT=str(tmp_path / "data"))
        with serve(env, tmp_path, "manage.py serve --bind 127.0.0.1:8000") as served:
            (address,) = re.findall(r"http://\S+", served.printed)
            context = chromium.new_context(
                viewport=PHONE, base_url=f"http://127.0.0.1:{served.port}", **way.options
            )
            first_purchase(way(context.new_page()), address)
            context.close()


def first_purchase(visitor: Visitor, address: str) -> None:
    """What a new owner does, beginning with the address that was printed."""
    page = visitor.page
    page.goto(address)
    visitor.type("Username", "ann")
    visitor.type("Password", WORD)
    visitor.press("Create account")
    page.get_by_text("Your account is ready.").wait_for()
    visitor.type("Name", "Pump house")
    visitor.type("Floor area", "200 sq ft")
    visitor.press("Start build")
    visitor.press("Log what you got")
    visitor.type("What", "Old 2x8")
    visitor.type("How much", "12 @ 2x8x12")
    visitor.type("Price", "2,25")
    visitor.pick("Source", "Salvage")
    visitor.press("Save")
    page.get_by_role("status").get_by_text("Saved.").wait_for()
    # The owner's own page, and no second time.
    page.goto("/account/")
    assert page.get_by_text("Pump house").first.is_visible()
    assert page.goto(address).status == 404
