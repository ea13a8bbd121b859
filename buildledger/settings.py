"""Settings from the environment: DATA_ROOT, DATABASE_URL, SECRET_KEY, ALLOWED_HOSTS, HTTPS…"""

import os
from datetime import timedelta

from .env import (
    BASE_DIR,
    kept_at,
    read_backup_key,
    read_bool,
    read_count,
    read_database,
    read_hsts,
    read_list,
    read_log_format,
    read_mail,
    read_secret_key,
)
from .logs import logging_settings

DEBUG = read_bool("DEBUG")
SECRET_KEY = read_secret_key(DEBUG)
# Keys of before: what they signed or sealed is still good, nothing new is made with them.
SECRET_KEY_FALLBACKS = read_list("SECRET_KEY_FALLBACKS", "")
ALLOWED_HOSTS = read_list("ALLOWED_HOSTS", "localhost,127.0.0.1,[::1]")
CSRF_TRUSTED_ORIGINS = read_list("CSRF_TRUSTED_ORIGINS", "")
HTTPS = read_bool("HTTPS")
# Whether devices may keep builds to work without signal; it needs HTTPS, or this machine itself.
OFFLINE = read_bool("OFFLINE", default=True)
# Whether anybody who reaches the sign-in may make an account; else it takes an invitation.
SIGN_UP = read_bool("SIGN_UP")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.humanize",
    "django.contrib.messages",
    "django.contrib.sessions",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.forms",
    "axes",
    "django_filters",
    "django_htmx",
    "django_tables2",
    "materials",
]
MIDDLEWARE = [
    # These two stand around everything else: see there.
    "buildledger.middleware.numbered_and_logged",
    "buildledger.middleware.security_headers",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "buildledger.middleware.PackedPages",
    "buildledger.middleware.understood",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "materials.views.outbox.OutboxAnswers",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "materials.views.places.note_use",
    "materials.views.sign_in.LeadToSignIn",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "materials.views.attempt_limits.UploadLimit",
    "buildledger.middleware.only_sent",
    # Last: it turns a refused sign-in into the page that says when to try again.
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "buildledger.urls"
WSGI_APPLICATION = "buildledger.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
            "builtins": ["materials.templatetags.figures"],
        },
    },
]
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"

DATABASES = {"default": read_database()}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # IMMEDIATE: a service reads what it then changes, so it must hold the write lock first.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
    }
else:
    # As long as SQLite waits for its turn to write; by itself PostgreSQL would wait for ever.
    DATABASES["default"].setdefault("OPTIONS", {}).setdefault("options", "-c lock_timeout=20s")

AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
    )
] + [
    {"NAME": f"materials.services.passwords.{name}"}
    for name in ("BreachedPasswordValidator", "OwnWordsValidator")
]
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
# A name is locked for the address the wrong passwords came from, so that a stranger elsewhere
# cannot lock anybody out. Trying again meanwhile does not make the time any longer.
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = 8
AXES_HANDLER = "materials.services.clock.SignInCounter"
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_CALLABLE = "materials.views.attempt_limits.sign_in_locked"
AXES_CLIENT_IP_CALLABLE = "materials.views.attempt_limits.address_of"
# Who signed in from where, and when, is for the account's own log alone (services.account_log).
AXES_DISABLE_ACCESS_LOG = True
AXES_SENSITIVE_PARAMETERS = ["username", "ip_address", "csrfmiddlewaretoken", "next"]
AXES_VERBOSE = False
# How many proxies stand in front, each adding to X-Forwarded-For: whom a limit counts.
PROXIES = read_count("PROXIES")
# Plans and files that take long are worked out beside the request that asks for them.
LONG_WORK_BESIDE = True
PASSWORD_RESET_TIMEOUT = 24 * 60 * 60
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "builds"
LOGOUT_REDIRECT_URL = "sign_in"

# Mail is sent only where EMAIL_URL says how; without it, passwords are reset by command.
_mail = read_mail()
CAN_SEND_MAIL = bool(_mail)
globals().update(_mail)
EMAIL_TIMEOUT = 10
DEFAULT_FROM_EMAIL = os.environ.get("EMAIL_FROM", "buildledger@localhost")

LANGUAGE_CODE = "en-us"
TIME_ZONE = os.environ.get("TIME_ZONE", "UTC")
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = os.environ.get("STATIC_ROOT", str(kept_at("static")))
STATICFILES_DIRS = [BASE_DIR / "static"]
STATICFILES_FINDERS = [
    "django.contrib.staticfiles.finders.FileSystemFinder",
    "django.contrib.staticfiles.finders.AppDirectoriesFinder",
    "buildledger.joined.JoinedFinder",
]
MEDIA_ROOT = os.environ.get("MEDIA_ROOT", str(kept_at("media")))
# What is worked out beside requests, for an hour: a folder of this machine for temporary files,
# or one that all machines share which serve one ledger.
WORK_ROOT = os.environ.get("WORK_ROOT", "").strip()
# Where “serve” puts the backup that it makes before it changes the shape of the tables.
BACKUP_ROOT = str(kept_at("backups"))
# What seals backups of everything; None leaves them open.
BACKUP_KEY = read_backup_key()
STORAGES = {
    "default": {"BACKEND": "materials.services.files.DurableStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
# A workbook of 100 000 rows is about 5 MB; more than this is refused before it is read.
DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000

SESSION_ENGINE = "materials.services.clock"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
# With the prefix a browser takes the cookie from this host alone, over HTTPS, for all of it.
SESSION_COOKIE_NAME = "__Host-sessionid" if HTTPS else "sessionid"
CSRF_COOKIE_NAME = "__Host-csrftoken" if HTTPS else "csrftoken"
SESSION_COOKIE_HTTPONLY = CSRF_COOKIE_HTTPONLY = True
# Not “Strict”: whoever follows a link from a mail would not be signed in.
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
# Two weeks from signing in, however much it is used: then the password is asked for again.
SESSION_COOKIE_AGE = 14 * 24 * 60 * 60
# Unused for that long, a session ends before: who builds on Saturdays stays signed in.
IDLE_LIMIT = timedelta(days=read_count("IDLE_DAYS", default=8) or 8)
# The health page is asked for by whatever watches over this machine, beside the proxy.
SECURE_REDIRECT_EXEMPT = [r"^health/$"]
# For this host alone: what else is served under its name is not ours to promise HTTPS for.
HSTS = read_hsts()
SECURE_HSTS_SECONDS = 31536000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS and HSTS != "host"
SECURE_HSTS_PRELOAD = HTTPS and HSTS == "preload"
# Django's check for deployment would have every host promise for all names below its own.
_UNASKED = {"host": ["security.W005", "security.W021"], "subdomains": ["security.W021"]}
SILENCED_SYSTEM_CHECKS = _UNASKED.get(HSTS, [])
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

DJANGO_TABLES2_TEMPLATE = "tables/table.html"

LOGGING = logging_settings(read_log_format())
