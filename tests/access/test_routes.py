"""Who may go where: every address has a row, and a new one without a row fails."""

import re

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from materials.models import Change, LeftOver
from tests.answers import status
from tests.world import once


def opens_a_link(world) -> None:
    """Among the clients, somebody who has opened a share link and nothing else."""
    visitor = world.clients["share_link"] = Client()
    url = reverse("shared", args=[world.everything["share_token"]])
    assert visitor.get(url).status_code == 200


pytestmark = once("left_build", "everything", "other_build", "clients", opens_a_link)
PARTS = ("owner", "co_builder", "viewer", "stranger", "removed", "anonymous", "share_link")


def answers(*codes: int) -> dict[str, int]:
    """What each part is answered, in the order of PARTS.

    Who came by a share link is nobody anywhere else.
    """
    return dict(zip(PARTS, (*codes, codes[-1]), strict=True))


READ = answers(200, 200, 200, 404, 404, 302)
EDIT = answers(200, 200, 403, 404, 404, 302)
OWN = answers(200, 403, 403, 404, 404, 302)
# Nobody gets these: what a POST may do is asked when there is one.
POST_ONLY = answers(405, 405, 405, 405, 405, 302)
OWN_POST_ONLY = dict(POST_ONLY)
SIGNED_IN = answers(200, 200, 200, 200, 200, 302)
ANYBODY = answers(200, 200, 200, 200, 200, 200)
# A script is told that it is signed out, and led nowhere.
TICKET = answers(200, 200, 200, 200, 200, 401)
# Where no second step is on, or none is asked for.
LEADS_ON = answers(302, 302, 302, 302, 302, 302)
# Without an invitation, a link of which there is none, a reset link that nobody made, the first
# account where there are some, open sign-up where nobody opened it.
NOTHING = answers(404, 404, 404, 404, 404, 404)

