"""Settings of the test run: the project's own, with a fixed key and fast passwords."""

import os

os.environ.setdefault("SECRET_KEY", "only-for-tests")

from buildledger.settings import *  # noqa: F403
from buildledger.settings import STORAGES

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    **STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
