"""Who bears what, who is owed what, and the fewest payments that settle it.

Balances are counted in whole minor units, so that nothing is ever left over. n people need n less
the most groups that each sum to 0. Up to 12 people every subset is looked at; beyond that exact
pairs come first, then largest to largest, and the page says that no fewer is not proved. Recording
one works them out again under the lock.
"""

from bisect import insort
from collections import defaultdict, deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from .labour import hours_by, own_hours_by_person
from .money import Number, round_half_up, split_amount
from .types import BuildInput, Key, PersonInput

ZERO = Fraction(0)
# Up to so many people with a balance every way of grouping them is looked at.
MOST_PROVED = 12


@dataclass(frozen=True, slots=True)
class PersonShare:
    """What a person paid, what of the whole falls to them, and the balance.

    ``part``: that share as a part of one, 0 for who bears nothing. ``worked``: own hours at
    the stated rate where the builders let them count; None for who has none that count.
    """

    person: PersonInput
    share: Fraction
    part: Fraction = ZERO
    worked: Fraction | None = None

    @property
    def paid_in(self) -> Fraction:
        """What counts as paid by this person."""
        return self.person.paid_out + (self.worked or ZERO)

    @property
    def balance(self) -> Fraction:
        """Above 0 the others owe this person, below 0 this person owes them."""
        person = self.person
        return self.paid_in - self.share + person.payments_made - person.payments_received


@dataclass(frozen=True, slots=True)
class PersonRow:
    """A person's money and hours, side by side."""

    share: PersonShare
    hours: Fraction


@dataclass(frozen=True, slots=True)
class Payment:
    """Money that one person is to hand to another, in the currency, always above 0."""

    payer: Key
    payee: Key
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Settlement:
    """Transfers after which every balance is 0.

    ``is_proved``: there is no way with fewer. Else they are few, and perhaps the fewest.
    """

    payments: tuple[Payment, ...]
    is_proved: bool


def share_out(
    persons: Sequence[PersonInput], places: int, worked: Mapping[Key, Fraction] | None = None
) -> list[PersonShare]:
    """Share all that was put in, exact to the minor unit (largest remainder).

    Among those with a stated weight, by weight; where nobody has one, equally among those
    who paid for something. ``worked``: value of each person's own hours, where they count
    as paid; None where hours do not count at all.
    """
    values = None if worked is None else {key: _unit(worked[key], places) for key in worked}
    rounded = [replace(person, paid_out=_unit(person.paid_out, places)) for person in persons]
    stated = [person for person in rounded if person.weight is not None]
    bearing = stated or [p for p in rounded if p.paid_for or (values and p.key in values)]
    weights = {p.key: Fraction(1) if p.weight is None else p.weight for p in bearing}
    whole = sum((p.paid_out for p in rounded), ZERO) + sum((values or {}).values(), ZERO)
    parts = split_amount(whole, list(weights.values()), places) if bearing else []
    shares = {key: Fraction(part) for key, part in zip(weights, parts, strict=True)}
    total = sum(weights.values(), ZERO)
    return [
        PersonShare(
            person,
            shares.get(person.key, ZERO),
            weights[person.key] / total if person.key in weights else ZERO,
            (values or {}).get(person.key),
        )
        for person in rounded
    ]


def share_build(build: BuildInput) -> tuple[PersonRow, ...]:
    """Every person of a build with share and hours; own hours count only where ticked."""
    rate = build.own_labour_rate
    worked = None
    if build.own_hours_count and rate is not None:
        worked = {k: hours * rate for k, hours in own_hours_by_person(build.labour).items()}
    hours = hours_by(build.labour, "person")
    return tuple(
        PersonRow(share, hours.get(share.person.key, ZERO))
        for share in share_out(build.persons, build.places, worked)
    )


