"""The sums of a build, for tests with many writers. Called in a child of the parent process."""

from typing import Any


def sums(build: int) -> dict[str, Any]:
    """What its cost sheet says, and how many records stand behind it."""
    from django.utils import timezone

    from materials.exchange.cost_json import as_data
    from materials.models import Build, Change
    from materials.queries.checks import find_differences
    from materials.queries.reports import get_cost_sheet

    one = Build.objects.get(pk=build)
    sheet = as_data(get_cost_sheet(one, timezone.localdate()))
    boards = [part for part in sheet["components"] if part["component"] == "Board"]
    return {
        "spent": sheet["spent"],
        "received": boards[0]["received"] if boards else "0",
        "purchases": one.purchases.count(),
        "numbers": one.purchases.values("number").distinct().count(),
        "changes": Change.objects.filter(build=one, record_type="purchase").count(),
        "differences": list(find_differences(one)),
    }
