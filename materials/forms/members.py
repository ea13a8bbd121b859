"""Forms of members and invitations."""

from datetime import datetime
from typing import Any

from django import forms

from ..choices import INVITED_ROLES, Role
from ..models import Member
from ..queries.members import list_free_persons, list_members
from ..services.invitations import DAYS, DEFAULT_DAYS
from .base import RecordForm

ROLE_HELP = "A co-builder records and changes things. A viewer only reads."
NEW, NOBODY = "new", "nobody"


class InviteForm(RecordForm):
    """For whom, as what, and for how long."""

    role = forms.ChoiceField(
        choices=INVITED_ROLES,
        initial=Role.CO_BUILDER,
        label="Role",
        help_text=ROLE_HELP,
        widget=forms.RadioSelect,
    )
    note = forms.CharField(
        max_length=80,
        required=False,
        label="For whom",
        help_text="Helps you tell invitations apart. Only members see it.",
    )
    days = forms.TypedChoiceField(
        choices=[(days, "1 day" if days == 1 else f"{days} days") for days in DAYS],
        coerce=int,
        initial=DEFAULT_DAYS,
        label="Valid for",
    )


class RoleForm(RecordForm):
    """A member's role."""

    role = forms.ChoiceField(
        choices=Role.choices,
        label="Role",
        help_text=f"{ROLE_HELP} An owner also invites, removes, and changes roles.",
        widget=forms.RadioSelect,
    )


class NewOwnerForm(RecordForm):
    """The next owner."""

    member = forms.ModelChoiceField(queryset=None, label="The new owner", empty_label="Choose")

    def __init__(self, *args: Any, own: Member | None, **kwargs: Any):
        self.own = own
        super().__init__(*args, **kwargs)

    def set_choices(self) -> None:
        members = list_members(self.build)
        field = self.fields["member"]
        field.queryset = members.exclude(pk=self.own.pk) if self.own is not None else members
        field.label_from_instance = lambda member: f"{member.user} ({member.get_role_display()})"


class PersonForm(RecordForm):
    """Which of the build's people somebody is; one that may not edit picks, and adds nobody."""

    person = forms.ChoiceField(
        label="Your name in this build's records",
        help_text="We fill it in for you as payer and worker.",
    )
    name = forms.CharField(
        max_length=80, required=False, label="Your name there", help_text="Only for a new person."
    )

    def __init__(
        self,
        *args: Any,
        role: str,
        shown: str = "",
        member: Member | None = None,
        **kwargs: Any,
    ):
        self.adds, self.shown, self.member = role != Role.VIEWER, shown, member
        super().__init__(*args, **kwargs)

    def set_choices(self) -> None:
        free = list(list_free_persons(self.build, self.member))
        choices = [(str(person.pk), person.name) for person in free]
        same = [key for key, name in choices if name.casefold() == self.shown.casefold()]
        if self.adds:
            choices = [*choices, (NEW, "Somebody new")]
            self.initial.setdefault("name", self.shown[:80])
        else:
            del self.fields["name"]
        self.fields["person"].choices = [*choices, (NOBODY, "Leave it open")]
        if self.member is not None and self.member.person_id is not None:
            start = str(self.member.person_id)
        elif same:
            start = same[0]
        else:
            start = NEW if self.adds and self.member is None else NOBODY
        self.initial.setdefault("person", start)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("person") == NEW and not cleaned.get("name"):
            self.add_error("name", "Enter your name in the records.")
        return cleaned

    def choice(self) -> dict[str, Any]:
        """What services.members.link_person takes."""
        picked = self.cleaned_data["person"]
        if picked == NEW:
            return {"person_name": self.cleaned_data["name"]}
        return {"person_pk": int(picked)} if picked != NOBODY else {}


def days_left(until: datetime, now: datetime) -> int:
    """Whole days until a moment, the begun one counted."""
    return max(0, -(-int((until - now).total_seconds()) // 86400))
