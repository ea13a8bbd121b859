"""The form of a supplier."""

from django import forms

from .base import NOTE, RecordForm


class SupplierForm(RecordForm):
    """Who material comes from."""

    name = forms.CharField(max_length=120, label="Supplier")
    place = forms.CharField(max_length=200, required=False)
    contact = forms.CharField(max_length=200, required=False)
    is_gone = forms.BooleanField(
        required=False,
        label="No longer there",
        help_text=(
            "Its sale is over, or it has closed. The shopping list leaves it out. What you "
            "paid there stays."
        ),
    )
    note = forms.CharField(**NOTE)
