"""Beginning a build from an earlier one, and putting one away."""

from decimal import Decimal as D

import pytest

from materials.access import NotAllowed
from materials.choices import Role
from materials.models import (
    Build,
    Change,
    Conversion,
    LabourEntry,
    LeftOver,
    Member,
    Person,
    Purchase,
    RetailPrice,
)
from materials.queries.checks import find_differences
from materials.services.builds import archive_build
from materials.services.errors import LedgerError
from materials.services.new_builds import CarryOver, start_from
from materials.services.records import undo_change
from tests.entries import DAY

pytestmark = pytest.mark.django_db

NOTHING = CarryOver(False, False, False, False, False, False, False, False)


@pytest.fixture
def earlier(entries, records) -> Build:
    """A build with everything in it."""
    wall = entries.element("X9", name="Earth wall", budget_amount=D(500))
    entries.component(
        "Plaster", "lb", element=wall, required_text="90 lb", waste_percent=D(5),
        new_qty_per_one=D("1.5"), would_buy_new=False, traits=["lead paint"], note="lime",
        load_kind="earth", kind="loose",
        contents="1 bag = 60 lb",
    )  # fmt: skip
    entries.price(records["component"], 7, priced_at="Shop", per_text="2 pieces")
    entries.supplier("Quarry", place="Hill", contact="555", note="cash")
    entries.task("Plastering", element=wall, planned_hours=D(40), done_percent=D(30))
    return entries.build


def begin(cast, earlier, carry=CarryOver(), by="owner", **values) -> Build:  # noqa: B008
    values = {"name": "Next", "currency": "USD"} | values
    return start_from(actor=cast[by], earlier=earlier, values=values, carry_over=carry)


def test_what_is_known_is_carried_over_and_what_happened_is_not(cast, earlier):
    build = begin(cast, earlier)

    def both(rows, *fields):
        found = [list(rows(b).values_list(*fields)) for b in (earlier, build)]
        assert found[0]
        assert sorted(map(str, found[0])) == sorted(map(str, found[1]))

    both(lambda b: b.elements, "code", "name")
    both(
        lambda b: b.components, "name", "element__code", "unit", "contents", "required_text",
        "required_qty", "waste_percent", "new_qty_per_one", "would_buy_new", "life_years",
        "traits", "load_kind", "note", "kind",
    )  # fmt: skip
    both(
        lambda b: RetailPrice.objects.filter(component__build=b),
        "component__name", "price", "per_text", "per_qty", "priced_on", "priced_at",
    )  # fmt: skip
    both(lambda b: b.suppliers, "name", "place", "contact", "is_gone", "note")
    both(lambda b: b.tasks, "name", "element__code", "planned_hours")
    assert not build.elements.filter(budget_amount__isnull=False).exists()
    assert not build.tasks.filter(done_percent__isnull=False).exists()
    for model, path in (
        (Purchase, "build"), (Conversion, "build"), (LabourEntry, "build"), (Person, "build"),
        (LeftOver, "component__build"),
    ):  # fmt: skip
        assert model.objects.filter(**{path: earlier}).exists(), model
        assert not model.objects.filter(**{path: build}).exists(), model
    assert list(find_differences(build)) == []
    assert build.members.get().role == Role.OWNER


def test_one_entry_in_the_new_history_and_none_in_the_old(cast, earlier):
    before = Change.objects.filter(build=earlier).count()
    build = begin(cast, earlier)
    (entry,) = Change.objects.filter(build=build)
    assert entry.summary == (
        "Started from an earlier build. Elements: 23, components: 4, new prices: 2,"
        " ways to make: 1, suppliers: 2, tasks: 2."
    )
    assert earlier.name not in entry.summary
    assert Change.objects.filter(build=earlier).count() == before


def test_ticks_are_heeded(cast, earlier):
    build = begin(cast, earlier, NOTHING)
    usual = set(build.elements.values_list("code", flat=True))
    assert "X9" not in usual
    assert "A10" in usual
    assert not build.components.exists()
    assert not build.suppliers.exists()
    assert not build.tasks.exists()
    assert "Nothing carried over" in Change.objects.get(build=build).summary
    some = CarryOver(budgets=True, required=False, prices=False, tasks=False, persons=True)
    build = begin(cast, earlier, some, name="Some")
    assert build.elements.get(code="X9").budget_amount == 500
    assert build.components.get(name="Plaster").required_qty is None
    assert build.components.get(name="Plaster").waste_percent == 5
    assert not RetailPrice.objects.filter(component__build=build).exists()
    named = {person.name for person in earlier.persons.all()}
    assert {person.name for person in build.persons.all()} == named >= {"Ann"}


def test_components_find_the_usual_element_of_their_code(cast, earlier, entries):
    entries.component("Stone", element=earlier.elements.get(code="A10"))
    build = begin(cast, earlier, CarryOver(elements=False))
    assert build.components.get(name="Stone").element == build.elements.get(code="A10")
    assert build.components.get(name="Plaster").element is None


def test_prices_do_not_change_their_currency(cast, earlier):
    count = Build.objects.count()
    with pytest.raises(LedgerError, match="are in USD"):
        begin(cast, earlier, currency="EUR")
    assert Build.objects.count() == count
    build = begin(cast, earlier, CarryOver(prices=False), currency="EUR")
    assert build.components.count() == 4


def test_a_viewer_may_copy_what_a_viewer_may_read(cast, earlier):
    build = begin(cast, earlier, by="viewer")
    assert build.members.get().user == cast["viewer"]
    assert not Member.objects.filter(build=build, user=cast["owner"]).exists()


def test_only_an_owner_undoes_putting_away(cast, build):
    archive_build(actor=cast["owner"], build=build, on=DAY)
    change = Change.objects.filter(build=build).first()
    assert (change.record_type, change.action) == ("build", "changed")
    fresh = Build.objects.get(pk=build.pk)
    with pytest.raises(NotAllowed):
        undo_change(actor=cast["co_builder"], build=fresh, change=change)
    assert Build.objects.get(pk=build.pk).put_away_on == DAY
    undo_change(actor=cast["owner"], build=fresh, change=change)
    assert Build.objects.get(pk=build.pk).put_away_on is None