# name of the address -> (what GET answers by part, name of the record its pk is of)
ROUTES = {
    "builds": (SIGNED_IN, None),
    "sign_in": (ANYBODY, None),
    "sign_out": (POST_ONLY, None),
    "health": (ANYBODY, None),
    "outbox": (TICKET, None),
    "offline": (ANYBODY, None),
    "worker": (ANYBODY, None),
    "manifest": (ANYBODY, None),
    "sign_in_code": (LEADS_ON, None),
    "account": (SIGNED_IN, None),
    "sessions": (SIGNED_IN, None),
    "account_log": (SIGNED_IN, None),
    "second_step": (SIGNED_IN, None),
    "second_step_on": (SIGNED_IN, None),
    "second_step_off": (LEADS_ON, None),
    "recovery_codes": (LEADS_ON, None),
    "passkey_add": (LEADS_ON, None),
    "passkey_remove": (LEADS_ON, None),
    "account_export": (SIGNED_IN, None),
    "account_delete": (SIGNED_IN, None),
    "password_change": (SIGNED_IN, None),
    "password_forgotten": (ANYBODY, None),
    "password_new": (NOTHING, None),
    "join": (NOTHING, None),
    "join_account": (NOTHING, None),
    "join_link": (NOTHING, None),
    "first_account": (NOTHING, None),
    "first_link": (NOTHING, None),
    "sign_up": (NOTHING, None),
    "build_add": (SIGNED_IN, None),
    "upload_new": (SIGNED_IN, None),
    "build_file_new": (SIGNED_IN, None),
    "compare": (SIGNED_IN, None),
    "home": (READ, None),
    "search": (READ, None),
    "search_builds": (SIGNED_IN, None),
    "cost_sheet": (READ, None),
    "yard": (READ, None),
    "build_edit": (EDIT, None),
    "build_archive": (OWN, None),
    "build_delete": (OWN, None),
    "figure": (READ, None),
    "budget": (READ, None),
    "elements": (READ, None),
    "element_add": (EDIT, None),
    "element": (READ, "element"),
    "element_edit": (EDIT, "element"),
    "cost_basis": (READ, None),
    "replacement": (READ, None),
    "landfill": (READ, None),
    "estimates": (READ, None),
    "estimate_add": (EDIT, None),
    "estimate": (READ, "estimate"),
    "estimate_use": (EDIT, "estimate"),
    "needed": (READ, None),
    "sourcing": (READ, None),
    "cautions": (READ, None),
    "caution_deal": (EDIT, None),
    "takeoffs": (READ, None),
    "takeoff_shapes": (EDIT, None),
    "takeoff_add": (EDIT, None),
    "takeoff": (READ, "takeoff"),
    "takeoff_edit": (EDIT, "takeoff"),
    "takeoff_use": (EDIT, "takeoff"),
    "takeoff_use_remove": (POST_ONLY, "takeoff"),
    "components": (READ, None),
    "compared": (READ, None),
    "component_add": (EDIT, None),
    "component": (READ, "component"),
    "component_edit": (EDIT, "component"),
    "prices": (READ, None),
    "price_add": (EDIT, None),
    "price_edit": (EDIT, "price"),
    "suppliers": (READ, None),
    "supplier_add": (EDIT, None),
    "supplier": (READ, "supplier"),
    "supplier_edit": (EDIT, "supplier"),
    "purchases": (READ, None),
    "purchase_lines": (READ, None),
    "lines_change": (EDIT, None),
    "log": (EDIT, None),
    "purchase_add": (EDIT, None),
    "purchase_state": (POST_ONLY, "purchase"),
    "purchase": (READ, "purchase"),
    "purchase_edit": (EDIT, "purchase"),
    "deadlines": (READ, None),
    "calendar_make": (READ, None),
    "calendar_revoke": (READ, None),
    "deadline_mail": (READ, None),
    "calendar": (ANYBODY, "calendar_token"),
    "conversions": (READ, None),
    "conversion_add": (EDIT, None),
    "conversion_edit": (EDIT, "conversion"),
    "ways": (READ, None),
    "way_to_make_add": (EDIT, None),
    "way_to_make_edit": (EDIT, "way-to-make"),
    "lessons": (READ, None),
    "lesson_add": (EDIT, None),
    "lesson": (READ, "lesson"),
    "lesson_edit": (EDIT, "lesson"),
    "cutting_plans": (READ, None),
    "cutting_plan_add": (EDIT, None),
    "cutting_plan": (READ, "cutting-plan"),
    "cutting_plan_edit": (EDIT, "cutting-plan"),
    "cutting_plan_take": (EDIT, "cutting-plan"),
    "left_over": (READ, None),
    "stock_take": (EDIT, None),
    "left_over_add": (EDIT, None),
    "left_over_edit": (EDIT, "left-over"),
    "moves": (READ, None),
    "move_add": (EDIT, None),
    "move": (READ, "move"),
    "move_edit": (EDIT, "move"),
    "life_choices": (READ, None),
    "life_choice_add": (EDIT, None),
    "life_choice": (READ, "life-choice"),
    "life_choice_edit": (EDIT, "life-choice"),
    "cost_indexes": (READ, None),
    "cost_index_add": (EDIT, None),
    "cost_index_edit": (EDIT, "cost-index"),
    "tasks": (READ, None),
    "task_add": (EDIT, None),
    "task": (READ, "task"),
    "task_edit": (EDIT, "task"),
    "person": (READ, "person"),
    "labour": (READ, None),
    "hours_report": (READ, None),
    "timer": (EDIT, None),
    "labour_add": (EDIT, None),
    "labour_edit": (EDIT, "labour"),
    "settling_up": (READ, None),
    "payment_record": (POST_ONLY, None),
    "shares_edit": (EDIT, None),
    "hand_overs": (READ, None),
    "hand_over_add": (EDIT, None),
    "hand_over_edit": (EDIT, "hand-over"),
    "pile": (READ, None),
    "pile_add": (EDIT, None),
    "photo": (READ, "photo"),
    "photo_small": (READ, "photo"),
    "photo_edit": (EDIT, "photo"),
    "photo_delete": (EDIT, "photo"),
    "photos": (READ, "purchase"),
    "photo_add": (EDIT, "purchase"),
    "record_delete": (EDIT, "purchase"),
    "history": (READ, None),
    "record_history": (READ, "purchase"),
    "change": (READ, "change"),
    "change_undo": (POST_ONLY, "change"),
    "share_links": (EDIT, None),
    "share_add": (OWN, None),
    "share_edit": (OWN, "share"),
    "share_revoke": (EDIT, "share"),
    "shared": (ANYBODY, "share_token"),
    "members": (READ, None),
    "member_invite": (OWN, None),
    "member_owner": (OWN, None),
    "member_person": (READ, None),
    "member_leave": (READ, None),
    "member_role": (OWN, "member"),
    "member_remove": (OWN, "member"),
    "invitation_revoke": (OWN_POST_ONLY, "invitation"),
    "imports": (EDIT, None),
    "import_table": (EDIT, "import"),
    "import_columns": (EDIT, "import"),
    "import_names": (EDIT, "import"),
    "import_rows": (EDIT, "import"),
    "import_row": (EDIT, "import"),
    "import_run": (EDIT, "import"),
    # A table that came as text is given back to nobody.
    "import_marked": (answers(302, 302, 403, 404, 404, 302), "import"),
    "import_drop": (EDIT, "import"),
    "upload": (EDIT, None),
    "download": (READ, None),
    "build_file": (READ, None),
    "downloads": (READ, None),
    "download_tables": (READ, None),
    "download_table": (READ, None),
}
NOT_OF_BUILD = {
    "builds",
    "search_builds",
    "sign_in",
    "sign_out",
    "build_add",
    "upload_new",
    "build_file_new",
    "compare",
    "shared",
    "calendar",
    "health",
    "outbox",
    "offline",
    "worker",
    "manifest",
    "sign_in_code",
    "account",
    "sessions",
    "account_log",
    "second_step",
    "second_step_on",
    "second_step_off",
    "recovery_codes",
    "passkey_add",
    "passkey_remove",
    "account_export",
    "account_delete",
    "password_change",
    "password_forgotten",
    "password_new",
    "join",
    "join_account",
    "join_link",
    "first_account",
    "first_link",
    "sign_up",
}
OF_BUILD = [name for name in ROUTES if name not in NOT_OF_BUILD]


