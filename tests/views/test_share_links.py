"""Making, changing and revoking share links on their screens."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from materials.models import Change, ShareLink
from tests.views.screens import MARKS, Page
from tests.views.test_bad_input import kept
from tests.views.wrong import NO_TEXTS
from tests.world import once

pytestmark = once("records")

PAST = "2020-01-01"
WRONG = [
    *({"label": text} for text in NO_TEXTS),
    {"label": "x" * 81},
    *({"expires_on": text} for text in ("soon", "2026-02-30", PAST, "99999-01-01")),
]


@pytest.fixture
def made(screens):
    """A link made through the form: the page that shows it, and its address."""

    def make(label="Aunt Ida", **typed) -> tuple[Page, str]:
        url = screens.url("share_add")
        data = screens.filled(screens.read(url).form, {"label": label} | typed)
        answer = screens.send(url, data)
        assert answer.status_code == 200
        assert answer["Cache-Control"] == "no-store"
        page = Page(answer.content.decode())
        (address,) = set(re.findall(r"http://testserver(/shared/[\w-]+/)", page.html))
        return page, address

    return make


def test_a_link_is_shown_once_and_opens(made, screens):
    page, address = made()
    assert "It cannot be shown again" in page.text
    assert Client().get(address).status_code == 200
    token = address.split("/")[2]
    for name in ("share_links", "history", "cost_sheet"):
        assert token not in screens.open(name).html
    link = ShareLink.objects.get()
    assert token not in screens.open("share_edit", link.pk).html


def test_a_new_form_ticks_prices_alone_and_ends_in_90_days(screens):
    form = screens.open("share_add").form
    assert form.fields["shows_prices"] == "on"
    assert not {"shows_suppliers", "shows_people"} & set(form.fields)
    assert form.boxes == {"shows_prices", "shows_suppliers", "shows_people"}
    assert form.fields["expires_on"] == f"{timezone.localdate() + timedelta(days=90)}"


@pytest.mark.parametrize("typed", WRONG, ids=lambda typed: str(typed)[:40])
def test_what_is_not_understood_is_said_and_kept(typed, screens):
    changes = Change.objects.count()
    url = screens.url("share_add")
    right = screens.filled(screens.read(url).form, {"label": "Ida", "shows_people": True})
    answer = screens.send(url, right | typed)
    assert answer.status_code == 422
    page = Page(answer.content.decode())
    assert page.faults
    assert all(re.search(r"[.?]$", fault) for fault in page.faults)
    for name, value in (right | typed).items():
        if name not in MARKS:
            assert kept(page.form.fields[name]) == kept(value)
    assert (ShareLink.objects.count(), Change.objects.count()) == (0, changes)


def test_the_form_sent_twice_makes_one_link(made, screens):
    made()
    page = screens.refused("share_add", {"label": "aunt ida"})
    assert "This link exists already" in " ".join(page.faults)
    assert ShareLink.objects.count() == 1


def test_changing_what_a_link_shows(made, screens, entries):
    entries.labour("Quintella", 3)
    _, address = made()
    assert "Quintella" not in Client().get(address).content.decode()
    link = ShareLink.objects.get()
    screens.save("share_edit", {"shows_people": True, "shows_prices": False}, link.pk)
    page = Client().get(address).content.decode()
    assert "Quintella" in page
    assert "$" not in page


def test_revoking_asks_first_and_closes_at_once(made, screens):
    _, address = made()
    link = ShareLink.objects.get()
    asked = screens.open("share_revoke", link.pk)
    assert "stop working for good" in asked.text
    assert Client().get(address).status_code == 200, "asking changes nothing"
    assert screens.send(screens.url("share_revoke", link.pk), {}).status_code == 302
    assert Client().get(address).status_code == 404
    listed = screens.open("share_links")
    assert "revoked" in listed.text
    assert screens.url("share_revoke", link.pk) not in listed.html
    refused = screens.refused("share_edit", {"label": "Again"}, link.pk)
    assert "revoked for good" in " ".join(refused.faults)


def test_the_list_tells_how_each_link_stands(made, screens):
    _, address = made("Ida")
    made("Ben", shows_suppliers=True, shows_prices=False, expires_on="")
    made("Cleo", shows_prices=False)
    ShareLink.objects.filter(label="Cleo").update(expires_on=PAST)
    Client().get(address)
    rows = re.findall(r"<tr .*?</tr>", screens.open("share_links").html, re.DOTALL)
    text = {
        row[0]: row[1:5]
        for row in (
            [
                " ".join(re.sub(r"<[^>]+>", " ", cell).split())
                for cell in re.findall(r"<t[hd].*?</t[hd]>", row, re.DOTALL)
            ]
            for row in rows
        )
    }
    assert text["Ida"][0] == "prices"
    assert (text["Ida"][2], text["Ida"][3] != "never") == ("open", True)
    assert text["Ben"] == ["suppliers", "no end", "open", "never"]
    assert text["Cleo"] == ["quantities alone", "1 Jan 2020", "expired", "never"]


def test_names_that_would_show_a_hidden_one_are_told_before_and_after(made, screens, entries):
    entries.labour("Quintella", 1, task=entries.task("Quintella's gate"))
    assert "holds the name Quintella" in screens.open("share_add").text
    page, _ = made()
    assert "holds the name Quintella" in page.text
    shown, _ = made("Ben", shows_people=True)
    assert "holds the name" not in shown.text


def test_many_such_names_are_told_in_a_few_lines(screens, entries):
    entries.labour("Quin", 1)
    for n in range(12):
        entries.task(f"Gate {n} of Quin")
    page = screens.open("share_add")
    assert page.text.count("holds the name") == 8
    assert "And 4 more names like these." in page.text


def test_the_history_tells_of_a_link_and_offers_no_undoing(made, screens, build):
    made()
    change = Change.objects.filter(build=build).first()
    page = screens.open("change", change.pk)
    assert "share link added" in page.text
    assert "Undo this" not in page.text
    assert ShareLink.objects.get().token_hash not in page.html
    answer = screens.send(reverse("change_undo", args=[build.pk, change.pk]), {})
    assert answer.status_code == 302
    assert ShareLink.objects.count() == 1
