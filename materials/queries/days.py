"""Which days have come.

A day more than the server's today is allowed, for people elsewhere. Labour, received purchases,
conversions, left over, lessons and counts refuse a later day in forms, services and workbooks. A
person has at most 24 hours a day, checked by ``services.labour`` under the build's lock.
"""

from datetime import date, timedelta

from django.utils import timezone


def has_begun(day: date, today: date | None = None) -> bool:
    """Whether a day has begun anywhere by now; ``today`` is the server's, unless given.

    Where the user lives it may be tomorrow already when it is still today for the server.
    """
    return day <= (today or timezone.localdate()) + timedelta(days=1)


# What is said of a day that has not come, by what is recorded of it.
NOT_YET_RECEIVED = (
    "That day has not come yet. Choose the state Ordered for what is on its way, or fix the date."
)
NOT_YET_WORKED = "That day has not come yet. Log hours once they are worked, or fix the date."
NOT_YET_CONVERTED = "That day has not come yet. Log a conversion once it is done, or fix the date."
NOT_YET_LEFT = "That day has not come yet. Add leftovers once they are there, or fix the date."
NOT_YET_LEARNED = "That day has not come yet. Enter the day on which it was learned."
NOT_YET_COUNTED = "That day has not come yet. Enter the day of the count."
