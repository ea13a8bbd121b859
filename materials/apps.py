"""Django application."""

from django.apps import AppConfig


class MaterialsConfig(AppConfig):
    """The ledger of one or more builds."""

    name = "materials"
    default_auto_field = "django.db.models.BigAutoField"
