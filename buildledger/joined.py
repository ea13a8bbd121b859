"""All styles as one file and all scripts as one, so that a page asks for two, not twenty.

They stay apart in the project, by their area; the finder joins them whenever static files are
looked for or collected.
"""

import atexit
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

from django.conf import settings
from django.contrib.staticfiles.finders import BaseFinder
from django.core.files.storage import FileSystemStorage, Storage
from rjsmin import jsmin

# Later rules stand over earlier ones of the same weight; what is for paper comes last.
STYLES = (
    "tokens", "page", "parts", "tables", "forms", "sheet", "pictures", "photos", "shared",
    "members", "takeoffs", "lifecycle", "cutting", "home", "yard",
)  # fmt: skip
# Those of a group share their names.
SCRIPTS = (
    ("store", "send", "outbox", "yard", "copies"),
    ("offline",),
    ("pages",),
    ("copy",),
    ("passkeys",),
)


def styles(folder: Path) -> str:
    """Every stylesheet, and in a rule for paper the one for paper."""
    rules = [(folder / f"css/{name}.css").read_text(encoding="utf-8") for name in STYLES]
    paper = (folder / "css/print.css").read_text(encoding="utf-8")
    return "\n".join([*rules, "@media print {", paper, "}\n"])


def scripts(folder: Path) -> str:
    """Every script, each group with names of its own."""
    texts = [script(folder / "js", *names) for names in SCRIPTS]
    return '"use strict";\n' + "\n".join(f"{{\n{text}}}" for text in texts) + "\n"


def script(folder: Path, *names: str) -> str:
    """Scripts one after another, without comments and spare spaces."""
    texts = [(folder / f"{name}.js").read_text(encoding="utf-8") for name in names]
    shortened: str = jsmin("\n".join(texts))
    return shortened


JOINED = {"ledger.css": styles, "ledger.js": scripts}


class JoinedFinder(BaseFinder):
    """Finds ``ledger.css`` and ``ledger.js``."""

    def __init__(self, *args: Any, **options: Any):
        self._folder = Path(mkdtemp(prefix="ledger-static-"))
        atexit.register(shutil.rmtree, self._folder, ignore_errors=True)
        self.storage = FileSystemStorage(location=self._folder)
        super().__init__()

    def check(self, **options: Any) -> list[Any]:
        return []

    def find(self, path: str, find_all: bool = False, **more: Any) -> Any:
        if path not in JOINED:
            return []
        found = str(self._write(path))
        return [found] if find_all else found

    def list(self, ignore_patterns: Iterable[str] | None) -> Iterator[tuple[str, Storage]]:
        for path in JOINED:
            self._write(path)
            yield path, self.storage

    def _write(self, path: str) -> Path:
        """The joined file, as its parts are now."""
        text = JOINED[path](Path(settings.STATICFILES_DIRS[0]))
        file = self._folder / path
        if not file.exists() or file.read_text(encoding="utf-8") != text:
            file.write_text(text, encoding="utf-8")
        return file
