"""Every route runs the same number of queries in a large ledger as in a small one."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.contrib.auth import get_user_model
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from materials.calc.trace import elements
from materials.calc.trace.explain import FIGURES
from materials.calc.trace.settling import BALANCE, PAID, SHARE, SHARED
from materials.choices import Role
from materials.models import Change
from materials.services.builds import create_build, save_build
from materials.services.invitations import invite
from materials.services.members import add_member, link_person
from materials.services.photos import add_photos
from materials.services.purchases import save_purchase
from materials.services.safety import note_caution
from materials.services.stock import save_conversion
from materials.services.suppliers import save_supplier
from tests.access.test_routes import address
from tests.answers import status
from tests.entries import line
from tests.fuzz.pages import Form, read_page
from tests.fuzz.world import route_of
from tests.imports.steps import as_text, check, small_import
from tests.photo_files import jpeg, sent
from tests.views.screens import Page

from .growth import MEASURED, READ, WRITE
from .test_growth import count, grown


@pytest.fixture
def records(everything, entries):
    """One record of each kind, as the pages' addresses want them; a link that shows all."""
    link, token = entries.share_link("All", shows_suppliers=True, shows_people=True)
    return everything | {"share": link, "share_token": token}


def grow_around(entries, records, second, numbers: range) -> None:
    """More records of every kind beside those that are looked at."""
    entries.fill(numbers)
    users = get_user_model().objects
    for n in numbers:
        entries.transfer(records["component"], "0.1 piece", second)
        add_photos(**entries.by, record=None, files=[sent(jpeg())])
        user = users.create_user(username=f"user {n}", password="pw-for-tests")
        member = add_member(**entries.by, user=user, role=Role.CO_BUILDER)
        link_person(actor=user, build=entries.build, member=member, person_name=f"Person {n:03}")
        invite(**entries.by, role="viewer", note=f"note {n}", days=14, now=timezone.now())
        made = create_build(actor=entries.actor, values={"name": f"Build {n}"})
        add_member(actor=entries.actor, build=made, user=user, role=Role.CO_BUILDER)
        note_caution(
            **entries.by,
            component=records["component"],
            code="reused-material",
            dealt_with=f"Looked at {n}",
        )
    small_import(entries)


def grow_within(entries, records, size: int) -> dict:
    """More rows in the records that are looked at; gives them with a larger import."""
    board, stud = records["component"], records["price"].component
    values = {"actor": entries.actor, "build": entries.build}
    save_purchase(
        **values,
        purchase=records["purchase"],
        values={},
        lines=[line(board, "12 pieces", unit_price=Decimal(2)) for _ in range(size)],
        charges=[{"kind": "haulage", "amount": Decimal(3)} for _ in range(size)],
    )
    parts = [entries.component(f"Slat {size} {n}") for n in range(size)]
    save_conversion(
        **values,
        conversion=records["conversion"],
        values={},
        outputs=[{"component": part, "made_text": "1 piece"} for part in [stud, *parts]],
    )
    for n in range(size):
        entries.price(stud, n + 1, priced_at=f"Shop {n}")
        entries.price(board, n + 1, priced_at=f"Shop {n}")
        entries.labour("Ann", "0.1", task=records["task"])
        entries.component(f"Of element {size} {n}", element=records["element"])
        save_supplier(**values, supplier=records["supplier"], values={"note": f"note {size} {n}"})
    add_photos(
        **entries.by,
        record=records["purchase"],
        files=[sent(jpeg((9, n + 1))) for n in range(min(size, 9))],
    )
    save_build(
        **values,
        values={},
        areas=[(f"Porch {n}", Decimal(9), "sq ft") for n in range(size)],
        rates=[(None, Decimal("0.70"))],
    )
    head = ["Date", "Vendor", "Item", "Qty", "Each"]
    rows = [["2026-03-07", f"Yard {n}", f"Plank {n}", f"{n + 1} ft", "2"] for n in range(size)]
    change = Change.objects.filter(build=entries.build, record_type="purchase").first()
    job = check(entries, as_text([head, *rows]), source="retail")
    return records | {"import": job, "change": change}


