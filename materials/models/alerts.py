"""How a member is told of deadlines, and what he was told by mail."""

from django.db import models
from django.db.models import Q

from .builds import Member
from .purchases import Purchase


class Alerts(models.Model):
    """One member's ways to be told: a private calendar address, a mail the day before.

    Of the address only the SHA-256 of its secret is kept; without one there is no address.
    ``site`` is where the member ticked the mail: links in it lead there. The row goes with the
    membership, and the address with it. No fact of the build: it stands in no history.
    """

    member = models.OneToOneField(Member, on_delete=models.CASCADE, related_name="alerts")
    token_hash = models.CharField(max_length=64, unique=True, null=True, blank=True)
    made_at = models.DateTimeField(null=True, blank=True)
    last_opened_at = models.DateTimeField(null=True, blank=True)
    opened_count = models.PositiveIntegerField(default=0)
    wants_mail = models.BooleanField(default=False)
    site = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(token_hash__isnull=True) | Q(made_at__isnull=False),
                name="calendar_address_has_a_day",
            ),
        ]

    def __str__(self) -> str:
        return f"Alerts of {self.member}"


class Reminder(models.Model):
    """A mail about one deadline of one member: at most one for each moment it is due.

    It is claimed before the mail is sent, so that of two runs at once one sends; a claim that
    never became a mail runs out (``services.reminders``).
    """

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="reminders")
    purchase = models.ForeignKey(Purchase, on_delete=models.CASCADE, related_name="reminders")
    due_at = models.DateTimeField()
    claimed_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["member", "purchase", "due_at"], name="one_reminder_per_deadline"
            ),
        ]

    def __str__(self) -> str:
        return f"Reminder of {self.purchase} to {self.member}"
