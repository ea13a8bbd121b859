"""Cautions come up for what was logged, and are noted as dealt with by name."""

from decimal import Decimal

from django.urls import reverse

from materials.choices import Source
from materials.models import CautionNote
from materials.queries.safety import list_cautions
from tests.entries import Entries, line


def logged(cast, build, **values):
    """A painted salvage door from 1950, and new nails."""
    entries = Entries(cast["owner"], build)
    door = entries.component("Panel door", traits=["painted"])
    nail = entries.component("Nail", unit="lb")
    entries.purchase(
        "P1",
        line(door, "2 pieces", unit_price=Decimal(5), origin_year=1950, **values),
        line(nail, "5 lb", unit_price=Decimal(2), source=Source.RETAIL),
    )
    return door


def open_codes(build):
    """Codes with the names of the components they are open for."""
    return {
        row.caution.code: [part.name for part in row.open]
        for row in list_cautions(build)
        if row.open
    }


def test_old_paint_comes_up_for_the_door_and_not_for_nails(cast, build):
    logged(cast, build)
    codes = open_codes(build)
    assert codes["old-paint"] == ["Panel door"]
    assert all("Nail" not in names for names in codes.values())


def test_a_caution_is_dealt_with_by_somebody_and_stays_listed(cast, build, clients):
    door = logged(cast, build)
    url = reverse("caution_deal", args=[build.pk, "old-paint", door.pk])
    typed = {"code": "old-paint", "component": door.pk, "dealt_with": "Tested, report kept"}
    assert clients["owner"].post(url, typed).status_code == 302
    note = CautionNote.objects.get()
    assert note.actor == cast["owner"]
    assert "old-paint" not in open_codes(build)
    told = clients["viewer"].get(reverse("cautions", args=[build.pk])).content.decode()
    assert "Tested, report kept" in told
    assert "owner" in told


def test_nothing_is_dealt_with_without_words(cast, build, clients):
    door = logged(cast, build)
    url = reverse("caution_deal", args=[build.pk, "old-paint", door.pk])
    answer = clients["owner"].post(url, {"code": "old-paint", "component": door.pk})
    assert answer.status_code == 422
    assert not CautionNote.objects.exists()
    assert clients["owner"].get(url.replace("old-paint", "no-such")).status_code == 404


def test_a_purchase_shows_its_cautions_and_is_never_blocked(cast, build, clients):
    door = logged(cast, build)
    purchase = door.lines.get().purchase
    page = reverse("purchase", args=[build.pk, purchase.pk])
    told = clients["owner"].get(page).content.decode()
    assert "Check your local code; ask a licensed professional." in told


def test_the_number_of_queries_does_not_grow(cast, build, django_assert_max_num_queries):
    logged(cast, build)
    entries = Entries(cast["owner"], build)
    for n in range(20):
        part = entries.component(f"Old brick {n}")
        entries.purchase(f"Q{n}", line(part, "10 pieces", unit_price=Decimal(1)))
    with django_assert_max_num_queries(3):
        assert list_cautions(build)
