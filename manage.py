#!/usr/bin/env python
"""Command line of buildledger."""

import os
import sys


def main() -> None:
    """Run a management command; `demo` needs no set-up, so it makes its own secret key."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "buildledger.settings")
    if sys.argv[1:2] == ["demo"]:
        from buildledger.env import provide_local_secret

        provide_local_secret()
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
