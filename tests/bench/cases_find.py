"""Case: finding by words in a long ledger, against a page of its list of purchases."""

from collections.abc import Iterator

from django.urls import reverse

from .cases_lists import fetch
from .measure import Row, in_turn, ratio_row
from .world import World

LIMIT = 5
# Found at once, found nowhere as typed (everything is searched twice), and two words.
WORDS = ("plank", "zzyzzyx", "plank yard")


def run_find(world: World) -> Iterator[Row]:
    """One row for each of what is typed."""
    client, build = world.client, world.build(world.sizes[-1])
    listed = reverse("purchases", args=[build.pk])
    for words in WORDS:
        url = reverse("search", args=[build.pk]) + f"?q={words.replace(' ', '+')}"
        pairs = in_turn(
            lambda url=url: fetch(client, url), lambda: fetch(client, listed), world.runs
        )
        what = f"search for “{words}” / page of purchases, {world.sizes[-1]:,} lines"
        yield ratio_row("find", what, pairs, world.limit(LIMIT))
