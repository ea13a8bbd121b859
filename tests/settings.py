"""Settings of the test run: the project's own, with a fixed key and fast passwords."""

import os

os.environ.setdefault("SECRET_KEY", "only-for-tests")

from buildledger.settings import *  # noqa: F403
from buildledger.settings import BASE_DIR, DATABASES, STORAGES

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    **STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # In a file, as in use: in memory two connections do not wait for each other but fail, and a
    # browser sends a second request while the first is answered. It need not outlive the machine.
    DATABASES["default"]["TEST"] = {"NAME": BASE_DIR / ".tests.sqlite3"}
    DATABASES["default"]["OPTIONS"] |= {
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"
    }
