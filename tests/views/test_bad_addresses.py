"""Addresses with nonsense in them: a plain page or “not found”, never an error."""

import pytest
from django.urls import reverse

from tests.world import once

pytestmark = once("records")

# Lists with what may stand in their addresses.
SORTED = ("suppliers", "purchase_lines", "history")
BY_COMPONENT = ("prices", "purchase_lines", "left_over", "price_add")
BY_DATE = ("purchases", "conversions", "labour", "hand_overs")
FILTERED = (*BY_DATE, "components", *BY_COMPONENT)
NONSENSE = {
    "page": (SORTED, ("-1", "0", "x", "99999", "9" * 30, "1.5", "%00", "²")),
    "sort": (SORTED, ("nonsense", "name,-name", "-", "--name", "pk", "%00", "a__b", "a&sort=-a")),
    "component": (BY_COMPONENT, ("abc", "-1", "9" * 30, "%00", "0", "²")),
    "source": (("conversions", "purchase_lines"), ("abc", "9" * 30, "%00")),
    "since": (BY_DATE, ("nonsense", "2026-02-30", "%00", "0001-01-01")),
    "until": (BY_DATE, ("99999-01-01",)),
    "state": (("purchases", "purchase_lines"), ("zz", "%00")),
    "fate": (("left_over",), ("zz",)),
    "giver": (("hand_overs",), ("abc", "0", "9" * 30, "%00&receiver=abc")),
    "paid_by": (("purchases", "purchase_lines"), ("null", "nil", "9" * 30)),
    "kind": (("labour",), ("zz&paid=zz&task=abc&person=abc",)),
    "name": (("components",), ("%00", "x" * 5000, "%25", "_")),
    "element": (FILTERED, ("x&supplier=abc&paid_by=abc",)),
}


@pytest.mark.parametrize("key", NONSENSE)
def test_nonsense_in_an_address_is_a_plain_page(key, screens):
    names, values = NONSENSE[key]
    for name in names:
        for value in values:
            url = f"{screens.url(name)}?{key}={value}"
            assert screens.client.get(url).status_code == 200, url


def test_a_page_past_the_last_shows_the_last(screens, entries):
    for n in range(60):
        entries.supplier(f"Mill {n:02}")

    def shown(query: str) -> list[str]:
        page = screens.read(screens.url("suppliers") + query)
        return [text for _, text in page.links if text.startswith("Mill")]

    assert shown("?page=99999") == shown("?page=2") == [f"Mill {n}" for n in range(50, 60)]
    assert shown("?page=-1") == shown("") == [f"Mill {n:02}" for n in range(50)]


@pytest.mark.parametrize("pk", ["0", "1" + "0" * 30, "999999"])
def test_a_number_of_nothing_is_not_found(pk, screens):
    for path in (
        *(f"{name}/{pk}/" for name in ("elements", "prices", "suppliers", "conversions")),
        *(f"{name}/{pk}/" for name in ("left-over", "tasks", "hours", "history", "components")),
        f"purchases/{pk}/change/",
        f"delete/purchase/{pk}/",
        f"delete/nonsense/{pk}/",
        f"settling/handed-over/{pk}/",
        f"delete/hand-over/{pk}/",
        f"figures/balance_{pk}/",
        "figures/nonsense/",
        "figures/area_99/",
    ):
        url = screens.url("cost_sheet") + path
        assert screens.client.get(url).status_code == 404, url
        assert screens.client.post(url, {"name": "x"}).status_code == 404, url


@pytest.mark.parametrize("sort", [".", "-.", "name.pk", "__", "-", "", "nowhere", "--name"])
def test_an_order_by_no_column_is_the_lists_own(clients, build, records, sort):
    url = reverse("components", args=[build.pk])
    plain = clients["owner"].get(url).content.count(b"Board")
    answer = clients["owner"].get(url, {"sort": sort})
    assert answer.status_code == 200
    assert answer.content.count(b"Board") == plain
