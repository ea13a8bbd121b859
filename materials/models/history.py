"""Who changed what, when, from what to what."""

from django.db import models

from .builds import Build
from .who_and_when import Signed

# What a kind of record is called on screens, where its name in the history is another.
KIND_WORDS = {
    "left over": "leftovers",
    "move": "transfer",
    "hand-over": "payment",
    "labour": "hours",
}
# The kind of an entry that tells of several changes made in one act.
SEVERAL = "several at once"


def kind_words(kind: str) -> str:
    """What a kind of record is called on screens."""
    return KIND_WORDS.get(kind, kind)


class Change(Signed):
    """One user action on one record: ``before`` and ``after`` hold the record with its parts.

    ``before`` is empty for a new record, ``after`` for a deleted one. Changes of one ``act`` have
    the same mark there.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="changes")
    action = models.CharField(max_length=12)
    record_type = models.CharField(max_length=20)
    record_id = models.BigIntegerField(null=True)
    summary = models.CharField(max_length=300)
    before = models.JSONField(null=True)
    after = models.JSONField(null=True)
    act = models.CharField(max_length=16, blank=True, default="")

    class Meta:
        ordering = ["-pk"]
        indexes = [
            # What the list sorts and filters by: the rows themselves are long.
            models.Index(
                fields=["build", "at", "id", "actor_name", "action", "record_type", "summary"],
                name="change_list",
            ),
            # With what the list is filtered by: a row is far longer than all of these.
            models.Index(
                fields=[
                    "build",
                    "record_type",
                    "record_id",
                    "id",
                    "at",
                    "actor_name",
                    "action",
                ],
                name="change_of_record",
            ),
            models.Index(
                fields=["build", "act", "id"],
                condition=~models.Q(act=""),
                name="change_of_act",
            ),
        ]

    def __str__(self) -> str:
        return self.summary

    @property
    def kind(self) -> str:
        """What the record is called on screens."""
        return kind_words(self.record_type)
