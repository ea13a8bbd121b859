"""The project's settings as in production, for servers that tests start and kill.

Only what costs time and proves nothing here is other: hashed file names and slow passwords.
"""

from buildledger.settings import *  # noqa: F403
from buildledger.settings import STORAGES

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    **STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
# Nothing is collected for these servers: styles and scripts come from where they are written.
WHITENOISE_USE_FINDERS = True
