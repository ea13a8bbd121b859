"""Sessions, sign-in and rights, by the requirements of OWASP ASVS 5.0.0 (May 2025).

The numbers stand as in that document, read in its repository at fe04986 (primary text).
"""

import re

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from materials.choices import Role
from materials.models import Change, LabourEntry, Member, OpenSession
from materials.services.invitations import digest_of, invite
from materials.services.members import remove_member
from tests.entries import Entries, line
from tests.race import race

PASSWORD = "pw-for-tests"


def sign_in(username: str, client: Client | None = None, password: str = PASSWORD) -> Client:
    """Sign in through the screen."""
    client = client or Client()
    typed = {"username": username, "password": password}
    assert client.post(reverse("sign_in"), typed).status_code == 302
    return client


def is_in(client: Client) -> bool:
    return client.get(reverse("account")).status_code == 200


# 7.2.3: a session token is unique and random with at least 128 bits of entropy.


def test_session_ids_are_random_and_long(cast):
    keys = [sign_in("owner").cookies["sessionid"].value for _ in range(5)]
    assert len(set(keys)) == 5
    for key in keys:
        # 32 signs out of 36: 32 × log2(36) = 165.4 bits (plain arithmetic).
        assert re.fullmatch(r"[a-z0-9]{32}", key)
    assert 36**32 > 2**128


# 7.2.4: a new session token on signing in, and the old one ends.


def test_signing_in_gives_a_new_id(cast, build):
    """7.2.4."""
    client = Client()
    made, secret = invite(
        actor=cast["owner"], build=build, role="viewer", note="", days=1, now=timezone.now()
    )
    client.get(reverse("join_link", args=[secret]))
    before = client.cookies["sessionid"].value
    sign_in("stranger", client)
    after = client.cookies["sessionid"].value
    assert before != after
    assert not OpenSession.objects.filter(pk=before).exists()
    planted = Client()
    planted.cookies["sessionid"] = before
    assert not is_in(planted), "an id that somebody else chose or saw before is worth nothing"
    assert client.session["invitation"] == made.digest == digest_of(secret)


def test_a_session_id_that_the_server_did_not_make_is_not_taken_on(cast):
    client = Client()
    client.cookies["sessionid"] = "a" * 32
    sign_in("owner", client)
    assert client.cookies["sessionid"].value != "a" * 32


def test_a_new_password_gives_a_new_id_and_ends_the_other_sessions(cast):
    here, there = sign_in("owner"), sign_in("owner")
    before = here.cookies["sessionid"].value
    new = "green-oak-and-lime"
    typed = {"old_password": PASSWORD, "new_password1": new, "new_password2": new}
    assert here.post(reverse("password_change"), typed).status_code == 302
    assert here.cookies["sessionid"].value != before
    assert is_in(here)
    assert not is_in(there)
    assert is_in(sign_in("owner", password=new))


# 7.4.1: signing out makes the session worthless, on the server.


def test_signing_out_ends_the_session_itself(cast):
    """7.4.1."""
    client = sign_in("owner")
    key = client.cookies["sessionid"].value
    assert client.post(reverse("sign_out")).status_code == 302
    assert not OpenSession.objects.filter(pk=key).exists()
    replayed = Client()
    replayed.cookies["sessionid"] = key
    assert not is_in(replayed)


def test_signing_out_is_not_done_by_a_link(cast):
    client = sign_in("owner")
    assert client.get(reverse("sign_out")).status_code == 405
    assert is_in(client)


# 7.4.2: all sessions end when an account is disabled or deleted.


@pytest.mark.parametrize("how", ["switched off", "deleted"])
def test_an_account_that_is_gone_has_no_sessions(how, cast, other_build):
    """7.4.2."""
    clients = [sign_in("stranger"), sign_in("stranger")]
    if how == "deleted":
        cast["stranger"].delete()
    else:
        cast["stranger"].is_active = False
        cast["stranger"].save()
    url = reverse("cost_sheet", args=[other_build.pk])
    for client in clients:
        assert not is_in(client)
        assert client.get(url).status_code == 302
        assert client.post(url, {}).status_code == 302


# 7.4.4: every page that needs a sign-in shows how to sign out.


def test_every_page_shows_the_way_out(clients, build):
    names = (
        "cost_sheet log purchases labour timer members member_leave history upload budget needed"
    )
    urls = [reverse(name, args=[build.pk]) for name in names.split()]
    urls += [reverse(name) for name in ("builds", "build_add", "account", "password_change")]
    urls += ["/builds/999999/", reverse("join")]
    for url in urls:
        page = clients["owner"].get(url).content.decode()
        (form,) = re.findall(r'<form class="cover-sign-out".*?</form>', page, re.DOTALL)
        assert 'method="post"' in form, url
        assert "Sign out" in form


