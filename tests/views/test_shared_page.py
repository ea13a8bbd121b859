"""The page behind a share link: what it shows and hides, its headers, methods, limits and logs.

Numbers are requirements of OWASP ASVS 5.0.0, read in the primary text: 8.2.3 (who may see which
field), 8.3.1 (checked on the server).
"""

import dataclasses
import io
import logging
import re
from datetime import date, timedelta
from decimal import Decimal as D
from fractions import Fraction
from html import unescape
from itertools import product

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from buildledger.logs import HideSecrets, JsonLines
from materials.calc.money import round_half_up
from materials.choices import Fate, LabourKind
from materials.models import Attempt, ShareLink
from materials.queries.reports import get_cost_sheet
from materials.queries.shared_sheet import get_shared_sheet
from materials.queries.sharing import Parts
from materials.services.attempt_limits import UNKNOWN_SHARES
from materials.services.builds import save_build
from materials.services.photos import add_photos
from materials.services.sharing import revoke_link
from tests.entries import line
from tests.photo_files import jpeg, sent
from tests.views.screens import Page

ALL_TICKS = [Parts(*ticks) for ticks in product((False, True), repeat=3)]

SUPPLIERS = ("Wrenfield Yard", "14 Tolver Street", "kestrel 555 0199", "Ossery Mill")
PERSONS = ("Zebedee", "Quintella")
NEVER = (
    "xnote-purchase",
    "xnote-line",
    "xnote-labour",
    "xnote-supplier",
    "xnote-component",
    "xnote-conversion",
    "xnote-left",
    "xcaption",
    "xnumber",
    "xlabel",
    "Declined Depot",
    "Offer Outlet",
    "owner",
    "co_builder",
    "csrf",
)
SHOWN = ("Hill shed", "Board", "Stud", "Frame the wall", "Still needed", "200")


@pytest.fixture
def busy(entries, build, settings, tmp_path):
    """A build where every supplier, contact, person, note and amount is a text of its own."""
    settings.MEDIA_ROOT = tmp_path
    element = entries.element("Q7", budget_amount=D("7919"))
    board = entries.component(
        "Board", element=element, required_text="60 pieces", note="xnote-component"
    )
    stud = entries.component("Stud", element=element, required_text="9 pieces")
    odd = entries.component("Odd one")
    entries.purchase("xnumber-3", line(odd, "2 pieces", unit_price=D("43.97")), paid_by=PERSONS[1])
    entries.price(board, "613.57", priced_at=SUPPLIERS[3])
    entries.supplier(SUPPLIERS[0], place=SUPPLIERS[1], contact=SUPPLIERS[2], note="xnote-supplier")
    bought = entries.purchase(
        "xnumber-1",
        line(board, "40 pieces", unit_price=D("241.37"), note="xnote-line"),
        charges=[{"kind": "haulage", "amount": D("83.19")}],
        supplier=SUPPLIERS[0],
        paid_by=PERSONS[0],
        note="xnote-purchase",
    )
    entries.purchase(
        "xnumber-2",
        line(stud, "3 pieces", unit_price=D("59.71")),
        supplier=SUPPLIERS[3],
        state="ordered",
    )
    for place, state in (("Declined Depot", "declined"), ("Offer Outlet", "offer")):
        entries.purchase(f"xnumber-{state}", line(stud, "1 piece"), supplier=place, state=state)
    entries.conversion(
        "xnumber-c",
        board,
        "4 pieces",
        (stud, "8 pieces"),
        extra_cost_amount=D("37.43"),
        note="xnote-conversion",
    )
    entries.left_over(stud, "1 piece", Fate.SOLD, proceeds_amount=D("17.83"), note="xnote-left")
    task = entries.task("Frame the wall", planned_hours=D(30))
    entries.labour(PERSONS[0], 21, task=task, note="xnote-labour")
    entries.labour(PERSONS[1], 7, LabourKind.SOURCING, paid_amount=D("311.27"))
    add_photos(**entries.by, record=bought, files=[sent(jpeg())], caption="xcaption")
    return build


