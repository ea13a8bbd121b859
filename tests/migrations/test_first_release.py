"""What the first release stored is all there in the newest version, and means the same.

``first_release.json.gz`` holds every row of a database of the first release, with at least one
row of every model it had; ``first_release.zip`` is that release's own backup of it. Both were
written by that release and are never written again: a database of somebody's is like them.
"""

import gzip
import hashlib
import json
import shutil
from pathlib import Path

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db.migrations import RunSQL
from django.db.migrations.loader import MigrationLoader

from materials.queries.rows import list_all_models
from tests.golden.build import NAME
from tests.golden.expected import EXPECTED
from tests.golden.test_golden_build import ROW_KEYS, differences
from tests.own_database import ROOT, manage_all, own_database

HERE = Path(__file__).parent
ROWS, BACKUP = HERE / "first_release.json.gz", HERE / "first_release.zip"
FIRST = ROOT / "materials" / "migrations" / "0001_initial.py"
DIGEST = "bd420305ff47bb9fad08c63818f6be69839565aa5d70e738c64e39f9cfc73381"
# A column that is gone or holds something else since, and why: nothing is lost by oversight.
# "materials.build.some_column": "why"
CHANGED: dict[str, str] = {}


def stored() -> dict[str, dict]:
    """The rows of the first release."""
    with gzip.open(ROWS, "rt", encoding="utf-8") as file:
        return json.load(file)


TELL = ("tests.migrations.look:tell",)
# Every page is opened, and the ledger looked over.
LOOKED_AT = (
    ("cost_report", "--build", NAME, "--json"),
    ("check_ledger",),
    ("tests.migrations.look:open_pages",),
)


def compare(told: dict[str, dict], but: frozenset[str] = frozenset()) -> list[str]:
    """What of the first release is not there as it was."""
    lost = []
    for label, table in stored().items():
        if label in but:
            continue
        now = told.get(label, {})
        for row in table["rows"]:
            old = dict(zip(table["columns"], row, strict=True))
            new = now.get(str(row[0]))
            if new is None:
                lost.append(f"{label} {row[0]} is gone")
                continue
            lost += [
                f"{label} {row[0]} {column}: was {value!r}, is {new.get(column)!r}"
                for column, value in old.items()
                if f"{label}.{column}" not in CHANGED and new.get(column, "no column") != value
            ]
    return lost


def is_as_worked_by_hand(said: str, ledger: str, opened: str) -> None:
    """The golden build's report is what it was; every stored figure follows from its facts."""
    report = json.loads(said)
    for key, value in EXPECTED.items():
        found = list(differences(value, report.get(key), key, ROW_KEYS.get(key, "")))
        assert not found, found
    assert "Builds checked: 3. Differences: none." in ledger
    assert int(opened) > 100


@pytest.mark.database
@pytest.mark.slow
def test_a_database_of_the_first_release_is_brought_up_to_date(tmp_path):
    with own_database(tmp_path) as env:
        # What other applications had then, and of ours the first release alone.
        manage_all(
            env,
            *(("migrate", app) for app in ("contenttypes", "auth", "sessions", "axes")),
            ("migrate", "materials", "0001_initial"),
            ("tests.migrations.look:load", str(ROWS)),
        )
        _, told, *looked_at = manage_all(env, ("migrate",), TELL, *LOOKED_AT)
        assert compare(json.loads(told)) == []
        is_as_worked_by_hand(*looked_at)


@pytest.mark.database
@pytest.mark.slow
@pytest.mark.parametrize("is_in_use", [False, True])
def test_a_backup_of_the_first_release_is_restored_by_the_newest_version(is_in_use, tmp_path):
    with own_database(tmp_path) as env:
        # A copy: beside it is kept what a restore replaces.
        backup = str(shutil.copy(BACKUP, tmp_path))
        _, said, told, *looked_at = manage_all(
            env, ("migrate",), ("restore", backup), TELL, *LOOKED_AT
        )
        assert "3 builds" in said
        # What serves for some days only stands in no backup; a restored row keeps all else.
        fleeting = frozenset({"materials.attempt", "materials.sentform"})
        assert compare(json.loads(told), fleeting) == []
        is_as_worked_by_hand(*looked_at)
        if is_in_use:
            _, told, opened = manage_all(env, ("restore", backup, "--replace"), TELL, LOOKED_AT[-1])
            assert compare(json.loads(told), fleeting) == []
            assert int(opened) > 100
        photos = [path for path in (tmp_path / "media").rglob("*.jpg")]
        assert len(photos) == 2


def test_the_stored_database_has_a_row_of_every_model_of_the_first_release():
    made = {f"materials.{name}" for name in first_models()}
    assert set(stored()) == made | {"auth.user"}
    assert all(table["rows"] for table in stored().values())


def first_models() -> set[str]:
    loader = MigrationLoader(None)
    state = loader.project_state([("materials", "0001_initial")])
    return {name for app, name in state.models if app == "materials"}


def test_what_would_be_lost_would_be_seen():
    told = {
        label: {str(row[0]): dict(zip(table["columns"], row, strict=True)) for row in table["rows"]}
        for label, table in stored().items()
    }
    assert compare(told) == []
    told["materials.build"]["1"]["name"] = "Another"
    del told["materials.timer"]["1"]
    del told["materials.task"]["1"]["name"]
    assert len(compare(told)) == 3


def test_the_first_migration_is_never_changed():
    """Databases that ran it would not run it again: what changes goes into a new one."""
    assert hashlib.sha256(FIRST.read_bytes()).hexdigest() == DIGEST


@pytest.mark.django_db
def test_every_change_of_a_model_has_its_migration():
    call_command("makemigrations", "--check", "--dry-run", verbosity=0)


def test_the_migrations_are_one_line_without_branches():
    loader = MigrationLoader(None)
    assert loader.detect_conflicts() == {}
    leaves = [node for node in loader.graph.leaf_nodes() if node[0] == "materials"]
    assert len(leaves) == 1


def test_every_migration_can_be_taken_back():
    """And none changes tables in a way that the models of its time do not tell: see restore."""
    loader = MigrationLoader(None)
    stuck = [
        f"{name}: {operation.describe()}"
        for (app, name), migration in loader.disk_migrations.items()
        if app == "materials"
        for operation in migration.operations
        if not operation.reversible
    ]
    assert stuck == []
    own_sql = [
        name
        for (app, name), migration in loader.disk_migrations.items()
        if app == "materials" and any(isinstance(one, RunSQL) for one in migration.operations)
    ]
    assert own_sql == []
    assert {model._meta.app_label for model in list_all_models()} == {"auth", "materials"}
    assert apps.is_installed("materials")
