"""What the commands share."""

from typing import NoReturn

from django.core.management.base import BaseCommand

from ...exchange.faults import shown
from ...models import Build
from ...queries.builds import list_named


def stop(command: BaseCommand, *texts: object) -> NoReturn:
    """Say what is wrong, one sentence a line, and end with 1."""
    for text in texts:
        command.stderr.write(str(text))
    raise SystemExit(1)


def find_called(command: BaseCommand, name: str) -> Build | None:
    """The build of this name, None when there is none; ends the command when several have it."""
    found = list_named(name)
    if len(found) > 1:
        several = f"There are {len(found)} builds called {shown(name)}"
        stop(command, f"{several}: rename all but one first.")
    return found[0] if found else None


def find_build(command: BaseCommand, name: str) -> Build:
    """The one build of this name; ends the command when there is none, or more than one."""
    found = list_named(name)
    if not found:
        stop(command, f"No build is called “{name}”: cost_report --list prints the names.")
    if len(found) > 1:
        count = len(found)
        stop(command, f"{count} builds are named “{name}”: rename one of them on its page first.")
    return found[0]
