"""The first account is made by a secret that works once, and never where there is an account."""

import base64

import pytest
from django.contrib.auth import get_user_model
from django.utils import timezone

from materials.models import Attempt
from materials.queries.accounts import is_way_open
from materials.queries.rows import list_kept_models
from materials.services.accounts import ensure_user
from materials.services.errors import LedgerError
from materials.services.first_account import NoWay, make_first_account, open_way
from materials.services.invitations import digest_of

pytestmark = pytest.mark.django_db

NOW = timezone.now()
NEW = {"username": "ann", "password": "green-oak-and-lime"}


def test_the_secret_has_256_bits_and_only_its_digest_is_stored():
    secret = open_way(now=NOW)
    assert len(base64.urlsafe_b64decode(secret + "=")) == 32
    (row,) = Attempt.objects.values("what", "who")
    assert row == {"what": "first account", "who": digest_of(secret)}
    assert is_way_open(digest_of(secret))
    assert not is_way_open(secret)
    assert not is_way_open("")


def test_it_stands_in_no_backup():
    assert Attempt not in list_kept_models()


def test_a_new_start_ends_the_earlier_address():
    first, second = open_way(now=NOW), open_way(now=NOW)
    assert first != second
    assert not is_way_open(digest_of(first))
    with pytest.raises(NoWay):
        make_first_account(digest=digest_of(first), **NEW)
    assert make_first_account(digest=digest_of(second), **NEW).username == "ann"


def test_it_works_once():
    digest = digest_of(open_way(now=NOW))
    make_first_account(digest=digest, **NEW)
    assert not is_way_open(digest)
    with pytest.raises(NoWay):
        make_first_account(digest=digest, **NEW | {"username": "ben"})
    # Nor again when all accounts are gone: the next start prints another.
    get_user_model().objects.all().delete()
    assert not is_way_open(digest)


@pytest.mark.parametrize("is_active", [True, False])
def test_any_account_ends_it_however_it_came_about(is_active):
    digest = digest_of(open_way(now=NOW))
    user, _ = ensure_user(username="ben", password="x")
    get_user_model().objects.filter(pk=user.pk).update(is_active=is_active)
    assert not is_way_open(digest)
    with pytest.raises(NoWay):
        make_first_account(digest=digest, **NEW)
    assert open_way(now=NOW) is None
    assert not Attempt.objects.exists()


def test_a_name_that_cannot_be_does_not_use_it_up(monkeypatch):
    from materials.services import first_account

    def refuse(**typed):
        raise LedgerError("That username is taken: choose another.", "username")

    digest = digest_of(open_way(now=NOW))
    with monkeypatch.context() as patched:
        patched.setattr(first_account, "make_account", refuse)
        with pytest.raises(LedgerError):
            make_first_account(digest=digest, **NEW)
    assert is_way_open(digest)
    assert make_first_account(digest=digest, **NEW)