def opened(entries, parts: Parts, **values):
    names = ("shows_prices", "shows_suppliers", "shows_people")
    link, token = entries.share_link("xlabel", **dict(zip(names, parts, strict=True)), **values)
    return link, reverse("shared", args=[token])


def html_of(answer) -> str:
    assert answer.status_code == 200
    return unescape(answer.content.decode())


def amounts(value, found=None) -> set[Fraction]:
    """Every fraction anywhere in a dataclass."""
    found = set() if found is None else found
    if isinstance(value, Fraction):
        found.add(value)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            amounts(getattr(value, field.name), found)
    elif isinstance(value, tuple | list):
        for part in value:
            amounts(part, found)
    return found


def money_of(sheet) -> dict[str, Fraction]:
    """The money of a whole cost sheet, by what it is."""
    found = {
        "budget": sheet.budget,
        "contingency": sheet.contingency,
        "spent": sheet.spent,
        "committed": sheet.committed,
        "remaining": sheet.remaining,
        "low": sheet.forecast.low,
        "high": sheet.forecast.high,
        "new": sheet.total.retail_equivalent,
        "savings": sheet.savings,
        "after own": sheet.savings_after_own_labour,
        "per hour": sheet.saved_per_extra_hour,
        "paid labour": sheet.hours.paid_labour,
        "own value": sheet.own_labour_value,
        "per area": sheet.areas[0].cost,
        "element budget": sheet.elements[0].element.budget,
    }
    for row in sheet.components:
        found[f"cost of {row.position.component.name}"] = row.position.known_money
    return {name: value for name, value in found.items() if value}


def finer_money(sheet) -> set[Fraction]:
    """Money of single rows of a whole cost sheet."""
    found = {row.cost for row in sheet.sources} | {row.retail_equivalent for row in sheet.sources}
    found |= {row.position.average for row in sheet.components}
    found |= {row.retail_equivalent for row in sheet.components}
    return {value for value in found | {*paid_by(sheet)} if value}


def paid_by(sheet) -> list[Fraction]:
    """What people paid, their shares and balances."""
    shares = [row.share for row in sheet.persons]
    return [
        value for row in shares for value in (row.person.paid_out, row.share, row.balance) if value
    ]


def written(value: Fraction) -> str:
    return f"{abs(round_half_up(value, 2)):,f}"


@pytest.mark.parametrize(
    "parts", ALL_TICKS, ids=lambda parts: "".join("01"[tick] for tick in parts)
)
def test_each_unticked_part_is_nowhere_and_each_ticked_one_is_there(parts, busy, entries):
    """8.2.3, 8.3.1: over the whole answer: text, titles, pictures and their descriptions."""
    _, url = opened(entries, parts)
    html = html_of(Client().get(url))
    sheet = get_cost_sheet(busy, timezone.localdate())
    money = {name: written(value) for name, value in money_of(sheet).items()}
    assert len(money) == 18
    for name, text in money.items():
        assert (text in html) == parts.prices, (name, text)
    for text in ("$", "USD"):
        assert (text in html) == parts.prices, text
    if not parts.prices:
        assert re.findall(r"\d[\d,]*\.\d\d\b(?! ?(%|h|em))", re.sub(r"<[^>]+>", " ", html)) == []
        assert "cost" not in re.sub(r"<[^>]+>", " ", html).lower().replace("cost sheet", "")
    for text in SUPPLIERS:
        assert (text in html) == parts.suppliers, text
    for text in PERSONS:
        assert (text in html) == parts.people, text
    # 40 at 241.37 and 83.19 to fetch them: what the yard was paid, and what Zebedee paid.
    assert ("9,737.99" in html) == (parts.prices and (parts.suppliers or parts.people))
    # He paid that, Quintella 87.94: of 9,825.93 her half is 4,912.97 and his 4,912.96.
    assert ("+$4,825.03" in html) == (parts.prices and parts.people)
    assert [text for text in NEVER if text in html] == []
    assert [text for text in SHOWN if text not in html] == []


