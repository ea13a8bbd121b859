"""The way back from a figure is the way one came."""

import re

import pytest
from django.urls import reverse

BACK = re.compile(r'<p class="back"><a class="way" href="([^"]*)">([^<]*)</a>')


def back(client, address: str) -> tuple[str, str] | None:
    answer = client.get(address)
    assert answer.status_code == 200
    found = BACK.search(answer.content.decode())
    return (found[1].replace("&amp;", "&"), found[2]) if found else None


@pytest.mark.parametrize(
    ("name", "asked", "expected"),
    [
        ("savings", "", ("cost_sheet", "Back to the cost sheet")),
        ("shared", "", ("settling_up", "Back to settling up")),
        ("savings", "home", ("home", "Back to home")),
        ("spent", "budget", ("budget", "Back to the budget")),
        # Nowhere else, whatever is asked.
        ("savings", "https://a.example/", ("cost_sheet", "Back to the cost sheet")),
        ("savings", "//a.example", ("cost_sheet", "Back to the cost sheet")),
        ("savings", "home.//a.example", ("cost_sheet", "Back to the cost sheet")),
        ("savings", "members", ("cost_sheet", "Back to the cost sheet")),
    ],
)
def test_a_figure_leads_back_where_one_came_from(name, asked, expected, owner, build):
    address = f"{reverse('figure', args=[build.pk, name])}?from={asked}"
    page, words = expected
    assert back(owner, address) == (reverse(page, args=[build.pk]), words)


def test_a_figure_on_the_way_is_passed_again(owner, build):
    """From the home to the savings, to their middle term, and all the way back."""
    savings = reverse("figure", args=[build.pk, "savings"])
    page = owner.get(f"{savings}?from=home").content.decode()
    middle = f"{reverse('figure', args=[build.pk, 'priced_cost'])}?from=home.savings"
    assert f'href="{middle}"' in page
    assert back(owner, middle) == (f"{savings}?from=home", "Back to the figure before")
    assert back(owner, f"{savings}?from=home") == (reverse("home", args=[build.pk]), "Back to home")


def test_rows_lead_back_to_the_figure_they_make_up(owner, build, records):
    spent = reverse("figure", args=[build.pk, "spent"])
    page = owner.get(f"{spent}?from=budget").content.decode()
    lines = f"{reverse('purchase_lines', args=[build.pk])}?state=received"
    assert f'href="{lines}&amp;from=budget.spent"' in page
    assert back(owner, f"{lines}&from=budget.spent") == (
        f"{spent}?from=budget",
        "Back to the figure before",
    )
    component = reverse("component", args=[build.pk, records["component"].pk])
    assert back(owner, component) is None
    assert back(owner, f"{component}?from=cost_sheet.savings")[0] == (
        f"{reverse('figure', args=[build.pk, 'savings'])}?from=cost_sheet"
    )
