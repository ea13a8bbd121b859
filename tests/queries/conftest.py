"""On a slow machine more than a minute may pass, after which a link that is opened is noted."""

from datetime import timedelta

import pytest


@pytest.fixture(autouse=True)
def noted_already(monkeypatch):
    monkeypatch.setattr("materials.services.sharing.OPENING", timedelta(days=1))
