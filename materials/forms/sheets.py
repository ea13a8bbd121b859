"""What is asked for a sheet."""

from django import forms

from .fields import DayField


class PricesOnForm(forms.Form):
    """The day whose new prices count."""

    on = DayField(
        label="New prices known on",
        help_text="The newest price of each component up to this day counts.",
    )
