"""A restore that is killed at any moment leaves the old ledger or the new one, and works again."""

import os
import random
import subprocess
import sys
import time

import pytest

from tests.migrations.test_first_release import TELL
from tests.own_database import ROOT, manage, manage_all, own_database

KILLS = int(os.environ.get("KILLS", "3"))
LATER = "from materials.models import Supplier; Supplier.objects.update(note='later')"


@pytest.mark.database
@pytest.mark.slow
def test_killed_at_any_moment(tmp_path):
    file, chance = str(tmp_path / "all.zip"), random.Random(11)
    words = [sys.executable, str(ROOT / "manage.py"), "restore", file, "--replace"]
    with own_database(tmp_path, made=True) as env:
        load = ("materials.management.commands.demo:load",)
        _, _, _, new = manage_all(env, ("migrate",), load, ("backup", file), TELL)
        manage(env, "shell", "-v0", "-c", LATER)
        (old,) = manage_all(env, TELL)
        assert old != new
        began = time.monotonic()
        assert "Restored " in manage(env, *words[2:])
        longest = time.monotonic() - began
        assert manage_all(env, TELL) == [new]
        manage(env, "restore", "--undo")
        for _ in range(KILLS):
            restoring = subprocess.Popen(words, env=env, stdout=subprocess.DEVNULL)
            time.sleep(chance.uniform(0.2, 1) * longest)
            restoring.kill()
            restoring.wait()
            found, checked = manage_all(env, TELL, ("check_ledger",))
            assert found in (old, new)
            assert "Differences: none." in checked
            if found == new:
                manage(env, "restore", "--undo")
        assert "Restored " in manage(env, *words[2:])
        assert manage_all(env, TELL) == [new]
        manage(env, "restore", "--drop-kept")
        left = [path.name for path in tmp_path.iterdir() if "restore" in path.name]
        assert left == []