@pytest.mark.parametrize(
    "parts", ALL_TICKS, ids=lambda parts: "".join("01"[tick] for tick in parts)
)
def test_what_a_template_is_given_does_not_hold_what_is_not_ticked(parts, busy):
    """8.2.3: so that no slip in a template can show it."""
    sheet = get_shared_sheet(busy, parts, timezone.localdate())
    page_text = repr(sheet)
    for text in SUPPLIERS:
        assert (text in page_text) == parts.suppliers, text
    for text in PERSONS:
        assert (text in page_text) == parts.people, text
    whole = get_cost_sheet(busy, timezone.localdate())
    money, finer, held = {*money_of(whole).values()}, finer_money(whole), amounts(sheet)
    assert len(finer) >= 9
    if parts.prices:
        assert money | finer <= held | ({*paid_by(whole)} if not parts.people else set())
    else:
        assert (money | finer) & held == set()
    assert ("USD" in page_text) == parts.prices
    assert [text for text in NEVER[:12] if text in page_text] == []
    with pytest.raises(dataclasses.FrozenInstanceError):
        sheet.money = None


def test_figures_are_those_of_the_members_sheet(busy, entries, clients):
    members = Page(clients["owner"].get(reverse("cost_sheet", args=[busy.pk])).content.decode())
    _, url = opened(entries, Parts(True, True, True))
    shared = Page(Client().get(url).content.decode())
    same = set(members.ledger) & set(shared.ledger)
    assert len(same) >= 15
    assert {name: members.ledger[name] for name in same} == {
        name: shared.ledger[name] for name in same
    }


def test_quantities_stand_there_whatever_is_ticked(busy, entries):
    for parts in (Parts(True, False, False), Parts(False, False, False)):
        _, url = opened(entries, parts)
        page = Page(Client().get(url).content.decode())
        # 40 bought, 4 cut up: 36 in; 60 wanted, 24 needed; 8 studs made, 1 sold, 3 ordered of 9.
        assert "Board 60 pieces" in page.text
        assert "36 pieces" in page.text
        assert "Still needed 1 Board 24 pieces" in page.text
        assert "28 h" in page.text
        ShareLink.objects.all().delete()


def test_an_unknown_price_is_not_known_and_not_nothing(entries, build):
    board = entries.component("Board")
    entries.purchase("P1", line(board, "2 pieces"))
    _, url = opened(entries, Parts(True, False, False))
    page = Page(Client().get(url).content.decode())
    assert "1 component with an unknown part of the cost. Only the known part counts" in page.text
    assert "not known" in page.text
    ShareLink.objects.all().delete()
    _, bare = opened(entries, Parts(False, False, False))
    assert "not known" not in Page(Client().get(bare).content.decode()).text


@pytest.mark.parametrize("parts", [Parts(False, False, False), Parts(True, True, True)])
def test_an_empty_build_has_a_page_too(parts, entries, build):
    save_build(**entries.by, values={"budget_amount": None})
    _, url = opened(entries, parts)
    page = Page(Client().get(url).content.decode())
    assert "Nothing is recorded yet" in page.text


def test_progress_is_weighed_by_value_where_prices_are_shown(busy, entries, build):
    """Board: 60 wanted at 613.57, 36 got. Stud, at what it cost: 9 wanted, all there or ordered."""
    entries.component("Hinge", required_text="2 pieces", element=build.elements.get(code="Q7"))
    _, url = opened(entries, Parts(True, False, False))
    page = html_of(Client().get(url))
    whole = get_cost_sheet(busy, timezone.localdate())
    stud = next(p for p in whole.components if p.position.component.name == "Stud").position
    tax = 1 + whole.build.retail_tax_share
    board = Fraction("613.57") * tax
    met, needed = 36 * board + 9 * stud.average, 60 * board + 9 * stud.average
    assert f"${written(met)} of ${written(needed)} received or ordered" in page
    assert "Left out, without any price: Hinge." in page
    assert "Counted, since" not in page
    ShareLink.objects.all().delete()
    _, bare = opened(entries, Parts(False, False, False))
    page = html_of(Client().get(bare))
    assert "Counted, since no prices are shown." in page
    assert "nothing more needed of 1 of 3" in page
    assert "Left out, without" not in page


