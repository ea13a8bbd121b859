"""WSGI entry point."""

import os

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "buildledger.settings")
django.setup(set_prefix=False)

from .requests import Handler  # noqa: E402 (needs the settings)

application = Handler()
