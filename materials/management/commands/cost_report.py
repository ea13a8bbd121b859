"""Print the cost sheet of a build."""

import json
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from ...calc.stock import ConversionCircle
from ...exchange.cost_json import as_data
from ...exchange.cost_text import sheet_lines
from ...queries.builds import list_names
from ...queries.reports import get_cost_sheet
from ._builds import find_build, stop


class Command(BaseCommand):
    """``cost_report --list`` or ``cost_report --build NAME [--json]``."""

    help = "Print the cost sheet of a build, or the names of all builds."

    def add_arguments(self, parser: Any) -> None:
        what = parser.add_mutually_exclusive_group(required=True)
        what.add_argument("--list", action="store_true", help="print the builds' names, one a line")
        what.add_argument("--build", metavar="NAME", help="the build to report on")
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, **options: Any) -> None:
        if options["list"]:
            for name in list_names():
                self.stdout.write(name)
            return
        build = find_build(self, options["build"])
        try:
            sheet = get_cost_sheet(build, timezone.localdate())
        except ConversionCircle as circle:
            stop(self, str(circle))
        if options["json"]:
            self.stdout.write(json.dumps(as_data(sheet), ensure_ascii=False, indent=2))
        else:
            for line in sheet_lines(sheet):
                self.stdout.write(line)