# 8.2.1: functions are for those who were given them. Every function by every part is the matrix
# of test_routes.py; here, that who was given less at once may do less.


def test_less_is_allowed_from_the_next_request_on(clients, build, cast):
    url = reverse("task_add", args=[build.pk])
    client = clients["co_builder"]
    assert client.get(url).status_code == 200
    Member.objects.filter(build=build, user=cast["co_builder"]).update(role=Role.VIEWER)
    assert client.get(url).status_code == 403
    assert client.post(url, {"name": "Roof"}).status_code == 403
    member = Member.objects.get(build=build, user=cast["co_builder"])
    remove_member(actor=cast["owner"], build=build, member=member, now=timezone.now())
    assert client.get(url).status_code == 404
    assert client.get(reverse("cost_sheet", args=[build.pk])).status_code == 404


# 8.2.2: a record is found only by those who may see it (test_routes.py: every address with a
# key, asked for through another build). Here, keys sent in a form.


def test_keys_of_anothers_records_are_not_taken_from_a_form(clients, build, other_build, cast):
    theirs = Entries(cast["stranger"], other_build)
    board = theirs.component("Their board")
    bought = theirs.purchase("T1", line(board, "3 pieces"))
    task = theirs.task("Their task")
    client = clients["owner"]
    hours = {
        "worked_on": "2026-05-04",
        "person": "Ann",
        "kind": "installing",
        "hours": "1",
        "task": str(task.pk),
    }
    assert client.post(reverse("labour_add", args=[build.pk]), hours).status_code == 422
    for query in (f"?like={bought.pk}", f"?into={bought.pk}"):
        answer = client.get(reverse("log", args=[build.pk]) + query)
        assert answer.status_code == 404
        assert "Their board" not in answer.content.decode()
    row = {
        "number": "P1",
        "bought_on": "2026-05-04",
        "state": "received",
        "lines-TOTAL_FORMS": "1",
        "lines-INITIAL_FORMS": "1",
        "charges-TOTAL_FORMS": "0",
        "charges-INITIAL_FORMS": "0",
        "lines-0-pk": str(bought.lines.get().pk),
        "lines-0-component": str(Entries(cast["owner"], build).component("Own board").pk),
        "lines-0-quantity_text": "1 piece",
        "lines-0-source": "salvage",
    }
    assert client.post(reverse("purchase_add", args=[build.pk]), row).status_code == 422
    assert bought.lines.get().component == board
    assert not LabourEntry.objects.exists()


# 8.2.3: fields are for those who may read or write them.


def test_fields_that_are_nobodys_to_write_are_not_written(clients, build, other_build, cast):
    client = clients["co_builder"]
    more = {"build": other_build.pk, "id": 1, "pk": 1, "created_at": "2001-01-01", "role": "owner"}
    client.post(reverse("task_add", args=[build.pk]), {"name": "Roof"} | more)
    assert build.tasks.get().name == "Roof"
    assert not other_build.tasks.exists()
    client.post(reverse("account"), {"shown_name": "Co", "is_superuser": "on", "is_staff": "1"})
    cast["co_builder"].refresh_from_db()
    assert cast["co_builder"].first_name == "Co"
    assert not cast["co_builder"].is_superuser
    assert not cast["co_builder"].is_staff
    url = reverse("member_person", args=[build.pk])
    client.post(url, {"person": "nobody", "role": "owner", "user": cast["owner"].pk})
    assert Member.objects.get(build=build, user=cast["co_builder"]).role == "co-builder"


def test_what_is_for_one_part_alone_is_not_in_others_pages(clients, build, cast):
    """Open invitations are the owner's; an e-mail address is nobody's but its account's."""
    made, _ = invite(
        actor=cast["owner"], build=build, role="viewer", note="Aunt May", days=1, now=timezone.now()
    )
    cast["owner"].email = "owner@buildledger.example"
    cast["owner"].save()
    revoke = reverse("invitation_revoke", args=[build.pk, made.pk])
    members = reverse("members", args=[build.pk])
    assert revoke in clients["owner"].get(members).content.decode()
    for part in ("co_builder", "viewer"):
        page = clients[part].get(members).content.decode()
        assert revoke not in page
        assert "Aunt May" not in page
        for name in ("members", "history", "cost_sheet", "labour"):
            page = clients[part].get(reverse(name, args=[build.pk])).content.decode()
            assert "owner@buildledger.example" not in page
            assert made.digest not in page


# 8.3.1: rights are checked on the server, not by what a page shows.


