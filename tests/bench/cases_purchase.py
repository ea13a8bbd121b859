"""Case e: one logged purchase against a bare transaction that inserts the same rows."""

import itertools
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection, models, transaction
from django.urls import reverse

from materials.models import Build, Change, Charge, Purchase, PurchaseLine, SentForm
from materials.templatetags.form_tokens import NAME as TOKEN

from .measure import Row, figure_row, in_turn, median_ratio, ratio_row
from .world import World

# What a logged purchase writes that was not there before; the sums it changes are updates.
WRITTEN: tuple[type[models.Model], ...] = (Purchase, PurchaseLine, Charge, Change, SentForm)
TYPED = {
    "what": "Component 3",
    "quantity_text": "12 pieces",
    "price": "1.20",
    "price_for": "each",
    "source": "salvage",
    "supplier": "Yard 4",
    "bought_on": "2026-03-04",
    "state": "received",
    "paid_by": "Ann",
    "tax_percent": "6.75",
    "usable_percent": "100",
}


class Logger:
    """Logs one purchase after another through the short form's page."""

    def __init__(self, world: World, build: Build):
        self.client, self.url = world.client, reverse("log", args=[build.pk])
        self.numbers = itertools.count()
        self.name = f"bench{build.pk}"

    def __call__(self) -> None:
        # Each a form of its own, as a page that was just shown is.
        token = f"{self.name}-{next(self.numbers):012}"
        answer = self.client.post(self.url, TYPED | {TOKEN: token})
        assert answer.status_code == 302, answer.content[:2000]


class BareInsert:
    """Inserts rows equal to those of one logged purchase, in one transaction."""

    def __init__(self, log: Logger):
        before = {model: self._highest(model) for model in WRITTEN}
        log()
        self.rows: list[models.Model] = []
        for model in WRITTEN:
            self.rows += model._default_manager.filter(pk__gt=before[model]).order_by("pk")
        self.numbers = itertools.count()

    @staticmethod
    def _highest(model: type[models.Model]) -> int:
        found = model._default_manager.aggregate(highest=models.Max("pk"))["highest"]
        return found or 0

    def __call__(self) -> None:
        number = next(self.numbers)
        with transaction.atomic():
            purchase: Any = None
            for row in self.rows:
                row.pk = None
                row._state.adding = True
                if isinstance(row, Purchase):
                    # Ends in no digit: no series that a logged one would count on.
                    row.number, purchase = f"bare {number}x", row
                elif isinstance(row, SentForm):
                    row.token = f"bare-insert-{purchase.pk}-{number}"
                elif hasattr(row, "purchase"):
                    row.purchase = purchase
                row.save(force_insert=True)


@contextmanager
def not_waiting_for_the_disk() -> Iterator[None]:
    """Commits that do not wait until they are on the disk: what remains is all but fsync."""
    sqlite = connection.vendor == "sqlite"
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous=OFF" if sqlite else "SET synchronous_commit = off")
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA synchronous=FULL" if sqlite else "SET synchronous_commit = on")


def run_purchase(world: World) -> Iterator[Row]:
    """A purchase from POST to committed: against bare rows, its share of fsync, its growth."""
    short = Logger(world, world.build(world.sizes[0]))
    long = Logger(world, world.build(world.sizes[-1]))
    runs = 3 if world.is_quick else 5 * world.runs
    pairs = in_turn(long, BareInsert(long), runs)
    what = f"purchase logged among {world.sizes[-1]:,} lines / bare INSERT of its rows"
    yield ratio_row("purchase", what, pairs)

    def hurried() -> None:
        long()

    shares = []
    for _ in range(runs):
        (waited,) = in_turn(long, lambda: None, 1, warm=False)
        with not_waiting_for_the_disk():
            (not_waited,) = in_turn(hurried, lambda: None, 1, warm=False)
        shares.append(100 * max(0.0, 1 - not_waited[0] / waited[0]))
    yield figure_row("purchase", "share of that purchase that waits for the disk", shares, "%")
    grown = in_turn(long, short, runs)
    assert median_ratio(grown) > 0
    what = f"purchase among {world.sizes[-1]:,} lines / among {world.sizes[0]:,}"
    yield ratio_row("purchase", what, grown, world.limit(1.2))
