"""So many tries within a time, counted in the database."""

from datetime import timedelta

import pytest
from django.utils import timezone

from materials.models import Attempt
from materials.services.attempt_limits import (
    Growing,
    Limit,
    TooMany,
    check_limit,
    count_attempt,
    count_growing,
    forget_attempts,
)

NOW = timezone.now()
THREE = Limit("trying", 3, timedelta(minutes=10))
pytestmark = pytest.mark.django_db


def after(minutes: int) -> dict:
    return {"limit": THREE, "at": NOW + timedelta(minutes=minutes)}


def test_three_are_allowed_and_the_fourth_is_told_when():
    for minute in (0, 1, 2):
        check_limit(**after(minute), who="a")
        count_attempt(**after(minute), who="a")
    with pytest.raises(TooMany) as error:
        count_attempt(**after(3), who="a")
    assert error.value.until == NOW + timedelta(minutes=10)
    with pytest.raises(TooMany) as error:
        check_limit(**after(3), who="a")
    assert error.value.until == NOW + timedelta(minutes=10)


def test_others_are_not_counted():
    for _ in range(3):
        count_attempt(**after(0), who="a")
    count_attempt(**after(0), who="b")
    count_attempt(limit=Limit("else", 3, timedelta(minutes=10)), who="a", at=NOW)


def test_when_the_time_is_over_one_may_again():
    for minute in (0, 5, 5):
        count_attempt(**after(minute), who="a")
    with pytest.raises(TooMany):
        count_attempt(**after(9), who="a")
    count_attempt(**after(10), who="a")
    with pytest.raises(TooMany) as error:
        count_attempt(**after(11), who="a")
    assert error.value.until == NOW + timedelta(minutes=15)


def test_being_refused_does_not_make_it_longer():
    for _ in range(3):
        count_attempt(**after(0), who="a")
    for minute in range(1, 10):
        with pytest.raises(TooMany):
            count_attempt(**after(minute), who="a")
    count_attempt(**after(10), who="a")


def test_what_no_longer_counts_is_not_kept():
    for who in "abc":
        count_attempt(**after(0), who=who)
    count_attempt(**after(20), who="d")
    assert Attempt.objects.count() == 1


def test_of_growing_waits_too_what_no_longer_counts_is_not_kept():
    growing = Growing("guess", 6, timedelta(minutes=1), timedelta(hours=1), timedelta(days=2))
    for who in "abc":
        count_growing(limit=growing, who=who, at=NOW)
    count_growing(limit=growing, who="d", at=NOW + timedelta(days=3))
    assert Attempt.objects.count() == 1


def test_forgetting():
    for _ in range(3):
        count_attempt(**after(0), who="a")
    forget_attempts(limit=THREE, who="a")
    check_limit(**after(1), who="a")
