"""Triangles of a dome as pieces for a plan of cuts."""

from fractions import Fraction as F

import pytest
from django.urls import reverse

from materials.calc.units import UNITS
from materials.takeoffs.calc.dome_geometry import dome
from materials.takeoffs.calc.panel_pieces import panel_pieces

FOOT = UNITS["ft"].factor


def test_two_kinds_of_triangle_of_a_half_sphere():
    """Frequency 2, radius 8 ft. Struts are 0.54653 and 0.61803 of it (chord factors worked out from
    the icosahedron; the second is the golden ratio less one): 52.47 in and 59.33 in."""
    panels = {panel.kind: panel for panel in panel_pieces(dome(2, 3), F(8), False)}
    assert {kind: panel.count for kind, panel in panels.items()} == {"AAB": 30, "BBB": 10}
    even, other = panels["BBB"], panels["AAB"]
    # 59.33 in up to the next sixteenth; the height is root 3 / 2 of it, the corner its half.
    assert (even.length, even.unit) == (F(59) + F(3, 8), "in")
    assert 0 <= even.width - F("59.331") * F("0.8660254") <= F(1, 8)
    assert abs(even.corner - even.length / 2) <= F(1, 16)
    assert other.length == even.length
    # Half of 59.3313 in are 474.65 sixteenths: 475 are the nearest.
    assert other.corner == F(475, 16)
    # The height over the long side: root of 52.467² - 29.666².
    assert 0 <= other.width - F("43.277") <= F(1, 8)


def test_in_millimetres():
    panels = panel_pieces(dome(1, 2), 2 / FOOT, True)
    assert {panel.unit for panel in panels} == {"mm"}
    # 2 m × 1.0514622 are 2102.92 mm, 1821.19 high, and half of them 1051.46.
    (panel,) = panels
    assert (panel.length, panel.width, panel.corner) == (2103, 1822, 1051)


@pytest.mark.django_db
def test_from_the_takeoff_to_the_plan_of_cuts(clients, entries, build):
    record = entries.takeoff("Small dome", "dome", radius="7 ft")
    client = clients["owner"]
    page = client.get(reverse("takeoff", args=[build.pk, record.pk]))
    assert "Plan cuts of the triangles from sheets" in page.content.decode()
    begun = client.get(page.context["panels_url"]).content.decode()
    # 7 ft × 0.61803 are 51.91 in, up to the next sixteenth; 2 V, as above.
    assert {panel.length for panel in page.context["panels"]} == {F(51) + F(15, 16)}
    for panel in page.context["panels"]:
        assert f'value="{panel.count}"' in begun
    wall = entries.takeoff("Wall", length="20 ft", height="8 ft")
    other = client.get(reverse("takeoff", args=[build.pk, wall.pk])).content.decode()
    assert "Plan cuts of the triangles" not in other