def test_what_a_page_does_not_offer_is_refused_all_the_same(clients, build, records):
    viewer = clients["viewer"]
    page = viewer.get(reverse("purchase", args=[build.pk, records["purchase"].pk]))
    delete = reverse("record_delete", args=[build.pk, "purchase", records["purchase"].pk])
    assert delete not in page.content.decode()
    before = Change.objects.count()
    assert viewer.post(delete).status_code == 403
    headers = {"X-Requested-With": "XMLHttpRequest", "HX-Request": "true"}
    assert viewer.post(delete, headers=headers).status_code == 403
    assert viewer.post(f"{delete}?role=owner", {"role": "owner"}).status_code == 403
    assert viewer.put(delete).status_code == 403
    assert Change.objects.count() == before


# 8.4.1: what is done for one build reaches no other.


def test_one_builds_records_are_in_no_page_of_another(clients, build, other_build, cast, records):
    names = "cost_sheet components prices suppliers purchases purchase_lines conversions left_over"
    names += " tasks labour hours_report history elements needed cautions budget members log"
    own = Entries(cast["stranger"], other_build)
    own.component("Far board")
    for name in names.split():
        page = clients["stranger"].get(reverse(name, args=[other_build.pk])).content.decode()
        assert not re.search(r"\b(Board|Shelf|Yard|Frame|Ann|Hill shed|co_builder)\b", page), name
    theirs = clients["stranger"].get(reverse("account")).content.decode()
    assert "Hill shed" not in theirs


# 2.3.4: what is limited is not given out twice; the last of something to one of two.


def test_the_last_piece_goes_to_one_of_two(entries, tmp_path, transactional_db):
    """Two processes at once, each with a database connection of its own."""
    board = entries.component("Board")
    entries.purchase("P1", line(board, "1 piece"))
    done = race(
        tmp_path,
        f"""
        from datetime import date
        from materials.models import Build, Component, LeftOver
        from materials.services.errors import LedgerError
        from materials.services.stock import save_left_over
        build = Build.objects.get(pk={entries.build.pk})
        board = Component.objects.get(pk={board.pk})
        actor = build.members.get(role="owner").user
        values = dict(component=board, noted_on=date(2026, 5, 4), fate="scrapped")
        values["quantity_text"] = "1 piece"
        ready()
        try:
            save_left_over(actor=actor, build=build, left_over=LeftOver(), values=values)
            said = "took it"
        except LedgerError as error:
            said = "refused"
        """,
    )
    assert sorted(done) == ["refused", "took it"]


def test_one_link_lets_one_of_two_in(cast, build, tmp_path, transactional_db):
    _, secret = invite(
        actor=cast["owner"], build=build, role="viewer", note="", days=1, now=timezone.now()
    )
    keys = [cast["stranger"].pk, cast["removed"].pk]
    done = race(
        tmp_path,
        f"""
        from django.contrib.auth import get_user_model
        from django.utils import timezone
        from materials.services import invitations
        user = get_user_model().objects.get(pk={keys}[number])
        digest = invitations.digest_of({secret!r})
        ready()
        try:
            invitations.join(actor=user, digest=digest, now=timezone.now())
            said = "in"
        except invitations.NoInvitation:
            said = "no invitation"
        """,
    )
    assert sorted(done) == ["in", "no invitation"]


def test_one_of_two_owners_stays(cast, build, tmp_path, transactional_db):
    """Both leave at once: whoever comes second is the last one by then."""
    Member.objects.filter(build=build, user=cast["viewer"]).update(role=Role.OWNER)
    keys = [cast["owner"].pk, cast["viewer"].pk]
    done = race(
        tmp_path,
        f"""
        from django.contrib.auth import get_user_model
        from django.utils import timezone
        from materials.models import Build
        from materials.services.errors import LedgerError
        from materials.services.members import leave
        user = get_user_model().objects.get(pk={keys}[number])
        build = Build.objects.get(pk={build.pk})
        ready()
        try:
            leave(actor=user, build=build, now=timezone.now())
            said = "left"
        except LedgerError:
            said = "stays"
        """,
    )
    assert sorted(done) == ["left", "stays"]


def test_one_of_two_saves_is_told(entries, tmp_path, transactional_db):
    task = entries.task("Frame")
    done = race(
        tmp_path,
        f"""
        from materials.models import Build, Task
        from materials.services.labour import save_task
        from materials.services.versions import Stale, locked, version_of
        build = Build.objects.get(pk={entries.build.pk})
        task = Task.objects.get(pk={task.pk})
        actor = build.members.get(role="owner").user
        version = version_of(task)
        ready()
        try:
            with locked(build=build, record=task, version=version):
                values = dict(name=f"Frame {{number}}")
                save_task(actor=actor, build=build, task=task, values=values)
            said = "saved"
        except Stale:
            said = "told"
        """,
    )
    assert sorted(done) == ["saved", "told"]