@pytest.fixture
def build(left_build):
    """A build that somebody was a member of."""
    return left_build


@pytest.fixture
def records(everything):
    """One record of each kind that an address is of."""
    return everything


def all_names(patterns=None) -> set[str]:
    """Names of all addresses the resolver knows."""
    names = set()
    for entry in get_resolver().url_patterns if patterns is None else patterns:
        if isinstance(entry, URLResolver):
            names |= all_names(entry.url_patterns)
        elif isinstance(entry, URLPattern):
            names.add(entry.name or str(entry.pattern))
    return names


# What an address takes besides the build and its record, or instead of them.
BESIDE = {
    "caution_deal": ["reused-material"],
    "download_table": ["left-over"],
    "takeoff_add": ["gable-roof"],
    "takeoff_use": ["net"],
    "takeoff_use_remove": [1],
    "figure": ["spent"],
    "import_row": [2],
    "join_link": ["x" * 43],
    "first_link": ["x" * 43],
    "password_new": ["MQ", "x-y"],
    "passkey_remove": [1],
}
OF_ANY_KIND = {"record_delete", "record_history", "photos", "photo_add"}


def address(name: str, build, records) -> str:
    """The address of a route for a build and its record."""
    kind = ROUTES[name][1]
    if name in ("shared", "calendar"):
        return reverse(name, args=[records[kind]])
    named = [build.pk] if name in OF_BUILD else []
    named += [kind] if name in OF_ANY_KIND else []
    named += [records[kind].pk] if kind else []
    return reverse(name, args=[*named, *BESIDE.get(name, [])])


def test_every_address_has_a_row():
    assert all_names() == set(ROUTES)


@pytest.mark.parametrize("name", sorted(ROUTES))
def test_get_answers_each_part_as_it_should(name, clients, build, records):
    url = address(name, build, records)
    answers = {part: status(client.get(url)) for part, client in clients.items()}
    assert answers == ROUTES[name][0]


@pytest.mark.parametrize("name", sorted(n for n in OF_BUILD if ROUTES[n][0] is not READ))
def test_post_changes_nothing_for_those_who_may_not(name, clients, build, records):
    url = address(name, build, records)
    before = Change.objects.count()
    refused = {"viewer": 403, "stranger": 404, "removed": 404, "anonymous": 302, "share_link": 302}
    if ROUTES[name][0] is OWN or ROUTES[name][0] is OWN_POST_ONLY:
        refused["co_builder"] = 403
    for part, code in refused.items():
        assert clients[part].post(url, {}).status_code == code, part
    assert Change.objects.count() == before


@pytest.mark.parametrize("name", sorted(n for n in OF_BUILD if ROUTES[n][0] is READ))
def test_post_to_a_page_for_reading_is_nothing_to_strangers(name, clients, build, records):
    url = address(name, build, records)
    before = Change.objects.count()
    refused = {"stranger": 404, "removed": 404, "anonymous": 302, "share_link": 302}
    for part, code in refused.items():
        assert clients[part].post(url, {}).status_code == code, part
    assert Change.objects.count() == before


@pytest.mark.parametrize("name", sorted(n for n in OF_BUILD if ROUTES[n][0] is OWN))
def test_a_co_builder_cannot_do_what_is_the_owners(name, clients, build, records):
    before = Change.objects.count()
    answer = clients["co_builder"].post(address(name, build, records), {"label": "Mine"})
    assert (answer.status_code, Change.objects.count()) == (403, before)


@pytest.mark.parametrize("name", sorted(n for n in OF_BUILD if ROUTES[n][1]))
def test_a_record_of_another_build_is_not_found(name, clients, build, other_build, records):
    """The stranger owns a build, and asks through it for a record of somebody else's."""
    url = address(name, other_build, records)
    stranger = clients["stranger"]
    is_post = ROUTES[name][0]["owner"] == 405
    method = stranger.post if is_post else stranger.get
    assert method(url).status_code == 404


@pytest.mark.parametrize(
    "pk", ["0", "999999", "9" * 30], ids=["zero", "absent", "beyond any integer"]
)
def test_a_record_that_is_not_there_is_not_found(pk, clients, build):
    owner = clients["owner"]
    for path in ("share", "components", "purchases", "hours", "conversions", "history"):
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
    assert not LeftOver.objects.filter(component=foreign).exists()
    assert "Foreign" not in re.sub(r"<[^>]+>", "", answer.content.decode())
