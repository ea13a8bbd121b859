"""Settings of the test run: the project's own, with a fixed key and fast passwords."""

import atexit
import os
import shutil
import tempfile

os.environ.setdefault("SECRET_KEY", "only-for-tests")

from buildledger.settings import *  # noqa: F403
from buildledger.settings import DATABASES, STORAGES

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    **STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
# A test's transaction is seen by its own connection alone.
LONG_WORK_BESIDE = False
# A thread of a live server waits long for a browser's next request: not with the database open.
DATABASES["default"]["CONN_MAX_AGE"] = 0
# Else each test client would read the whole folder of static files again.
WHITENOISE_AUTOREFRESH = True
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # A file, as in use: a database in memory locks whole tables between the live server and a
    # test. Nothing in it has to outlive a power cut. Each process has a folder of its own, for a
    # restore holds the folder it works in.
    _folder = tempfile.mkdtemp(prefix=f"buildledger-tests-{os.getpid()}-")
    atexit.register(shutil.rmtree, _folder, ignore_errors=True)
    DATABASES["default"]["TEST"] = {"NAME": os.path.join(_folder, "ledger.sqlite3")}
    DATABASES["default"]["OPTIONS"] = {
        **DATABASES["default"]["OPTIONS"],
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;",
    }
