"""The owner at the pages of a build that holds one record of each kind."""

import pytest
from django.test import Client

from tests.views.screens import Screens


@pytest.fixture
def owner(cast) -> Client:
    """The owner's browser."""
    client = Client()
    client.force_login(cast["owner"])
    return client


@pytest.fixture
def screens(owner, build, records) -> Screens:
    """The owner at the build's pages."""
    return Screens(owner, build.pk)
