"""Two people name the same new thing at the same moment: it is one thing, and both entries stand.

Each is a process with a database connection of its own; both looked before either wrote.
"""

import pytest

from materials.services.components import get_or_add_component
from tests.race import race

BEGIN = """
from datetime import date
from materials.models import *
from materials.services.errors import LedgerError
from materials.forms.short_form import LogForm
from materials.services.builds import get_or_add_person
from materials.services.short_form import log_entry
from materials.services.suppliers import get_or_add_supplier
build = Build.objects.get(pk={build})
actor = build.members.get(role="owner").user
typed = dict(what=["Roof sheet", "roof  sheet"][number], quantity_text="3 pieces", price="2",
             source="salvage", supplier=["Mill", "mill"][number], paid_by=["Ida", "ida"][number],
             bought_on="2026-05-04", price_for="each", state="received")
"""
END = """
ready()
try:
    act()
    said = sorted(one.name.lower() for kind in (Component, Supplier, Person)
                  for one in kind.objects.filter(build=build))
except LedgerError as error:
    said = str(error)
"""
WAYS = {
    "log": """
form = LogForm(typed, build=build)
assert form.is_valid(), form.errors
entry = form.values()
assert entry["component"].pk is None
act = lambda: log_entry(actor=actor, build=build, entry=entry)
""",
    "supplier": """
act = lambda: get_or_add_supplier(actor=actor, build=build, name=typed["supplier"])
""",
    "person": """
act = lambda: get_or_add_person(actor=actor, build=build, name=typed["paid_by"])
""",
}


# What stands afterwards, whichever of the two came first.
MADE = {"log": ["ida", "mill", "roof sheet"], "supplier": ["mill"], "person": ["ida"]}


@pytest.mark.parametrize("way", WAYS)
def test_what_two_name_at_once_is_one(way, entries, tmp_path, transactional_db):
    source = BEGIN.format(build=entries.build.pk) + WAYS[way] + END
    assert race(tmp_path, source) == [str(MADE[way])] * 2


def test_what_was_said_of_it_by_either_is_kept(entries):
    """The second of the two adds what the first left open, and overwrites nothing."""
    by = {"actor": entries.actor, "build": entries.build}
    first = {"name": "Roof sheet", "unit": "piece", "traits": ["painted"], "note": "red"}
    get_or_add_component(**by, values=first)
    second = {"name": "roof sheet", "unit": "sq ft", "traits": ["treated"], "note": "green"}
    part = get_or_add_component(**by, values=second | {"contents": "1 piece = 24 sq ft"})
    part.refresh_from_db()
    assert (part.name, part.unit, part.note) == ("Roof sheet", "piece", "red")
    assert part.contents == "1 piece = 24 sq ft"
    assert part.traits == ["painted", "treated"]


def test_two_who_were_suggested_one_number_both_save(entries, tmp_path, transactional_db):
    """The second to come in is given the next one, under the lock."""
    part = entries.component("Roof sheet")
    source = f"""
from datetime import date
from materials.models import *
from materials.services.purchases import save_purchase
build = Build.objects.get(pk={entries.build.pk})
actor = build.members.get(role="owner").user
part = Component.objects.get(pk={part.pk})
lines = [dict(component=part, quantity_text="3 pieces", source="salvage")]
values = dict(number="P001", bought_on=date(2026, 5, 4))
ready()
saved = save_purchase(actor=actor, build=build, purchase=Purchase(), values=values, lines=lines,
                      is_suggested=True)
said = saved.number
"""
    assert sorted(race(tmp_path, source)) == ["P001", "P002"]
