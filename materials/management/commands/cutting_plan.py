"""Which boards to cut how, so that all pieces come out at the least cost."""

import json
import time
from collections.abc import Callable
from fractions import Fraction
from typing import Any

from django.core.management.base import BaseCommand

from ...calc.measures import plain
from ...calc.units import quote
from ...cutting.calc.flat import words as flat_words
from ...cutting.calc.flat.plan import plan_sheets
from ...cutting.calc.flat.reading import read_flat_order
from ...cutting.calc.flat.types import FlatOrder, FlatPlan
from ...cutting.calc.plan import plan_cuts
from ...cutting.calc.reading import Lengths, read_need, read_stock, refuse
from ...cutting.calc.types import CuttingError, Need, Order, Plan
from ...cutting.calc.words import counted, cut_lines, notes, waste_percent, why
from ...cutting.exchange import as_data, flat_as_data, money_of
from ._builds import stop

MOST_SECONDS = 3600


class Command(BaseCommand):
    """``cutting_plan --stock LENGTH[:PRICE[:COUNT]]… --need "LENGTH x COUNT"… [--kerf K]``.

    With ``--sheets`` or ``--rip``, sizes are "LENGTH by WIDTH".
    """

    help = (
        "Print how to cut boards: least cost, then least waste, then the longest "
        "off-cut. A length with a count is on hand and costs nothing more. A length with "
        "a price can be bought as often as needed. With --sheets or --rip, write "
        "sizes as '8 ft by 4 ft'."
    )

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument(
            "--stock", action="extend", nargs="+", default=[], metavar="LENGTH[:PRICE[:COUNT]]",
            help="a length of board, like '14 ft:12.50', '7 ft 6 in::3' (3 on hand) or 5600:1",
        )  # fmt: skip
        parser.add_argument(
            "--need", action="extend", nargs="+", default=[], metavar="'LENGTH x COUNT'",
            help="pieces, like '28 in x 4'",
        )  # fmt: skip
        parser.add_argument("--kerf", default="0", help="what one saw cut takes, like '1/8 in'")
        parser.add_argument("--trim", default="0", help="what is cut off at each end of a board")
        parser.add_argument("--seconds", default="60", help="seconds until it stops looking (60)")
        parser.add_argument("--sheets", action="store_true", help="cut sheets in both directions")
        parser.add_argument("--rip", action="store_true", help="rip boards, then cut to length")
        parser.add_argument(
            "--keep", default="0", help="narrower remnants are waste (the least side of a piece)"
        )
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, **options: Any) -> None:
        lengths = Lengths()
        if options["sheets"] or options["rip"]:
            self.handle_flat(options, lengths)
            return
        try:
            order, seconds = _order(options, lengths)
            plan = plan_cuts(order, _left(seconds), seconds)
        except CuttingError as error:
            stop(self, "\n".join(error.faults))
        if options["json"]:
            data = as_data(order, plan, lengths)
            self.stdout.write(json.dumps(data, ensure_ascii=False, indent=2))
            return
        for line in _lines(order, plan, lengths):
            self.stdout.write(line)

    def handle_flat(self, options: dict[str, Any], lengths: Lengths) -> None:
        """Sheets, and boards that are ripped."""
        try:
            seconds = _seconds(options, lengths)
            order = read_flat_order(options, lengths)
            plan = plan_sheets(order, _left(seconds), seconds)
        except CuttingError as error:
            stop(self, "\n".join(error.faults))
        if options["json"]:
            data = flat_as_data(order, plan, lengths)
            self.stdout.write(json.dumps(data, ensure_ascii=False, indent=2))
            return
        for line in _flat_lines(order, plan, lengths):
            self.stdout.write(line)


def _seconds(options: dict[str, Any], lengths: Lengths) -> int:
    """How long to look; a fault is noted."""
    seconds = str(options["seconds"])
    if not seconds.isdecimal() or not 0 < int(seconds[:9]) <= MOST_SECONDS:
        lengths.faults.append(
            f"Seconds {quote(seconds)}: enter a whole number from 1 to {MOST_SECONDS}."
        )
        return 1
    return int(seconds)


def _flat_lines(order: FlatOrder, plan: FlatPlan, lengths: Lengths) -> list[str]:
    cost = "not known" if plan.cost is None else money_of(plan.cost)
    return [
        f"{flat_words.things_of(order, plan.sheets)}, cost {cost}, waste"
        f" {lengths.write_area(plan.waste)} ({plain(flat_words.waste_percent(plan), 3)}%)",
        *flat_words.cut_lines(order, plan, lengths.write),
        *flat_words.why(plan, money_of, lengths.write_area),
        *flat_words.notes(order, plan),
        *flat_words.CAUTIONS,
    ]


def _order(options: dict[str, Any], lengths: Lengths) -> tuple[Order, int]:
    """Everything typed, read. Raises CuttingError with every fault."""
    trim = lengths.read(options["trim"], "Trim") or Fraction(0)
    stocks = [read_stock(text, lengths, trim) for text in options["stock"]]
    needs = []
    for text in options["need"]:
        found = read_need(text)
        if found is None:
            lengths.faults.append(
                f"Need {quote(text)} is not understood: enter a length and how many, like"
                " '28 in x 4'."
            )
            continue
        length = lengths.read(found[0], f"Need {quote(text)}")
        if length is not None:
            needs.append(Need(found[0].strip(), length, found[1]))
    kerf = lengths.read(options["kerf"], "Kerf") or Fraction(0)
    lengths.agree()
    seconds = _seconds(options, lengths)
    refuse(lengths.faults)
    order = Order(tuple(s for s in stocks if s is not None), tuple(needs), kerf)
    return order, seconds


def _left(seconds: int) -> Callable[[], int]:
    end = time.monotonic_ns() + seconds * 10**9
    return lambda: max(0, (end - time.monotonic_ns()) // 10**6)


def _lines(order: Order, plan: Plan, lengths: Lengths) -> list[str]:
    cost = "not known" if plan.cost is None else money_of(plan.cost)
    return [
        f"{counted(plan.boards, 'board')}, cost {cost}, waste {lengths.write(plan.waste)}"
        f" ({plain(waste_percent(plan), 3)}%)",
        *cut_lines(order, plan, lengths.write),
        *why(plan, money_of, lengths.write),
        *notes(order, plan),
    ]
