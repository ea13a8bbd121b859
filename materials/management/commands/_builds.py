"""Finding the build a command names."""

from django.core.management.base import CommandError

from ...models import Build
from ...queries.builds import list_named


def find_build(name: str) -> Build:
    """The one build of this name. Raises CommandError with what to do."""
    found = list_named(name)
    if not found:
        raise CommandError(
            f"There is no build named “{name}”: cost_report --list prints the names."
        )
    if len(found) > 1:
        raise CommandError(
            f"{len(found)} builds are named “{name}”: rename one of them on its page first."
        )
    return found[0]
