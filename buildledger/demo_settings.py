"""Settings of ``manage.py demo``: a ledger of its own, for this machine alone.

Its password stands in the program for all to read. So no ledger that the environment names is
touched, nothing is sent, and no other name than this machine's is answered. Nothing is written
but in one folder: ``DEMO_FOLDER``, else ``.demo`` in the project's, else one of the person's own.
"""

import os
from pathlib import Path
from urllib.parse import quote

from django.core.exceptions import ImproperlyConfigured

from .env import BASE_DIR, provide_local_secret

# What may say otherwise: every setting of a ledger in use, and of how it is reached.
OF_OTHERS = (
    "SECRET_KEY", "DATABASE_URL", "ALLOWED_HOSTS", "HTTPS", "HSTS", "CSRF_TRUSTED_ORIGINS",
    "MEDIA_ROOT", "STATIC_ROOT", "DATA_ROOT", "SIGN_UP", "EMAIL_URL", "EMAIL_FROM", "PROXIES",
    "DEBUG",
)  # fmt: skip


def _folder() -> Path:
    asked = os.environ.get("DEMO_FOLDER", "")
    if asked:
        return Path(asked).absolute()
    if os.access(BASE_DIR, os.W_OK):
        return BASE_DIR / ".demo"
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local/share") / "ledger-demo"


FOLDER = _folder()
for _name in OF_OTHERS:
    os.environ.pop(_name, None)
try:
    FOLDER.mkdir(mode=0o700, parents=True, exist_ok=True)
    provide_local_secret(FOLDER / "secret_key")
except (OSError, ImproperlyConfigured):
    raise ImproperlyConfigured(
        f"The demo cannot be kept in {FOLDER}: name another folder by DEMO_FOLDER."
    ) from None
os.environ["DATABASE_URL"] = f"sqlite:///{quote(str(FOLDER / 'demo.sqlite3'))}"
os.environ["MEDIA_ROOT"] = str(FOLDER / "demo-media")

from .settings import *  # noqa: E402, F403 (reads what was set above)
from .settings import STORAGES  # noqa: E402

IS_DEMO = True
# Styles and scripts are served from where they are written, and collected nowhere.
STATIC_ROOT = None
WHITENOISE_USE_FINDERS = True
STORAGES = {
    **STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
