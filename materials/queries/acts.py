"""Reading acts of several changes: the one entry that tells of the whole, and its parts."""

from django.db.models import QuerySet

from ..models import Change
from ..models.history import SEVERAL
from .records import list_changes

# So many parts are listed under the whole; all of them stand in the history.
LISTED = 100


def is_whole(change: Change) -> bool:
    """Whether an entry tells of an act as a whole."""
    return bool(change.act) and change.record_type == SEVERAL


def whole_of(change: Change) -> Change | None:
    """The entry that tells of the act a change belongs to; None where it stands by itself."""
    if not change.act or is_whole(change):
        return None
    return list_changes(change.build).filter(record_type=SEVERAL, act=change.act).first()


def parts_of(change: Change) -> QuerySet[Change]:
    """The changes of the act that one belongs to or tells of, the last first."""
    if not change.act:
        return Change.objects.none()
    of_act = list_changes(change.build).filter(act=change.act)
    return of_act.exclude(record_type=SEVERAL).order_by("-pk")
