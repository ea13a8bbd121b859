"""Something new can be named wherever it is needed: made with what needs it, or not at all."""

from decimal import Decimal
from fractions import Fraction

from django.urls import reverse

from materials.models import Component, Conversion, LabourEntry, Purchase, Task, Timer
from tests.entries import Entries, line

PURCHASE = {
    "number": "P9",
    "bought_on": "2026-05-04",
    "state": "received",
    "lines-TOTAL_FORMS": "3",
    "lines-INITIAL_FORMS": "0",
    "lines-0-new_name": "Hinges",
    "lines-0-quantity_text": "6 pair",
    "lines-0-source": "salvage",
    "lines-0-unit_price": "4",
    "lines-1-new_name": "Tarps",
    "lines-1-quantity_text": "3 tarps",
    "lines-1-source": "salvage",
    "lines-1-unit_price": "15 total",
    "lines-2-new_name": "hinges",
    "lines-2-quantity_text": "1 pair",
    "lines-2-source": "salvage",
    "lines-2-unit_price": "about 3",
    "charges-TOTAL_FORMS": "0",
    "charges-INITIAL_FORMS": "0",
}


def faults(answer) -> str:
    """All that a page refuses."""
    context = answer.context
    rows = [row for part in context["formsets"] for row in part["formset"].forms]
    return " ".join(str(each.errors) for each in (context["form"], *rows))


def test_every_row_of_several_lines(clients, build):
    url = reverse("purchase_add", args=[build.pk])
    assert clients["owner"].post(url, PURCHASE).status_code == 302
    assert sorted(Component.objects.values_list("name", "unit")) == [
        ("Hinges", "pair"),
        ("Tarps", "piece"),
    ]
    lines = Purchase.objects.get().lines.all()
    # 6 x 4.00, 15.00 together, 1 x 3.00.
    assert [line.price_amount for line in lines] == [Decimal(24), Decimal(15), Decimal(3)]
    assert [line.note for line in lines] == ["", "", "Price is an estimate."]


def test_what_is_there_already_is_found_and_what_is_chosen_is_not_renamed(clients, build, entries):
    hinges = entries.component("HINGES", "pair")
    url = reverse("purchase_add", args=[build.pk])
    both = clients["owner"].post(url, PURCHASE | {"lines-0-component": hinges.pk})
    assert both.status_code == 422
    assert "Choose one from the list or name something new, not both." in faults(both)
    clients["owner"].post(url, PURCHASE)
    assert sorted(Component.objects.values_list("name", flat=True)) == ["HINGES", "Tarps"]
    assert Purchase.objects.get().lines.filter(component=hinges).count() == 2


def test_nothing_new_is_made_where_the_purchase_is_refused(clients, build):
    url = reverse("purchase_add", args=[build.pk])
    for change, result in (
        ({"lines-1-quantity_text": "40"}, "“40” has no unit. Did you mean 40 pieces?"),
        ({"lines-1-new_name": "Concrete block", "lines-1-quantity_text": "9 @ 8x8x16"}, "8 in x"),
        ({"lines-1-new_name": ""}, "Choose what you got, or name something new."),
    ):
        answer = clients["owner"].post(url, PURCHASE | change)
        assert answer.status_code == 422
        assert result in faults(answer)
        assert not Component.objects.exists()


def test_what_a_conversion_makes(clients, build, cast):
    entries = Entries(cast["owner"], build)
    sheet = entries.component("Roof sheet", contents="1 piece = 3x8 ft")
    entries.purchase("P1", line(sheet, "10 pieces", unit_price=Decimal("6.72")))
    typed = {
        "number": "C1",
        "converted_on": "2026-05-05",
        "source": sheet.pk,
        # Where whole things are counted, a number alone is plain.
        "used_text": "8",
        "extra_cost_amount": "8.64",
        "outputs-TOTAL_FORMS": "1",
        "outputs-INITIAL_FORMS": "0",
        "outputs-0-new_name": "Flashings",
        "outputs-0-made_text": "24",
    }
    url = reverse("conversion_add", args=[build.pk])
    asked = clients["owner"].post(url, typed)
    assert asked.status_code == 422
    assert "“24” has no unit. Did you mean 24 pieces?" in faults(asked)
    typed["outputs-0-made_text"] = "24 pieces"
    looked = clients["owner"].post(url, typed | {"look": "1"})
    assert "New, added when you save: Flashings." in looked.content.decode()
    assert not Component.objects.filter(name="Flashings").exists()
    assert clients["owner"].post(url, typed).status_code == 302
    made = Conversion.objects.get()
    assert (made.used_text, made.used_qty) == ("8 pieces", 8)
    assert made.outputs.get().component.name == "Flashings"
    # The next one is chosen from the list, and counted by a number alone.
    again = typed | {"number": "C2", "used_text": "1", "outputs-0-new_name": ""}
    again |= {
        "outputs-0-component": Component.objects.get(name="Flashings").pk,
        "outputs-0-made_text": "3",
    }
    assert clients["owner"].post(url, again).status_code == 302
    assert Conversion.objects.get(number="C2").outputs.get().made_qty == 3