def settle(balances: Sequence[tuple[Key, Number]], places: int) -> Settlement:
    """The transfers that bring every balance to 0: (who, above 0 when owed).

    The fewest there can be for up to 12 people with a balance; for more a good answer that
    is not proved to be the fewest. Payers and payees come in the order given.
    Raises ValueError when a balance is no whole minor unit or they do not sum to 0.
    """
    units = [_whole(amount, places) for _, amount in balances]
    if sum(units):
        raise ValueError("balances must sum to 0 to be settled")
    open_ones = {at: amount for at, amount in enumerate(units) if amount}
    is_proved = len(open_ones) <= MOST_PROVED
    groups = most_groups(open_ones) if is_proved else [open_ones]
    made = sorted(step for group in groups for step in _largest_first(group))
    return Settlement(
        tuple(
            Payment(balances[payer][0], balances[payee][0], Decimal(amount).scaleb(-places))
            for payer, payee, amount in made
        ),
        is_proved,
    )


def settle_rows(rows: Sequence[PersonRow], places: int) -> Settlement:
    """The payments that settle a build's people."""
    return settle([(row.share.person.key, row.share.balance) for row in rows], places)


def most_groups(amounts: Mapping[int, int]) -> list[dict[int, int]]:
    """Part amounts that sum to 0 into as many groups as can be that each sum to 0.

    A group of n needs n - 1 transfers, so the most groups are the fewest transfers. Looks at
    every set of them: 2 to the power of their number.
    """
    keys = list(amounts)
    full = (1 << len(keys)) - 1
    sums, best = [0] * (full + 1), [0] * (full + 1)
    for mask in range(1, full + 1):
        lowest = mask & -mask
        sums[mask] = sums[mask ^ lowest] + amounts[keys[lowest.bit_length() - 1]]
        best[mask] = max(best[mask ^ bit] for bit in _bits(mask)) + (not sums[mask])
    groups: list[dict[int, int]] = []
    mask = full
    # Taken away one by one along a best way; where the rest sums to 0 a group is complete.
    while mask:
        is_whole = not sums[mask]
        if is_whole:
            groups.append({})
        bit = next(bit for bit in _bits(mask) if best[mask ^ bit] + is_whole == best[mask])
        key = keys[bit.bit_length() - 1]
        groups[-1][key] = amounts[key]
        mask ^= bit
    return groups


def _bits(mask: int) -> list[int]:
    return [1 << at for at in range(mask.bit_length()) if mask >> at & 1]


def _largest_first(amounts: Mapping[int, int]) -> list[tuple[int, int, int]]:
    """Pairs that match exactly first, then from who owes most to who is owed most.

    Each transfer brings one balance to 0 and the last one two, so there are at most n - 1.
    """
    # Sizes stand below 0 on both sides, so that the largest come first.
    owing = sorted((amount, at) for at, amount in amounts.items() if amount < 0)
    owed = sorted((-amount, at) for at, amount in amounts.items() if amount > 0)
    of_size: dict[int, deque[int]] = defaultdict(deque)
    for size, at in owed:
        of_size[size].append(at)
    made = [(at, of_size[size].popleft(), -size) for size, at in owing if of_size[size]]
    done = {at for payer, payee, _ in made for at in (payer, payee)}
    owing = [row for row in owing if row[1] not in done]
    owed = [row for row in owed if row[1] not in done]
    while owing:
        (debt, payer), (credit, payee) = owing.pop(0), owed.pop(0)
        made.append((payer, payee, min(-debt, -credit)))
        if debt < credit:
            insort(owing, (debt - credit, payer))
        elif credit < debt:
            insort(owed, (credit - debt, payee))
    return made


def _unit(amount: Fraction, places: int) -> Fraction:
    return Fraction(round_half_up(amount, places))


def _whole(amount: Number, places: int) -> int:
    scaled = Fraction(amount) * 10**places
    if scaled.denominator != 1:
        raise ValueError("a balance is counted in whole minor units")
    return int(scaled)
