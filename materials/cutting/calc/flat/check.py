"""Whether sheets can yield pieces at all, in plain sentences."""

from collections.abc import Sequence
from fractions import Fraction

from ..types import MOST_COUNT, MOST_KINDS, MOST_PIECES, CuttingError
from .types import FlatOrder, Part, Sheet


def check(order: FlatOrder) -> None:
    """Raises CuttingError with every fault of an order."""
    faults = []
    what = "board" if order.is_ripped else "sheet"
    if not order.sheets:
        faults.append(f"Add at least one {what} to cut from.")
    if not order.parts:
        faults.append("Add at least one piece to cut, and how many you need.")
    if max(len(order.sheets), len(order.parts)) > MOST_KINDS:
        faults.append(f"A plan takes at most {MOST_KINDS} rows of one kind: split it.")
    if order.kerf < 0:
        faults.append("The saw cut cannot be below 0.")
    for sheet in order.sheets:
        faults += _faults_of_sheet(sheet, order)
    for part in order.parts:
        faults += _faults_of_part(part)
    if sum(part.count for part in order.parts) > MOST_PIECES:
        faults.append(f"More than {MOST_PIECES:,} pieces are too many for one plan: split it.")
    if faults := faults or _too_large(order):
        raise CuttingError(*faults)


def usable(sheet: Sheet, is_ripped: bool) -> tuple[Fraction, Fraction]:
    """Length and width of what is left between the edges that are cut off."""
    off = 2 * sheet.trim
    return sheet.length - off, sheet.width - (0 if is_ripped else off)


def _faults_of_sheet(sheet: Sheet, order: FlatOrder) -> list[str]:
    faults = []
    if min(sheet.length, sheet.width) <= 0:
        faults.append(f"{sheet.name}: enter a length and a width above zero.")
    elif min(usable(sheet, order.is_ripped)) <= 0:
        faults.append(f"The edges cut off {sheet.name} leave nothing of it.")
    if sheet.trim < 0:
        faults.append(f"What is cut off the edges of {sheet.name} cannot be below 0.")
    elif 0 < sheet.trim < order.kerf:
        faults.append(
            f"What is cut off the edges of {sheet.name} is less than one saw cut: enter at least"
            " the saw cut, or nothing."
        )
    if sheet.price is not None and sheet.price < 0:
        faults.append(f"The price of {sheet.name} cannot be below 0.")
    if sheet.count is not None and not 0 < sheet.count <= MOST_COUNT:
        faults.append(
            f"{sheet.count} of {sheet.name} cannot be planned: enter a whole number from 1 to"
            f" {MOST_COUNT:,}, or leave the row out."
        )
    return faults


def _faults_of_part(part: Part) -> list[str]:
    faults = []
    if min(part.length, part.width) <= 0:
        faults.append(f"A piece of {part.name} has no size: enter how long and how wide it is.")
    if part.is_triangle and not 0 <= part.corner <= part.length:
        faults.append(
            f"The third corner of {part.name} stands beyond its length: enter the longest side as"
            " the length."
        )
    if not 0 < part.count <= MOST_COUNT:
        faults.append(
            f"{part.count} pieces of {part.name} cannot be planned: enter a whole number from 1"
            f" to {MOST_COUNT:,}."
        )
    return faults


def usable_sheets(order: FlatOrder) -> tuple[tuple[int, ...], tuple[int, ...], bool]:
    """Places that can be used, places left out for want of a price, whether priced.

    As with boards (``check.usable_stocks``): only where nothing to buy has a price does all of it
    count, and then area stands for cost.
    """
    to_buy = [at for at, sheet in enumerate(order.sheets) if not sheet.is_on_hand]
    unknown = [at for at in to_buy if order.sheets[at].price is None]
    is_priced = len(unknown) < len(to_buy) or not to_buy
    left_out = unknown if is_priced else []
    places = tuple(at for at in range(len(order.sheets)) if at not in left_out)
    return places, tuple(left_out), is_priced


def fits(part: Part, size: tuple[Fraction, Fraction]) -> bool:
    """Whether a piece lies within a rectangle, one of the ways it may."""
    length, width = size
    return (part.length <= length and part.width <= width) or (
        part.may_turn and part.width <= length and part.length <= width
    )


def _too_large(order: FlatOrder) -> list[str]:
    """A sentence for each piece that nothing that can be used is large enough for."""
    places, left_out, _ = usable_sheets(order)
    what = "board" if order.is_ripped else "sheet"
    faults = []
    for part in order.parts:
        if any(fits(part, usable(order.sheets[at], order.is_ripped)) for at in places):
            continue
        sentence = f"A piece of {part.name} fits on no {what} there is."
        turned = Part(part.name, part.length, part.width, part.count, True)
        if not order.is_ripped and any(
            fits(turned, usable(order.sheets[p], False)) for p in places
        ):
            sentence += " It would, turned: tick that it may be turned."
        for at in left_out:
            if fits(part, usable(order.sheets[at], order.is_ripped)):
                sentence += f" {order.sheets[at].name} would do, but has no price. Add its price."
                break
        faults.append(sentence)
    return faults


def name_missing(
    order: FlatOrder,
    short: Sequence[int],
    is_proved: bool,
    seconds: int,
    left_out: Sequence[int],
) -> list[str]:
    """Sentences for pieces that cannot be cut from what there is."""
    named = [
        f"{count} × {part.name}" for count, part in zip(short, order.parts, strict=True) if count
    ]
    pieces = " and ".join(filter(None, [", ".join(named[:-1]), named[-1]]))
    what = "boards" if order.is_ripped else "sheets"
    add = f"Add {what}, or a size to buy with its price."
    if is_proved:
        sentence = f"The {what} do not yield all pieces: {pieces} cannot be cut from them. {add}"
    else:
        sentence = (
            f"No plan with all pieces was found within {seconds} seconds: at best, {pieces} are"
            f" missing. {add}"
        )
    unpriced = (order.sheets[at].name for at in left_out)
    return [
        sentence,
        *(f"{name} has no price, so it is not used. Add one." for name in unpriced),
    ]
