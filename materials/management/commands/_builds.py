"""What the commands share."""

from typing import NoReturn

from django.core.management.base import BaseCommand

from ...models import Build
from ...queries.builds import list_named


def stop(command: BaseCommand, text: str) -> NoReturn:
    """Say what is wrong in a sentence, and end with 1."""
    command.stderr.write(text)
    raise SystemExit(1)


def find_build(command: BaseCommand, name: str) -> Build:
    """The one build of this name; ends the command when there is none, or more than one."""
    found = list_named(name)
    if not found:
        stop(command, f"There is no build named “{name}”: cost_report --list prints the names.")
    if len(found) > 1:
        count = len(found)
        stop(command, f"{count} builds are named “{name}”: rename one of them on its page first.")
    return found[0]
