"""Figures of settling up explained: what is shared, a person's share, a person's balance."""

from collections.abc import Sequence
from fractions import Fraction

from ..reports import CostSheet
from ..settling import PersonRow
from .parts import Part, Trace, extra_cost, proceeds

ZERO = Fraction(0)
PAID, SHARED, SHARE, BALANCE = "paid_named", "shared", "share_", "balance_"


def is_of_settling(name: str) -> bool:
    """Whether a figure of this name belongs to settling up."""
    return name in (PAID, SHARED) or name.startswith((SHARE, BALANCE))


def find(sheet: CostSheet, name: str) -> Trace | None:
    """A figure by name, or None for no such one.

    ``paid_named``, ``shared``, and of each person ``share_<key>`` and ``balance_<key>``.
    """
    if name == PAID:
        return paid_named(sheet)
    if name == SHARED:
        return shared(sheet)
    for row in sheet.persons:
        key = row.share.person.key
        if name == f"{SHARE}{key}":
            return share(sheet, row)
        if name == f"{BALANCE}{key}":
            return balance(row)
    return None


def paid_in(rows: Sequence[PersonRow]) -> Fraction:
    """All that counts as paid, which is all that is shared."""
    return sum((row.share.paid_in for row in rows), ZERO)


def paid_named(sheet: CostSheet) -> Trace:
    return Trace(
        PAID,
        "Paid out by those named",
        "Landed cost of received purchases that say who paid for them.",
        _paid(sheet),
        tuple(
            Part("+", f"Paid out by {person.name}", person.paid_out, f"paid_by:{person.key}")
            for person in (row.share.person for row in sheet.persons)
            if person.paid_for
        ),
        _left_out(sheet),
    )


def shared(sheet: CostSheet) -> Trace:
    worked = [row.share for row in sheet.persons if row.share.worked is not None]
    return Trace(
        SHARED,
        "What is shared",
        "What names a payer"
        + (", and own hours at the rate stated on the build." if worked else "."),
        paid_in(sheet.persons),
        (
            Part("+", "Paid out by those named", _paid(sheet), f"figure:{PAID}"),
            *(
                Part(
                    "+",
                    f"Own hours of {share.person.name} at the stated rate",
                    share.worked,
                    f"labour_own_of:{share.person.key}",
                )
                for share in worked
            ),
        ),
        _left_out(sheet),
    )


def share(sheet: CostSheet, row: PersonRow) -> Trace:
    how = (
        "as the builders stated"
        if any(other.share.person.weight is not None for other in sheet.persons)
        else "equally among those who paid for something"
    )
    return Trace(
        f"{SHARE}{row.share.person.key}",
        f"Share of {row.share.person.name}",
        f"What is shared is split between the builders {how}, so that the shares sum to "
        "it exactly.",
        row.share.share,
        (
            Part("", "What is shared", paid_in(sheet.persons), f"figure:{SHARED}"),
            Part("×", "Weight of this share", row.share.part * 100, None, "percent"),
            Part("=", "Share, to the smallest unit", row.share.share),
        ),
    )


def balance(row: PersonRow) -> Trace:
    person = row.share.person
    parts = [Part("+", "Paid out", person.paid_out, f"paid_by:{person.key}")]
    if row.share.worked is not None:
        label = "Own hours at the stated rate"
        parts.append(Part("+", label, row.share.worked, f"labour_own_of:{person.key}"))
    parts += [
        Part("−", "Share", row.share.share, f"figure:{SHARE}{person.key}"),
        Part("+", "Paid to others", person.payments_made, f"handed_by:{person.key}"),
        Part("−", "Received from others", person.payments_received, f"handed_to:{person.key}"),
    ]
    return Trace(
        f"{BALANCE}{person.key}",
        f"Balance of {person.name}",
        _text(person.name, row.share.balance),
        row.share.balance,
        tuple(parts),
    )


def _text(name: str, balance: Fraction) -> str:
    if not balance:
        return f"{name} is even with the others."
    return f"The others owe {name} this." if balance > 0 else f"{name} owes the others this."


def _paid(sheet: CostSheet) -> Fraction:
    return sum((row.share.person.paid_out for row in sheet.persons), ZERO)


def _left_out(sheet: CostSheet) -> tuple[str, ...]:
    count = sheet.build.payerless.purchases
    texts: tuple[str, ...] = ()
    if count:
        texts = (
            "1 received purchase names no payer: its cost is not shared."
            if count == 1
            else f"{count} received purchases name no payer: their cost is not shared.",
        )
    return (
        *texts,
        "Paid labour, extra cost of conversions and proceeds of sales name no payer, so they are"
        " not shared.",
    )


def to_spent(sheet: CostSheet) -> tuple[Part, ...]:
    """From the money that is shared to what is spent: what has no payer, and so is not shared."""
    return (
        Part("", "Paid out by those named: this is shared", _paid(sheet), f"figure:{PAID}"),
        Part("+", "Purchases that name no payer", sheet.build.payerless.cost, "paid_by:null"),
        Part("+", "Paid labour", sheet.hours.paid_labour, "labour_paid"),
        Part("+", "Extra cost of conversions", extra_cost(sheet), "conversions"),
        Part("−", "Proceeds of sales", proceeds(sheet), "left_sold"),
        Part("=", "Spent", sheet.spent, "figure:spent"),
    )
