"""Reading who paid, who bears what, and money that went between people."""

from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from django.db.models import Count, Q, QuerySet, Sum

from ..calc.money import minor_units, round_half_up
from ..calc.types import Payerless, PersonInput
from ..choices import State
from ..fields import ExactSum
from ..models import Build, HandOver, Person, Purchase, Share

CHUNK = 1000


def get_person_inputs(build: Build) -> tuple[tuple[PersonInput, ...], Payerless]:
    """People with what they paid, bear and paid each other, and purchases that name no payer.

    One who paid for free material has paid 0. Three queries, whatever the number of rows.
    """
    received = Purchase.objects.filter(build=build, state=State.RECEIVED).order_by()
    paid = {
        person: (total, purchases)
        for person, total, purchases in received.values_list("paid_by_id").annotate(
            total=ExactSum("landed_amount"), purchases=Count("pk")
        )
    }
    over, to = _payments(build)
    persons = tuple(
        PersonInput(
            pk,
            name,
            *paid.get(pk, (Fraction(0), 0)),
            weight=None if weight is None else Fraction(weight),
            payments_made=over[pk],
            payments_received=to[pk],
        )
        for pk, name, weight in Person.objects.filter(build=build).values_list(
            "pk", "name", "shares__weight"
        )
    )
    cost, purchases = paid.get(None, (Fraction(0), 0))
    return persons, Payerless(purchases, cost)


def _payments(build: Build) -> tuple[dict[int, Fraction], dict[int, Fraction]]:
    """Payments by and to each person."""
    over: dict[int, Fraction] = defaultdict(Fraction)
    to: dict[int, Fraction] = defaultdict(Fraction)
    places = minor_units(build.currency)
    pairs = HandOver.objects.filter(build=build).order_by().values_list("giver_id", "receiver_id")
    for giver, receiver, amount in pairs.annotate(total=Sum("amount")):
        # Finer than the minor unit only where the build changed its currency since.
        whole = Fraction(round_half_up(amount, places))
        over[giver] += whole
        to[receiver] += whole
    return over, to


def list_payments(build: Build) -> QuerySet[HandOver]:
    """Payments, newest first."""
    return HandOver.objects.filter(build=build).select_related("giver", "receiver")


def list_payments_of(build: Build, person: int) -> QuerySet[HandOver]:
    """Payments that somebody made or received, newest first."""
    return list_payments(build).filter(Q(giver=person) | Q(receiver=person))


def sum_payments(rows: QuerySet[HandOver]) -> Decimal | None:
    """The sum of all payments."""
    total: Decimal | None = rows.order_by().aggregate(total=Sum("amount"))["total"]
    return total


def list_payerless(build: Build) -> QuerySet[Purchase]:
    """Received purchases that cost something and name no payer, the most expensive first."""
    return (
        Purchase.objects.filter(build=build, state=State.RECEIVED, paid_by=None)
        .exclude(landed_amount=0, unknown_count=0)
        .select_related("supplier")
        .order_by("-landed_amount", "pk")
    )


def count_unknown_paid(build: Build) -> int:
    """Received lines without a known price in purchases that name a payer."""
    purchases = Purchase.objects.filter(
        ~Q(paid_by=None), build=build, state=State.RECEIVED
    ).order_by()
    return purchases.aggregate(lines=Sum("unknown_count"))["lines"] or 0


def list_weights(build: Build) -> dict[int, Decimal]:
    """Stated share of each person who has one, by the person's key."""
    return dict(Share.objects.filter(build=build).values_list("person_id", "weight"))


def iterate_shares(build: Build) -> Iterator[Share]:
    """Stated shares in the order they were stated."""
    rows = Share.objects.filter(build=build).select_related("person").order_by("pk")
    return rows.iterator(CHUNK)


def iterate_payments(build: Build) -> Iterator[HandOver]:
    """Payments in the order of entry."""
    return list_payments(build).order_by("pk").iterator(CHUNK)
