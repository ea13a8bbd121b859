"""Form of a share link."""

from datetime import timedelta
from typing import Any

from django import forms
from django.utils import timezone

from ..queries.sharing import Parts
from ..services.sharing import DEFAULT_DAYS
from .base import RecordForm
from .fields import DayField


def default_end() -> Any:
    """The last day of a link made today, unless somebody says otherwise."""
    return timezone.localdate() + timedelta(days=DEFAULT_DAYS)


class ShareLinkForm(RecordForm):
    """Whom a link is for, what it shows, and until when."""

    label = forms.CharField(
        max_length=80,
        label="For whom",
        help_text="For your own list. The page does not show it.",
    )
    shows_prices = forms.BooleanField(
        required=False,
        initial=True,
        label="Show prices",
        help_text=(
            "Unit costs, cost, budget and savings. Without it the page shows quantities, "
            "hours and what is still needed, but no money."
        ),
    )
    shows_suppliers = forms.BooleanField(
        required=False,
        label="Show suppliers",
        help_text="Names, places and contacts of everybody you bought from. Notes stay hidden.",
    )
    shows_people = forms.BooleanField(
        required=False,
        label="Show people",
        help_text="Names and hours. With prices also who paid what, and the balances.",
    )
    expires_on = DayField(
        required=False,
        initial=default_end,
        label="Opens until",
        help_text="The last day it opens. If empty: until somebody revokes it.",
    )

    def parts(self) -> Parts:
        """The parts ticked when the form was sent, else those it begins with."""
        names = ("shows_prices", "shows_suppliers", "shows_people")
        return Parts(*(bool(self[name].value()) for name in names))
