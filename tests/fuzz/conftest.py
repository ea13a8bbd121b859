"""The world that cases begin with, made once for all of them."""

import pytest
from django.db import transaction
from django.test import override_settings

from .running import Runner, as_in_use


@pytest.fixture(scope="package")
def runner(django_db_setup, django_db_blocker, tmp_path_factory):
    """Runs cases, each rolled back; all of it is rolled back at the end."""
    folder = tmp_path_factory.mktemp("media")
    with (
        django_db_blocker.unblock(),
        override_settings(MEDIA_ROOT=folder),
        transaction.atomic(),
        as_in_use(),
    ):
        yield Runner()
        transaction.set_rollback(True)
