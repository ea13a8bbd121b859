#!/usr/bin/env python
"""Command line of buildledger."""

import os
import sys


def main() -> None:
    """Run a management command; what is wrong with the set-up is said in one sentence."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "buildledger.settings")
    if sys.argv[1:2] == ["demo"]:
        # Never the ledger that the environment names.
        os.environ["DJANGO_SETTINGS_MODULE"] = "buildledger.demo_settings"
    # People read what commands write; a server's lines are for machines, unless somebody looks on.
    serves = sys.argv[1:2] == ["serve"]
    os.environ.setdefault("LOG_FORMAT", "json" if serves and not sys.stderr.isatty() else "text")
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line
    from django.db import DatabaseError

    from buildledger.env import provide_local_secret
    from materials.services.outages import Outage, outage_of

    try:
        if serves:
            provide_local_secret()
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        sys.exit(f"{error}")
    except (DatabaseError, OSError) as error:
        outage = outage_of(error)
        if isinstance(error, OSError) and outage is not Outage.FULL:
            raise
        if outage not in (None, Outage.AWAY):
            sys.exit(outage.sentence)
        said = " ".join(str(error).split())
        sys.exit(f"The database does not answer as it should ({said}): run manage.py migrate"
                 " first, or check DATABASE_URL.")  # fmt: skip


if __name__ == "__main__":
    main()
