"""Work out every stored figure again and print the differences."""

from typing import Any

from django.core.management.base import BaseCommand

from ...queries.builds import list_all
from ...queries.checks import find_differences


class Command(BaseCommand):
    """``check_ledger``: exit 0 when every stored figure is what its facts give, else 1."""

    help = "Work out every stored figure again and print the differences."

    def handle(self, **options: Any) -> None:
        differences = builds = 0
        for build in list_all():
            builds += 1
            for text in find_differences(build):
                differences += 1
                self.stderr.write(f"{build.name}: {text}")
        if differences:
            raise SystemExit(1)
        self.stdout.write(f"Builds checked: {builds}. Differences: none.")
