"""Whether boards can yield pieces at all, and what is missing, in plain sentences."""

from collections.abc import Sequence
from fractions import Fraction

from .types import (
    MOST_COUNT,
    MOST_KINDS,
    MOST_PIECES,
    CuttingError,
    Need,
    Order,
    Stock,
)


def check(order: Order) -> None:
    """Raises CuttingError with every fault of an order."""
    faults = []
    if not order.stocks:
        faults.append("Add at least one length of board to cut from.")
    if not order.needs:
        faults.append("Add at least one piece to cut, and how many you need.")
    for what, rows in (("lengths of board", order.stocks), ("pieces", order.needs)):
        if len(rows) > MOST_KINDS:
            faults.append(
                f"There are {len(rows)} rows of {what}: a plan takes at most {MOST_KINDS}."
            )
    if order.kerf < 0:
        faults.append("The saw cut cannot be below 0.")
    for stock in order.stocks:
        faults += _faults_of_stock(stock, order.kerf)
    for need in order.needs:
        faults += _faults_of_need(need)
    if sum(need.count for need in order.needs) > MOST_PIECES:
        faults.append(f"More than {MOST_PIECES:,} pieces are too many for one plan: split it.")
    # Lengths are compared only where all of them are lengths.
    if faults := faults or _too_long(order):
        raise CuttingError(*faults)


def is_thinner_than_its_cut(stock: Stock, kerf: Fraction) -> bool:
    """Whether less is to come off an end than the saw takes: nobody can mark such a cut."""
    return 0 < stock.trim < kerf


def _faults_of_need(need: Need) -> list[str]:
    faults = []
    if need.length <= 0:
        faults.append(f"A piece of {need.name} has no length: enter how long it is.")
    if not 0 < need.count <= MOST_COUNT:
        faults.append(
            f"{need.count} pieces of {need.name} cannot be planned: enter a whole number from"
            f" 1 to {MOST_COUNT:,}."
        )
    return faults


def _faults_of_stock(stock: Stock, kerf: Fraction) -> list[str]:
    faults = []
    if stock.length <= 0:
        faults.append(f"A board of {stock.name} has no length: enter how long it is.")
    elif stock.usable <= 0:
        faults.append(f"The ends cut off a board of {stock.name} leave nothing of it.")
    if stock.trim < 0:
        faults.append(f"What is cut off the ends of {stock.name} cannot be below 0.")
    elif is_thinner_than_its_cut(stock, kerf):
        faults.append(
            f"What is cut off the ends of {stock.name} is less than one saw cut: enter at "
            "least the saw cut, or nothing."
        )
    if stock.price is not None and stock.price < 0:
        faults.append(f"The price of {stock.name} cannot be below 0.")
    if stock.count is not None and not 0 < stock.count <= MOST_COUNT:
        faults.append(
            f"{stock.count} boards of {stock.name} cannot be planned: enter a whole number from 1"
            f" to {MOST_COUNT:,}, or leave the row out."
        )
    return faults


def usable_stocks(order: Order) -> tuple[tuple[int, ...], tuple[int, ...], bool]:
    """Places of boards that can be used, places left out for want of a price, whether priced.

    A length to buy without a price could not be weighed against others, so it is left out; only
    where no length to buy has a price do all of them count, and then length stands for cost.
    """
    to_buy = [i for i, stock in enumerate(order.stocks) if not stock.is_on_hand]
    unknown = [i for i in to_buy if order.stocks[i].price is None]
    is_priced = len(unknown) < len(to_buy) or not to_buy
    left_out = unknown if is_priced else []
    places = [i for i in range(len(order.stocks)) if i not in left_out]
    return tuple(places), tuple(left_out), is_priced


def _too_long(order: Order) -> list[str]:
    """A sentence for each piece that no board that can be used is long enough for."""
    places, left_out, _ = usable_stocks(order)
    longest = max((order.stocks[i] for i in places), key=lambda stock: stock.usable)
    faults = []
    for need in order.needs:
        if need.length <= longest.usable:
            continue
        with_ends = f" (with {_ends(longest)} cut off)" if longest.trim else ""
        sentence = (
            f"A piece of {need.name} is longer than any board there is: the longest is"
            f" {longest.name}{with_ends}."
        )
        fitting = [i for i in left_out if order.stocks[i].usable >= need.length]
        if fitting:
            sentence += (
                f" {order.stocks[fitting[0]].name} would do, but has no price. Add its price."
            )
        faults.append(sentence)
    return faults


def _ends(stock: Stock) -> str:
    return "both ends" if stock.trim else "nothing"


def name_missing(
    order: Order, short: Sequence[int], is_proved: bool, seconds: int, left_out: Sequence[int]
) -> list[str]:
    """Sentences for pieces that the boards do not yield, by length from the longest."""
    lengths = sorted({need.length for need in order.needs}, reverse=True)
    named = [
        f"{count} × {_named(order.needs, length)}"
        for count, length in zip(short, lengths, strict=True)
        if count
    ]
    pieces = " and ".join(filter(None, [", ".join(named[:-1]), named[-1]]))
    if is_proved:
        sentence = (
            f"The boards do not yield all pieces: {pieces} cannot be cut from them. Add boards, or"
            " a length to buy with its price."
        )
    else:
        sentence = (
            f"No plan with all pieces was found within {seconds} seconds: at best, {pieces} are"
            " missing. Add boards, or a length to buy with its price."
        )
    unpriced = (order.stocks[place].name for place in left_out)
    return [
        sentence,
        *(f"{name} has no price, so it is not used. Add one." for name in unpriced),
    ]


def _named(needs: Sequence[Need], length: Fraction) -> str:
    return next(need.name for need in needs if need.length == length)
