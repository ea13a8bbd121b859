"""Reading when a locked sign-in opens again."""

from datetime import datetime

from axes.models import AccessAttempt
from django.conf import settings
from django.utils import timezone


def locked_until(username: str, address: str) -> datetime | None:
    """When a name may be tried again from an address; None when nothing failed there."""
    # One from before the clock was set back may lie far ahead, and does not count.
    end = timezone.now() + settings.AXES_COOLOFF_TIME
    tried = AccessAttempt.objects.filter(
        username=username, ip_address=address, attempt_time__lt=end
    )
    last = tried.order_by("-attempt_time").values_list("attempt_time", flat=True).first()
    return None if last is None else last + settings.AXES_COOLOFF_TIME
