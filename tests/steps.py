"""Several commands one after another in one process, which starts more slowly than most work.

Reads a list of steps from standard input as JSON, each a list of words: those of a command, or
``module:function`` with its arguments. Writes what each printed, as JSON.
"""

import json
import sys
from contextlib import redirect_stdout
from importlib import import_module
from io import StringIO

import django
from django.core.management import execute_from_command_line


def main() -> None:
    django.setup()
    lines = []
    for name, *words in json.load(sys.stdin):
        with redirect_stdout(StringIO()) as out:
            if ":" in name:
                module, function = name.split(":")
                getattr(import_module(module), function)(*words)
            else:
                execute_from_command_line(["manage.py", name, *words])
        lines.append(out.getvalue())
    json.dump(lines, sys.stdout)


if __name__ == "__main__":
    main()