def addresses(build, second, records) -> dict[str, list[str]]:
    """Addresses of everything measured."""
    found = {name: [address(name, build, records)] for name in READ if READ[name] == MEASURED}
    found["compare"] = [f"{found['compare'][0]}?build={build.pk}&build={second.pk}"]
    ann = build.persons.get(name="Ann").pk
    figures = (
        *FIGURES,
        *elements.NAMES,
        "area_0",
        "spent_2026-05",
        "spent_to_2026-05",
        PAID,
        SHARED,
        *(f"{sign}{ann}" for sign in (SHARE, BALANCE)),
    )
    found["figure"] = [reverse("figure", args=[build.pk, name]) for name in figures]
    found["record_history"].append(
        reverse("record_history", args=[build.pk, "supplier", records["supplier"].pk])
    )
    found["purchase_lines"].append(found["purchase_lines"][0] + "?sort=-landed_amount")
    found["lines_change"].append(found["lines_change"][0] + "?all=1")
    found["purchase_add"].append(found["purchase_add"][0] + f"?like={records['purchase'].pk}")
    found["log"].append(found["log"][0] + f"?like={records['purchase'].pk}")
    return found


@pytest.fixture(autouse=True)
def each_form_looks_for_old_ones(monkeypatch):
    """Not one in twenty, whichever that is: so that equal forms run equal queries."""
    monkeypatch.setattr("materials.services.sent_forms.PRUNED_EACH", 1)


def read_counts(client, urls: dict[str, list[str]]) -> dict[str, int]:
    """Queries of each page; the most of those that stand for one route."""

    def read(url: str) -> None:
        assert status(client.get(url)) == 200, url

    return {
        name: max(count(lambda url=url: read(url)) for url in each) for name, each in urls.items()
    }


def test_no_route_runs_more_queries_for_more_rows(clients, build, second, entries, records):
    owner = clients["owner"]
    grow_around(entries, records, second, range(2))
    few_records = grow_within(entries, records, 2)
    read_counts(owner, addresses(build, second, few_records))
    few = read_counts(owner, addresses(build, second, few_records))
    grow_around(entries, records, second, range(2, 9))
    many = read_counts(owner, addresses(build, second, grow_within(entries, records, 9)))
    assert grown(few, many) == {}


def form_of(client, build, records, name: str) -> tuple[str, Form]:
    """The form that goes to a route, from the page that holds it."""
    other = records["move"].to_component.build_id
    line_of = records["purchase"].lines.first()
    pages = {
        "purchase_state": address("purchase", build, records | {"purchase": records["offer"]}),
        "change_undo": address("change", build, records),
        "invitation_revoke": address("members", build, records),
        "lines_change": f"{address('lines_change', build, records)}?line={line_of.pk}",
        "move_add": f"{address('move_add', build, records)}?to={other}",
    }
    url = pages.get(name) or address(name, build, records)
    forms, _ = read_page(client.get(url).content.decode())
    fitting = [
        form for form in forms if form.method == "post" and route_of(form.action or url) == name
    ]
    assert fitting, name
    return fitting[-1].action or url, fitting[-1]


def written(client, build, records, name: str) -> Callable[[], None]:
    """Send a route's form, rightly filled in."""
    typed = WRITE[name]
    typed = typed(records) if callable(typed) else typed
    url, form = form_of(client, build, records, name)
    data = {field.name: field.value for field in form.fields if field.sent and field.kind != "file"}
    data |= typed

    def send() -> None:
        answer = client.post(url, data)
        fine = (200,) if name in ("share_add", "member_invite") else (302,)
        if answer.status_code not in fine:
            raise AssertionError((name, answer.status_code, Page(answer.content.decode()).faults))

    return send


def write_counts(client, build, records) -> dict[str, int]:
    """Queries of each form that is sent, each rolled back."""
    found = {}
    for name, typed in WRITE.items():
        if isinstance(typed, str):
            continue
        send = written(client, build, records, name)
        with transaction.atomic():
            found[name] = count(send)
            transaction.set_rollback(True)
    return found


@pytest.mark.slow
def test_no_form_runs_more_queries_in_a_larger_ledger(clients, build, second, entries, records):
    owner = clients["owner"]
    records["offer"] = entries.purchase(
        "Q", line(records["component"], "1 piece", unit_price=Decimal(2)), state="offer"
    )
    records["change"] = Change.objects.filter(build=build, record_type="task").first()
    records["purchase"] = entries.purchase("R", line(records["component"], "1 piece"))
    grow_around(entries, records, second, range(2))
    write_counts(owner, build, records)
    few = write_counts(owner, build, records)
    grow_around(entries, records, second, range(2, 9))
    assert grown(few, write_counts(owner, build, records)) == {}
