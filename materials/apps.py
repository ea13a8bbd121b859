"""Django application."""

from typing import Any

from django.apps import AppConfig


class MaterialsConfig(AppConfig):
    """The ledger of one or more builds."""

    name = "materials"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have every form say what to do about an empty field, and let the tools register.

        In that order: a field keeps what was said when its form was read.
        """
        from django import forms

        from .tools import register_tools

        forms.Field.default_error_messages["required"] = "Fill this in."
        for field in (forms.ChoiceField, forms.ModelChoiceField):
            field.default_error_messages["required"] = "Choose one of these."
        several: tuple[Any, ...] = (forms.MultipleChoiceField, forms.ModelMultipleChoiceField)
        for field in several:
            field.default_error_messages["required"] = "Tick at least one."
        register_tools()
