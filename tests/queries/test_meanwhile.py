"""A page that reads twice, while somebody else adds a component in between."""

import pytest

from materials.queries import exchange, safety, stock, transfers
from tests.entries import DAY, line

READS = {
    "what may be moved": (
        transfers, "get_build_input", lambda build, on: transfers.list_surplus(build, on)),
    "stock": (stock, "get_stock_inputs", lambda build, on: stock.list_positions(build)),
    "what an import is checked against": (
        exchange, "get_stock_inputs", lambda build, on: exchange.get_existing_build(build)),
    "cautions": (safety, "_items", lambda build, on: safety.list_cautions(build)),
}  # fmt: skip


@pytest.mark.parametrize("what", READS)
def test_what_is_added_in_between_is_no_fault(what, entries, build, monkeypatch):
    """Found by killing a server among people who write: a form for moves met a new component."""
    module, name, ask = READS[what]
    board = entries.component("Board", contents="1 piece = 2x8x12")
    entries.purchase("P1", line(board, "2 pieces"))
    read = getattr(module, name)

    def read_and_add(*given):
        if what != "cautions":
            found = read(*given)
        lath = entries.component("Lath", contents="1 piece = 2x8x12")
        entries.purchase("P2", line(lath, "1 piece"))
        return read(*given) if what == "cautions" else found

    monkeypatch.setattr(module, name, read_and_add)
    assert ask(build, DAY) is not None
