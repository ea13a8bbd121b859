"""Form of the mail before deadlines."""

from django import forms

from .base import TidyForm


class MailForm(TidyForm):
    """Whether a member wants mail before deadlines."""

    wants_mail = forms.BooleanField(
        required=False,
        label="Mail me the day before",
        help_text="When an offer of this build ends, or something ordered must be fetched.",
    )
