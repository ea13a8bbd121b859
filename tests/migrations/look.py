"""Steps of a process beside a test, over a database of its own (tests/steps.py)."""

import base64
import gzip
import json
import sys
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

FIRST = [("materials", "0001_initial")]


def load(path: str) -> None:
    """Write the rows of a file into tables as the first release had them, under their own keys."""
    from django.db import connection, transaction
    from django.db.migrations.executor import MigrationExecutor

    from materials.services.restore import write_rows

    state = MigrationExecutor(connection).loader.project_state(FIRST).apps
    with gzip.open(path, "rt", encoding="utf-8") as file:
        stored = json.load(file)
    with transaction.atomic():
        for label, table in stored.items():
            write_rows(state.get_model(label), table["columns"], table["rows"])
        connection.check_constraints()


def tell() -> None:
    """Print every row of the newest tables, as JSON: {model: {key: {column: value}}}."""
    from materials.queries.rows import iterate_rows, list_all_models, list_columns

    told = {
        model._meta.label_lower: {
            str(row[0]): dict(zip(list_columns(model), row, strict=True))
            for row in iterate_rows(model)
        }
        for model in list_all_models()
    }
    sys.stdout.write(json.dumps(told, default=plain))


def plain(value: Any) -> Any:
    """As rows are stored in a file."""
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, timedelta):
        return value.total_seconds()
    if isinstance(value, bytes | memoryview):
        return base64.b64encode(bytes(value)).decode("ascii")
    return str(value)


def open_pages() -> None:
    """Sign in with the password of that time and open what every build has; prints how many."""
    from django.conf import settings
    from django.test import Client
    from django.urls import NoReverseMatch, get_resolver, reverse

    from materials.models import Build

    # As passwords were kept then, and not as tests keep them.
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.PBKDF2PasswordHasher"]
    client = Client(raise_request_exception=True, headers={"host": "localhost"})
    typed = {"username": "ann", "password": "sawdust-and-lime"}
    assert client.post(reverse("sign_in"), typed).status_code == 302
    names = {name for name in get_resolver().reverse_dict if isinstance(name, str)}
    seen = 0
    for build in Build.objects.all():
        for name in sorted(names):
            for told in ([build.pk], []):
                try:
                    url = reverse(name, args=told)
                except NoReverseMatch:
                    continue
                answer = client.get(url)
                if answer.streaming:
                    b"".join(answer)
                # 404: for who comes by a link; 405: only for sending.
                assert answer.status_code in (200, 302, 404, 405), (name, answer.status_code)
                assert answer.status_code == 200 or name not in MUST, name
                seen += answer.status_code == 200
    sys.stdout.write(str(seen))


MUST = {"builds", "cost_sheet", "purchases", "purchase_lines", "components", "conversions"}
MUST |= {"labour", "left_over", "moves", "settling_up", "history", "budget", "members", "imports"}
MUST |= {"download", "build_file", "share_links", "cautions", "needed", "timer"}