def test_a_task_in_hours(clients, build):
    url = reverse("labour_add", args=[build.pk])
    typed = {"worked_on": "2026-05-04", "person": "Ida", "kind": "preparing", "hours": "2"}
    for name in ("Cut flashings", "cut  Flashings"):
        assert clients["owner"].post(url, typed | {"new_task": name}).status_code == 302
    task = Task.objects.get()
    assert task.name == "Cut flashings"
    assert LabourEntry.objects.filter(task=task).count() == 2
    both = clients["owner"].post(url, typed | {"new_task": "Roofing", "task": task.pk})
    assert both.status_code == 422
    assert "Choose a task from the list or name a new one, not both." in both.content.decode()
    refused = clients["owner"].post(url, typed | {"new_task": "Roofing", "hours": "2 days"})
    assert "depend on the day: enter 16 if each had 8." in refused.content.decode()
    assert Task.objects.count() == 1


def test_a_task_that_is_timed(clients, build):
    url = reverse("timer", args=[build.pk])
    clients["owner"].post(url, {"kind": "preparing", "new_task": "Pull nails"})
    timer = Timer.objects.get()
    assert timer.task.name == "Pull nails"
    # A second one that runs is refused, and makes no task.
    refused = clients["owner"].post(url, {"kind": "preparing", "new_task": "Roofing"})
    assert refused.status_code == 422
    timer.delete()
    both = {"kind": "preparing", "new_task": "Roofing", "task": timer.task.pk}
    answer = clients["owner"].post(url, both)
    assert "Choose a task from the list or name a new one, not both." in answer.content.decode()
    assert Task.objects.count() == 1
    clients["owner"].post(url, {"kind": "preparing", "new_task": "pull  NAILS"})
    assert Timer.objects.get().task == timer.task
    assert Task.objects.count() == 1


def test_what_a_conversion_into_something_new_comes_to(clients, build, cast):
    """One of the new things at what went in, before it is saved: no row is left behind."""
    entries = Entries(cast["owner"], build)
    sheet = entries.component("Roof sheet", contents="1 piece = 3x8 ft")
    entries.purchase("P1", line(sheet, "10 pieces", unit_price=Decimal("6.72")))
    typed = {
        "number": "C1",
        "converted_on": "2026-05-05",
        "source": sheet.pk,
        "used_text": "8 pieces",
        "extra_cost_amount": "8.64",
        "outputs-TOTAL_FORMS": "2",
        "outputs-INITIAL_FORMS": "0",
        "outputs-0-new_name": "Flashings",
        "outputs-0-made_text": "24 pieces",
        "look": "1",
    }
    url = reverse("conversion_add", args=[build.pk])
    looked = clients["owner"].post(url, typed)
    # 8 x 6.72 + 8.64 = 62.40, 2.60 each.
    made = looked.context["preview"].made[0]
    assert (made.component.name, made.made, made.one) == ("Flashings", 24, Fraction("2.6"))
    text = looked.content.decode()
    assert "$62.40" in text
    assert "$2.60" in text
    assert "New, added when you save: Flashings." in text
    assert not Component.objects.filter(name="Flashings").exists()
    # Two new ones share by what was made of each: 62.40 over 24 and 6, as 2.08 each.
    typed |= {"outputs-1-new_name": "Drips", "outputs-1-made_text": "6 pieces"}
    looked = clients["owner"].post(url, typed)
    assert [row.one for row in looked.context["preview"].made] == [Fraction("2.08")] * 2
    # More than went in is told here too.
    typed |= {"outputs-1-made_text": "9,000 sq ft"}
    assert clients["owner"].post(url, typed).context["preview"].refusal