def test_progress_is_counted_where_no_price_is_known(entries):
    entries.component("Hinge", required_text="2 pieces")
    _, url = opened(entries, Parts(True, False, False))
    assert "Counted, since no prices are known." in html_of(Client().get(url))


def test_headers_keep_the_page_private(busy, entries):
    _, url = opened(entries, Parts(True, True, True))
    for client in (Client(), Client(enforce_csrf_checks=True)):
        for answer in (client.get(url), client.head(url), client.post(url), client.get(url + "x/")):
            assert answer.cookies == {}
            if answer.status_code != 404:
                assert answer["Referrer-Policy"] == "no-referrer"
                assert answer["Cache-Control"] == "no-store"
                assert answer["X-Robots-Tag"] == "noindex"
    policy = Client().get(url)["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "script-src" not in policy
    wrong = Client().get(reverse("shared", args=["wrong"]))
    assert (wrong["Referrer-Policy"], wrong["Cache-Control"]) == ("no-referrer", "no-store")


@pytest.mark.parametrize("method", ["post", "put", "patch", "delete", "options", "trace"])
def test_only_reading_is_answered(method, busy, entries):
    link, url = opened(entries, Parts(True, True, True))
    strict = Client(enforce_csrf_checks=True)
    answer = getattr(strict, method)(url)
    assert (answer.status_code, answer["Allow"], answer.content) == (405, "GET, HEAD", b"")
    assert getattr(strict, method)(reverse("shared", args=["wrong"])).status_code == 404
    link.refresh_from_db()
    assert link.opened_count == 0


def test_unknown_revoked_and_expired_are_the_page_of_any_wrong_address(busy, entries):
    gone, revoked = opened(entries, Parts(True, True, True))
    revoke_link(**entries.by, link=gone)
    late, expired = opened(entries, Parts(True, True, True), expires_on=timezone.localdate())
    assert Client().get(expired).status_code == 200
    ShareLink.objects.filter(pk=late.pk).update(expires_on=timezone.localdate() - timedelta(days=1))
    nowhere = Client().get("/nowhere/")
    assert nowhere.status_code == 404
    unknown = reverse("shared", args=["A" * 43])
    for url in (revoked, expired, unknown, "/shared/%00/", "/shared/é/", "/shared/a/b/"):
        answer = Client().get(url)
        assert answer.status_code == 404, url
        assert answer.content == nowhere.content, url
    lines = [dict(Client().get(url).headers) for url in (revoked, expired, unknown)]
    assert len({headers.pop("X-Request-ID") for headers in lines}) == 3
    assert lines[0] == lines[1] == lines[2]


def test_a_member_sees_what_everybody_sees(busy, entries, clients):
    _, url = opened(entries, Parts(False, False, False))
    page = clients["owner"].get(url)
    assert page.content == Client().get(url).content
    assert page.cookies == {}
    assert get_user_model().objects.get(username="owner").username not in html_of(page)


def test_no_link_leads_into_the_app(busy, entries):
    _, url = opened(entries, Parts(True, True, True))
    page = Client().get(url).content.decode()
    hrefs = re.findall(r'(?:href|src|action)="([^"]*)"', page)
    outside = [href for href in hrefs if not href.startswith(("#", "/static/"))]
    assert outside == []
    assert len([href for href in hrefs if href.startswith("#")]) >= 7
    for part in ("<form", "<script", "<button", "<input"):
        assert part not in page


def test_opening_is_remembered_once_a_minute_and_looking_ahead_is_not(busy, entries):
    link, url = opened(entries, Parts(True, False, False))

    def seen() -> int:
        link.refresh_from_db()
        return link.opened_count

    Client().head(url)
    assert seen() == 0
    Client().get(url)
    Client().get(url)
    assert seen() == 1
    assert timezone.now() - link.last_opened_at < timedelta(minutes=1)


def test_a_page_that_is_opened_again_writes_nothing(busy, entries, django_assert_num_queries):
    _, url = opened(entries, Parts(True, True, True))
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    counts = []
    for _ in range(2):
        with CaptureQueriesContext(connection) as queries:
            Client().get(url)
        counts.append([q["sql"].split()[0] for q in queries])
    assert counts[0].count("UPDATE") == 1
    assert set(counts[1]) == {"SELECT"}


def test_too_many_wrong_tokens_from_one_place_get_a_bare_line(busy, entries):
    _, url = opened(entries, Parts(True, False, False))

    def tried(address: str) -> int:
        wrong = reverse("shared", args=["wrong"])
        return Client().get(wrong, REMOTE_ADDR=address).status_code

    most = UNKNOWN_SHARES.most
    assert [tried("10.0.0.1") for _ in range(most)] == [404] * most
    answer = Client().get(reverse("shared", args=["wrong"]), REMOTE_ADDR="10.0.0.1")
    assert answer.status_code == 429
    assert 50 < int(answer["Retry-After"]) <= 60
    assert answer["Content-Type"].startswith("text/plain")
    assert tried("10.0.0.2") == 404, "another place is not stopped"
    right = Client().get(url, REMOTE_ADDR="10.0.0.1")
    assert right.status_code == 200, "a right link always opens"
    for row in Attempt.objects.all():  # as a minute later
        row.at -= UNKNOWN_SHARES.within
        row.save()
    assert tried("10.0.0.1") == 404


@pytest.fixture
def logged():
    """What Django's own loggers and ours write, as their handlers would."""
    written, handlers = io.StringIO(), []
    for name in ("django.request", "django.server", "django", "buildledger.requests"):
        handler = logging.StreamHandler(written)
        if name == "buildledger.requests":
            # What was refused is one line there, and none of Django's.
            handler.setFormatter(JsonLines())
        logging.getLogger(name).addHandler(handler)
        handlers.append((name, handler))
    yield written
    for name, handler in handlers:
        logging.getLogger(name).removeHandler(handler)


def test_no_token_gets_into_a_log(busy, entries, logged, monkeypatch):
    link, url = opened(entries, Parts(True, False, False))
    token = url.strip("/").rpartition("/")[2]
    Client().post(url)
    Client().get(f"{url}more/")
    Client().get(f"/nowhere/?from={token}")
    monkeypatch.setattr("materials.views.sharing.get_shared_sheet", lambda *args: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        Client().get(url)
    monkeypatch.undo()
    revoke_link(**entries.by, link=link)
    Client().get(url)
    line = '"GET %s HTTP/1.1" 200 5'
    logging.getLogger("django.server").info(line, url)
    text = logged.getvalue()
    assert text.count("/shared/…/") >= 4
    assert "POST /shared/…/ 405" in text
    assert "GET /shared/…/ 404" in text
    assert token not in text


def test_a_log_line_without_a_token_is_left_as_it_is():
    record = logging.LogRecord(
        "x", 20, "", 1, '"GET %s" %s', ("/static/css/page.0123456789ab.css", 5), None
    )
    assert HideSecrets().filter(record)
    assert record.args == ("/static/css/page.0123456789ab.css", 5)
    short = logging.LogRecord("x", 20, "", 1, "Not Found: %s", ("/shared/short/",), None)
    HideSecrets().filter(short)
    assert short.getMessage() == "Not Found: /shared/…/"


def test_the_day_on_the_page_is_the_day_it_is_opened(busy, entries, monkeypatch):
    _, url = opened(entries, Parts(True, False, False))
    monkeypatch.setattr(timezone, "localdate", lambda *args: date(2026, 12, 24))
    assert html_of(Client().get(url)).count("24 Dec 2026") >= 3
