"""Settings of the bench: those of the tests, but a commit is a commit.

The tests' SQLite need not outlive a power cut; what a logged purchase costs is measured as in use.
"""

import os
import tempfile

from tests.settings import *  # noqa: F403
from tests.settings import DATABASES, LOGGING

if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    folder = os.environ.get("BENCH_FOLDER", tempfile.gettempdir())
    DATABASES["default"]["TEST"] = {
        "NAME": os.path.join(folder, f"buildledger-bench-{os.getpid()}.sqlite3")
    }
    DATABASES["default"]["OPTIONS"] = {
        **DATABASES["default"]["OPTIONS"],
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
    }
else:
    # Not the database of the tests, which may be running beside it.
    DATABASES["default"]["TEST"] = {"NAME": f"buildledger_bench_{os.getpid()}"}
# Django's own set-up for tests would copy the context of every template that is rendered.
ALLOWED_HOSTS = ["testserver", "127.0.0.1"]
# A line for each request is written in use, too, but not between the figures.
LOGGING = {
    **LOGGING,
    "loggers": {**LOGGING["loggers"], "buildledger.requests": {"level": "ERROR"}},
}
