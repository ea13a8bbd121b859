"""Who changed what, when, from what to what."""

from django.db import models

from .builds import Build
from .signed import Signed


class Change(Signed):
    """One user action on one record: ``before`` and ``after`` hold the record with its parts.

    ``before`` is empty for a new record, ``after`` for a deleted one.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="changes")
    action = models.CharField(max_length=12)
    record_type = models.CharField(max_length=20)
    record_id = models.BigIntegerField(null=True)
    summary = models.CharField(max_length=300)
    before = models.JSONField(null=True)
    after = models.JSONField(null=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self):
        return self.summary
