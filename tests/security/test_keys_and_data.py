"""``keys_and_data.md`` names each module that makes secrets, digests or ciphers, and no other."""

import ast
import re
from pathlib import Path

from django.conf import global_settings
from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.utils.module_loading import import_string

import buildledger.settings

ROOT = Path(__file__).resolve().parents[2]
TEXT = (Path(__file__).parent / "keys_and_data.md").read_text(encoding="utf-8")
# Modules, and names of other modules, that hand out randomness, digests or ciphers.
MODULES = {"secrets", "hashlib", "hmac", "cryptography", "fido2", "django.core.signing"}
NAMES = {"salted_hmac", "constant_time_compare", "get_random_string", "signing"}


def reaches_for(path: Path) -> bool:
    """Whether a module imports any of them."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found = {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom) and not node.level:
            found = {node.module or ""} | ({name.name for name in node.names} & NAMES)
        else:
            continue
        if found & NAMES or any(name.split(".")[0] in MODULES or name in MODULES for name in found):
            return True
    return False


def modules() -> set[str]:
    paths = [*(ROOT / "materials").rglob("*.py"), *(ROOT / "buildledger").rglob("*.py")]
    return {str(path.relative_to(ROOT).with_suffix("")) for path in paths if reaches_for(path)}


def test_each_module_that_makes_secrets_stands_there_and_no_other():
    algorithms = TEXT.partition("## Algorithms")[2].partition("\n## ")[0]
    named = re.findall(r"`((?:materials|buildledger)/[a-z0-9_/]+)`", algorithms)
    assert len(named) == len(set(named))
    assert set(named) == modules()


def test_what_reaches_for_them_would_be_seen(tmp_path):
    path = tmp_path / "module.py"
    for text in (
        "import secrets", "import hashlib as h", "from hashlib import sha256",
        "def f():\n    from django.core import signing", "from django.core.signing import dumps",
        "from cryptography.hazmat.primitives.ciphers.aead import AESGCM",
        "from django.utils.crypto import salted_hmac",
    ):  # fmt: skip
        path.write_text(text, encoding="utf-8")
        assert reaches_for(path), text
    path.write_text("import random\nfrom .secrets import hide\n", encoding="utf-8")
    assert not reaches_for(path)


def test_passwords_are_kept_as_it_says():
    """The tests' own settings have a faster way; the program's are Django's."""
    assert not hasattr(buildledger.settings, "PASSWORD_HASHERS")
    first = import_string(global_settings.PASSWORD_HASHERS[0])
    assert first is PBKDF2PasswordHasher
    assert first.digest().name == "sha256"
    assert "PBKDF2-HMAC-SHA-256" in TEXT
