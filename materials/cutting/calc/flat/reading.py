"""Sizes of sheets and pieces, read as people write them on a command line."""

import re
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from ....calc.units import quote
from ..reading import Lengths, read_need, read_stock, refuse
from .types import FlatOrder, Part, Sheet

_BY = re.compile(r"\s+by\s+|\s*×\s*", re.IGNORECASE)
_TURNED = re.compile(r"\s+turn(?:ed)?$", re.IGNORECASE)


def read_flat_order(options: Mapping[str, Any], lengths: Lengths) -> FlatOrder:
    """The order of options typed. Raises CuttingError with every fault."""
    trim = lengths.read(options["trim"], "Trim") or Fraction(0)
    sheets = [_sheet(text, lengths, trim) for text in options["stock"]]
    parts = [_part(text, lengths) for text in options["need"]]
    kerf = lengths.read(options["kerf"], "Kerf") or Fraction(0)
    keep = lengths.read(options["keep"], "Keep") or Fraction(0)
    lengths.agree()
    refuse(lengths.faults)
    found = tuple(part for part in parts if part is not None)
    if not keep:
        keep = min((min(part.length, part.width) for part in found), default=Fraction(0))
    kept = tuple(sheet for sheet in sheets if sheet is not None)
    return FlatOrder(kept, found, kerf, keep, bool(options["rip"]))


def _sheet(text: str, lengths: Lengths, trim: Fraction) -> Sheet | None:
    """A sheet written LENGTH by WIDTH[:PRICE[:COUNT]]; faults are noted, and None comes back."""
    sizes, mark, more = text.partition(":")
    sides = _BY.split(sizes.strip())
    if len(sides) != 2:
        lengths.faults.append(
            f"Stock {quote(text)} is not understood: enter a length and a width, like"
            " '8 ft by 4 ft:22'."
        )
        return None
    width = lengths.read(sides[1], f"Stock {quote(text)}")
    stock = read_stock(f"{sides[0]}{mark}{more}", lengths, trim)
    if stock is None or width is None:
        return None
    return Sheet(
        sizes.strip(), stock.length, width, stock.price, stock.count, trim, stock.is_on_hand
    )


def _part(text: str, lengths: Lengths) -> Part | None:
    """Pieces written LENGTH by WIDTH x COUNT, with "turn" behind them where they may be turned."""
    found = read_need(_TURNED.sub("", text.strip()))
    sides = _BY.split(found[0].strip()) if found else []
    if found is None or len(sides) != 2:
        lengths.faults.append(
            f"Need {quote(text)} is not understood: enter a length, a width and how many, like"
            " '2 ft by 18 in x 6' or '2 ft by 18 in x 6 turn'."
        )
        return None
    what = f"Need {quote(text)}"
    size = [lengths.read(side, what) for side in sides]
    if size[0] is None or size[1] is None:
        return None
    part = Part(found[0].strip(), size[0], size[1], found[1])
    return replace(part, may_turn=_TURNED.search(text.strip()) is not None)
