"""What a phone said it kept is neither lost nor doubled, whatever was killed; a day is a day.

Here a few; ``PHONES=200`` makes it so many kills of each, and ``DAYS=50`` so many days,
``EXAMPLES=10`` each of 60 entries.
"""

import os

import pytest

from tests.faults.phones import kill_phones, live_a_day
from tests.faults.served import Parent
from tests.own_database import own_database
from tests.searches import TIMES

pytestmark = [pytest.mark.database, pytest.mark.browser]
LONG = pytest.mark.slow


@pytest.fixture
def parent(tmp_path):
    """A server of its own that can be killed."""
    with own_database(tmp_path, made=True) as env:
        made = Parent(env, tmp_path)
        yield made
        made.end()


@pytest.mark.parametrize("victim", [pytest.param("browser", marks=LONG), "server"])
@pytest.mark.parametrize(
    "moments", [2, pytest.param(int(os.environ.get("PHONES", "5")), marks=LONG)]
)
def test_what_was_said_to_be_kept_is_there_once(playwright, parent, tmp_path, victim, moments):
    phone, wrong = kill_phones(playwright, parent, tmp_path, moments, 7 + moments, victim)
    assert wrong == []
    assert len(phone.told) >= moments // 2


@pytest.mark.parametrize(
    ("seed", "entries"),
    [
        (1, 5),
        *(
            pytest.param(day, 20 + 4 * TIMES, marks=LONG)
            for day in range(int(os.environ.get("DAYS", "1")))
        ),
    ],
)
def test_a_day_at_a_signal_that_comes_and_goes_is_as_one_online(
    playwright, parent, tmp_path, seed, entries
):
    phone, wrong = live_a_day(playwright, parent, tmp_path, entries, seed)
    assert wrong == []
    assert len(phone.told) == entries
