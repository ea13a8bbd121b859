"""Who may go where: every address has a row, and a new one without a row fails."""

import re

import pytest
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from materials.models import Change, LeftOver
from materials.services.photos import add_photos
from tests.photo_files import jpeg, sent

READ = {"owner": 200, "co_builder": 200, "viewer": 200, "stranger": 404, "anonymous": 302}
EDIT = {"owner": 200, "co_builder": 200, "viewer": 403, "stranger": 404, "anonymous": 302}
POST_ONLY = {"owner": 405, "co_builder": 405, "viewer": 405, "stranger": 405, "anonymous": 302}
SIGNED_IN = dict.fromkeys(("owner", "co_builder", "viewer", "stranger"), 200) | {"anonymous": 302}
ANYBODY = dict.fromkeys(READ, 200)

# name of the address -> (what GET answers by part, name of the record its pk is of)
ROUTES = {
    "builds": (SIGNED_IN, None),
    "sign_in": (ANYBODY, None),
    "sign_out": (dict.fromkeys(SIGNED_IN, 405) | {"anonymous": 302}, None),
    "build_add": (SIGNED_IN, None),
    "upload_new": (SIGNED_IN, None),
    "cost_sheet": (READ, None),
    "build_edit": (EDIT, None),
    "figure": (READ, None),
    "budget": (READ, None),
    "elements": (READ, None),
    "element_add": (EDIT, None),
    "element_edit": (EDIT, "element"),
    "needed": (READ, None),
    "cautions": (READ, None),
    "caution_deal": (EDIT, "component"),
    "components": (READ, None),
    "component_add": (EDIT, None),
    "component": (READ, "component"),
    "component_edit": (EDIT, "component"),
    "prices": (READ, None),
    "price_add": (EDIT, None),
    "price_edit": (EDIT, "price"),
    "suppliers": (READ, None),
    "supplier_add": (EDIT, None),
    "supplier_edit": (EDIT, "supplier"),
    "purchases": (READ, None),
    "purchase_lines": (READ, None),
    "log": (EDIT, None),
    "purchase_add": (EDIT, None),
    "purchase_state": (POST_ONLY, "purchase"),
    "purchase": (READ, "purchase"),
    "purchase_edit": (EDIT, "purchase"),
    "conversions": (READ, None),
    "conversion_add": (EDIT, None),
    "conversion_edit": (EDIT, "conversion"),
    "left_over": (READ, None),
    "stock_take": (EDIT, None),
    "left_over_add": (EDIT, None),
    "left_over_edit": (EDIT, "left-over"),
    "tasks": (READ, None),
    "task_add": (EDIT, None),
    "task_edit": (EDIT, "task"),
    "labour": (READ, None),
    "hours_report": (READ, None),
    "timer": (EDIT, None),
    "labour_add": (EDIT, None),
    "labour_edit": (EDIT, "labour"),
    "photo": (READ, "photo"),
    "photo_small": (READ, "photo"),
    "photo_edit": (EDIT, "photo"),
    "photo_delete": (EDIT, "photo"),
    "photos": (READ, "purchase"),
    "photo_add": (EDIT, "purchase"),
    "record_delete": (EDIT, "purchase"),
    "history": (READ, None),
    "change": (READ, "change"),
    "change_undo": (POST_ONLY, "change"),
    "upload": (EDIT, None),
    "download": (READ, None),
    "downloads": (READ, None),
    "download_tables": (READ, None),
    "download_table": (READ, None),
}
OF_BUILD = [
    name
    for name, (_, _) in ROUTES.items()
    if name not in {"builds", "sign_in", "sign_out", "build_add", "upload_new"}
]


@pytest.fixture
def records(records, entries, settings, tmp_path):
    """The records of a build, and a photo of its purchase."""
    settings.MEDIA_ROOT = tmp_path
    photos = add_photos(**entries.by, record=records["purchase"], files=[sent(jpeg())])
    return records | {"photo": photos[0]}


def all_names(patterns=None) -> set[str]:
    """Names of all addresses the resolver knows."""
    names = set()
    for entry in get_resolver().url_patterns if patterns is None else patterns:
        if isinstance(entry, URLResolver):
            names |= all_names(entry.url_patterns)
        elif isinstance(entry, URLPattern):
            names.add(entry.name or str(entry.pattern))
    return names


def address(name: str, build, records) -> str:
    """The address of a route for a build and its record."""
    kind = ROUTES[name][1]
    if name not in OF_BUILD:
        return reverse(name)
    if name == "caution_deal":
        return reverse(name, args=[build.pk, "old-paint", records[kind].pk])
    if name == "download_table":
        return reverse(name, args=[build.pk, "left-over"])
    if name == "figure":
        return reverse(name, args=[build.pk, "spent"])
    if name in ("record_delete", "photos", "photo_add"):
        return reverse(name, args=[build.pk, kind, records[kind].pk])
    return reverse(name, args=[build.pk, *([records[kind].pk] if kind else [])])


def test_every_address_has_a_row():
    assert all_names() == set(ROUTES)


@pytest.mark.parametrize("name", sorted(ROUTES))
def test_get_answers_each_part_as_it_should(name, clients, build, records):
    url = address(name, build, records)
    answers = {part: client.get(url).status_code for part, client in clients.items()}
    assert answers == ROUTES[name][0]


@pytest.mark.parametrize("name", sorted(n for n in OF_BUILD if ROUTES[n][0] is not READ))
def test_post_changes_nothing_for_those_who_may_not(name, clients, build, records):
    url = address(name, build, records)
    before = Change.objects.count()
    assert clients["viewer"].post(url, {}).status_code == 403
    assert clients["stranger"].post(url, {}).status_code == 404
    assert clients["anonymous"].post(url, {}).status_code == 302
    assert Change.objects.count() == before


@pytest.mark.parametrize("name", sorted(n for n in OF_BUILD if ROUTES[n][1]))
def test_a_record_of_another_build_is_not_found(name, clients, build, other_build, records):
    """The stranger owns a build, and asks through it for a record of somebody else's."""
    url = address(name, other_build, records)
    stranger = clients["stranger"]
    method = stranger.post if ROUTES[name][0] is POST_ONLY else stranger.get
    assert method(url).status_code == 404


@pytest.mark.parametrize(
    "pk", ["0", "999999", "9" * 30], ids=["zero", "absent", "beyond any integer"]
)
def test_a_record_that_is_not_there_is_not_found(pk, clients, build):
    owner = clients["owner"]
    for path in ("components", "purchases", "hours", "conversions", "history"):
        assert owner.get(f"/builds/{build.pk}/{path}/{pk}/").status_code == 404
    assert owner.get(f"/builds/{pk}/").status_code == 404


def test_a_choice_of_another_build_is_refused(clients, cast, build, other_build, add_component):
    """Choices are narrowed too: a component of another build cannot be bought for this one."""
    foreign = add_component(other_build, "Foreign")
    answer = clients["owner"].post(
        reverse("left_over_add", args=[build.pk]),
        {
            "noted_on": "2026-05-04",
            "component": foreign.pk,
            "quantity_text": "1 piece",
            "fate": "scrapped",
        },
    )
    assert answer.status_code == 422
    assert not LeftOver.objects.exists()
    assert "Foreign" not in re.sub(r"<[^>]+>", "", answer.content.decode())
