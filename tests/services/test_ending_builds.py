"""Deleting a build: all of it and nothing else."""

import pytest
from django.apps import apps
from django.core.files.storage import default_storage
from django.urls import reverse
from django.utils import timezone

from materials.access import NotAllowed
from materials.models import Build, Change, Move
from materials.queries.checks import find_differences
from materials.queries.rows import path_to_build, which_of_build
from materials.services.ending_builds import OTHERS_ARE_IN_IT, delete_build
from materials.services.errors import LedgerError
from materials.services.members import remove_member
from tests.world import once

pytestmark = once("everything", "clients", "other_build")


def rows_of(build: Build) -> dict[str, int]:
    """How many rows of each kind belong to a build."""
    models = [m for m in apps.get_app_config("materials").get_models() if path_to_build(m)]
    found = {m.__name__: m.objects.filter(which_of_build(m, build)).count() for m in models}
    return {name: count for name, count in found.items() if count}


@pytest.fixture
def alone(build, cast, everything, settings, world):
    """The owner's build, of which he is the only member now."""
    settings.MEDIA_ROOT = world.media
    for member in build.members.exclude(user=cast["owner"]):
        remove_member(actor=cast["owner"], build=build, member=member, now=timezone.now())
    return build


def test_all_of_it_goes_and_nothing_else(
    alone, cast, second, other_build, django_capture_on_commit_callbacks
):
    assert len(rows_of(alone)) > 25, "there is a row of nearly every kind"
    folder = f"builds/{alone.pk}"
    assert default_storage.listdir(folder)[1]
    others = {build.pk: rows_of(build) for build in (second, other_build)}
    with django_capture_on_commit_callbacks(execute=True):
        delete_build(actor=cast["owner"], build=alone)
    assert rows_of(alone) == {}
    assert not Build.objects.filter(pk=alone.pk).exists()
    assert default_storage.listdir(folder)[1] == []
    changed = others[second.pk] | {"Change": others[second.pk]["Change"] + 1}
    assert rows_of(second) == changed, "one line more: of what was moved there"
    assert rows_of(other_build) == others[other_build.pk]


def test_what_was_moved_elsewhere_stays_there(alone, cast, second):
    before = Move.objects.get()
    value, quantity = before.value_amount, before.to_qty
    delete_build(actor=cast["owner"], build=alone)
    move = Move.objects.get()
    assert (move.component, move.elsewhere) == (None, "Hill shed")
    assert (move.value_amount, move.to_qty) == (value, quantity)
    assert list(find_differences(second)) == []
    assert Change.objects.filter(build=second, record_type="move").count() == 2


def test_what_came_from_elsewhere_is_told_there(alone, cast, second):
    second.members.exclude(user=cast["owner"]).delete()
    delete_build(actor=cast["owner"], build=second)
    move = Move.objects.get()
    assert (move.to_component, move.elsewhere) == (None, "Tool house")
    assert list(find_differences(alone)) == []


def test_not_while_others_belong_to_it(build, cast, everything):
    with pytest.raises(LedgerError, match=OTHERS_ARE_IN_IT):
        delete_build(actor=cast["owner"], build=build)
    assert Build.objects.filter(pk=build.pk).exists()


def test_only_its_owner(alone, cast):
    with pytest.raises(NotAllowed):
        delete_build(actor=cast["stranger"], build=alone)


# The page


def test_the_page_asks_for_the_name(alone, clients):
    url, owner = reverse("build_delete", args=[alone.pk]), clients["owner"]
    page = owner.get(url).content.decode()
    assert "cannot be undone" in page
    assert reverse("build_file", args=[alone.pk]) in page
    for name in ("", "Hill", "Tool house"):
        assert owner.post(url, {"name": name}).status_code == 422
        assert Build.objects.filter(pk=alone.pk).exists()
    assert owner.post(url, {"name": " hill  SHED "}).url == reverse("builds")
    assert not Build.objects.filter(pk=alone.pk).exists()
    assert owner.get(url).status_code == 404


def test_the_page_says_what_to_do_while_others_belong_to_it(build, clients, everything):
    url = reverse("build_delete", args=[build.pk])
    page = clients["owner"].get(url).content.decode()
    assert "Others belong to this build" in page
    assert reverse("member_owner", args=[build.pk]) in page
    assert clients["owner"].post(url, {"name": "Hill shed"}).status_code == 422
    assert Build.objects.filter(pk=build.pk).exists()
