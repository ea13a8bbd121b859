"""Cases that send workbooks, tables and builds: spoiled in bytes, parts, cells or rows."""

import hashlib
import io
import json
import os
from collections.abc import Callable
from functools import cache
from pathlib import Path
from random import Random
from typing import Any
from unittest import mock

from materials.exchange.archive import DAMAGED
from materials.exchange.backups import write_build
from materials.exchange.faults import WorkbookError
from materials.exchange.outside_tables import child, sheets
from materials.exchange.writer import write_workbook
from materials.models import Build
from tests.exchange.small import save, small_sheets
from tests.imports.steps import as_text, as_xlsx

from . import noise
from .asking import form_of, judge_post, post, send, who
from .filling import filled, spoil
from .judging import Watch
from .pages import read_page
from .sending import Upload
from .spoiling import parts_of, spoil_zip, zipped

FILES = Path(__file__).parents[1] / "imports" / "files"
NAMES = (
    "a.xlsx", "a.csv", "a.xls", "a.ods", "a.zip", "a.jpg", "a", "", ".", "..", "../../a.xlsx",
    "a\x00.xlsx",
    "a\r\nb.xlsx", "\u202egpj.exe", noise.MARK, "x" * 400 + ".xlsx", "\ud800.csv", "CON",
    "a.xlsx/", "a\\b.csv",
)  # fmt: skip
TABLE = [
    ["Date", "Where", "What", "How many", "Cost"],
    ["2026-03-07", "Mill Street", "Joists", "14 pieces", "84"],
    ["4/3/2026", "Mill Street", "Door", "2 pieces", "1,250"],
    ["soon", "Mill Street", "Hinge", "some", "dear"],
]


def _sized(random: Random, data: bytes, name: str | None = None) -> Upload:
    name = name or (random.choice(NAMES) if random.random() < 0.3 else "table.xlsx")
    return Upload(
        name, data, random.choice(("application/octet-stream", "text/html", "image/png", ""))
    )


@cache
def _books() -> list[bytes]:
    """Sound workbooks of ours, as small as can be."""
    return [
        save(small_sheets()),
        save({"Labour": small_sheets()["Labour"], "Build": [["Name", "X"]]}),
    ]


def workbook_case(watch: Watch, random: Random, route: str) -> None:
    """Our own workbook, spoiled."""
    sound = list(_books())
    if random.random() < 0.1:
        stream = io.BytesIO()
        write_workbook(watch.world.build, stream)
        sound = [stream.getvalue()]
    if random.random() < 0.1:
        sound = [(FILES / "needs.ods").read_bytes()]
    data = random.choice(sound)
    data = spoil_zip(random, data) if random.random() < 0.95 else data
    form, part = form_of(watch, random, route), who(random, route)
    pairs = filled(random, form, _sized(random, data))
    if random.random() < 0.2:
        pairs = spoil(random, pairs, watch.world.keys)
    judge_post(watch, random, route, part, post(watch, part, form.action, pairs, True))


def forked(data: bytes, *arguments: str) -> list[Any]:
    """What ``ask_child`` does, in a fork: the same code under the same limits, started quickly."""
    ours, theirs = os.pipe()
    key = os.fork()
    if key == 0:
        code = 1
        try:
            os.close(ours)
            child.limit_resources()
            out = io.StringIO()
            child.run(list(arguments), data, out)
            with os.fdopen(theirs, "wb") as pipe:
                pipe.write(out.getvalue().encode())
            code = 0
        finally:
            os._exit(code)
    os.close(theirs)
    with os.fdopen(ours, "rb") as pipe:
        result = pipe.read()
    _, status = os.waitpid(key, 0)
    if status:
        raise WorkbookError(DAMAGED)
    values = [json.loads(line) for line in result.splitlines()]
    for value in values[-1:]:
        if isinstance(value, dict) and "refused" in value:
            raise WorkbookError(value["refused"])
    return values


@cache
def _tables() -> list[tuple[str, bytes]]:
    """Sound tables of other people."""
    return [
        ("a.xlsx", as_xlsx(TABLE)),
        ("b.csv", as_text(TABLE)),
        ("c.csv", as_text(TABLE, ";", "cp1252")),
        ("d.xls", (FILES / "saturdays.xls").read_bytes()),
        ("e.ods", (FILES / "needs.ods").read_bytes()),
        ("f.tsv", as_text(TABLE, "\t", "utf-16")),
    ]


def _odd_table(random: Random) -> bytes:
    rows = [list(row) for row in TABLE]
    for _ in range(random.randrange(1, 9)):
        row = random.choice(rows)
        row[random.randrange(len(row))] = (
            noise.value(random)[:3000].encode("utf-8", "replace").decode()
        )
    if random.random() < 0.1:
        rows += [
            [noise.text(random, 9).encode("utf-8", "replace").decode() for _ in range(5)]
            for _ in range(500)
        ]
    return as_text(rows, random.choice(",;\t|"))


def table_case(watch: Watch, random: Random, route: str) -> None:
    """Somebody's table, spoiled, and then the steps of bringing it in, half as a page would."""
    name, data = random.choice(_tables())
    if random.random() < 0.35:
        data = _odd_table(random)
    elif data.startswith(b"PK"):
        data = spoil_zip(random, data)
    else:
        data = noise.data(random, data)
    # Only some are opened as in use: to start a process takes longer than all the rest.
    instead = forked if random.random() < 0.95 else sheets.ask_child
    with mock.patch.object(sheets, "ask_child", instead):
        form, part = form_of(watch, random, route), who(random, route)
        pairs = [p for p in filled(random, form, _sized(random, data, name)) if p[0] != "pasted"]
        answer = post(watch, part, form.action, pairs, True)
        if answer.status_code >= 400:
            watch.check_unchanged("a table that was refused")
        for _ in range(5):
            if answer.status_code != 302 or not answer["Location"].startswith("/"):
                break
            page = send(watch, part, "GET", answer["Location"])
            forms = [
                f
                for f in read_page(page.content.decode())[0]
                if f.method == "post" and len(f.fields) > 1
            ]
            if not forms:
                break
            form = random.choice(forms)
            pairs = filled(random, form)
            if random.random() < 0.4:
                pairs = spoil(random, pairs, watch.world.keys)
            answer = post(watch, part, form.action or answer["Location"], pairs, form.takes_files)
        if watch.changed():
            watch.check_other()
            watch.check_ledger()


_bundles: dict[int, bytes] = {}


def _bundle(build: Build) -> bytes:
    if build.pk not in _bundles:
        stream = io.BytesIO()
        write_build(build, stream)
        _bundles[build.pk] = stream.getvalue()
    return _bundles[build.pk]


def _odd_json(random: Random, value: Any) -> Any:
    pool = (
        None, True, 0, -1, 2**63, 10**40, "", "x" * 5000, [], {}, [[]], "NaN", "1e400000",
        noise.MARK,
        "2026-02-30", "\x00", "\ud800", {"model": "auth.user", "pk": 1,
        "fields": {"is_superuser": True}}, 1.5,
    )  # fmt: skip
    if isinstance(value, list) and value and random.random() < 0.9:
        out = list(value)
        at = random.randrange(len(out))
        out[at] = _odd_json(random, out[at])
        return out
    if isinstance(value, dict) and value and random.random() < 0.9:
        out = dict(value)
        name = random.choice(list(out))
        if random.random() < 0.2:
            out[random.choice(("pk", "build", "model", noise.text(random, 9)))] = out.pop(name)
        else:
            out[name] = _odd_json(random, out[name])
        return out
    if isinstance(value, str) and random.random() < 0.5:
        return noise.bent(random, value)[:4000]
    return noise.value(random)[:4000] if random.random() < 0.4 else random.choice(pool)


def _spoil_bundle(random: Random, data: bytes) -> bytes:
    """A build's file with other rows in it, whose manifest fits them again."""
    parts = parts_of(data)
    manifest = json.loads(parts["manifest.json"])
    names = [name for name in parts if name.endswith(".jsonl") and parts[name].count(b"\n") > 1]
    for _ in range(random.choice((1, 1, 1, 2, 5))):
        if random.random() < 0.1:
            name = random.choice([n for n in parts if n.startswith("uploads/")] or names)
            parts[name] = noise.data(random, parts[name])
            continue
        name = random.choice(names)
        lines = parts[name].splitlines()
        at = random.randrange(len(lines))
        way = random.randrange(10)
        if way == 0:
            lines.insert(at, lines[at])
        elif way == 1:
            del lines[at]
        elif way == 2:
            lines[at] = noise.data(random, lines[at])
        else:
            try:
                lines[at] = json.dumps(_odd_json(random, json.loads(lines[at]))).encode()
            except ValueError:
                lines[at] = b"[" * 100_000
        parts[name] = b"\n".join(lines) + b"\n"
    for name, result in manifest["parts"].items():
        result["sha256"] = hashlib.sha256(parts[name]).hexdigest()
    if random.random() < 0.15:
        manifest = _odd_json(random, manifest)
    parts["manifest.json"] = json.dumps(manifest).encode()
    return zipped(parts)


def bundle_case(watch: Watch, random: Random, route: str) -> None:
    """The file of a build, spoiled and signed anew."""
    data = _bundle(watch.world.build)
    data = _spoil_bundle(random, data) if random.random() < 0.8 else spoil_zip(random, data)
    form = form_of(watch, random, route)
    part = random.choice(("owner", "stranger"))
    answer = post(watch, part, form.action, filled(random, form, _sized(random, data)), True)
    before = watch.base_other
    judge_post(watch, random, route, part, answer)
    if answer.status_code == 302:
        address = answer["Location"]
        for name in random.sample(("history/", "purchases/lines/", "components/", "settling/",
        "file/",
                                   "workbook/download/", "moves/", "cautions/", "needed/"),
                                   3):  # fmt: skip
            send(watch, part, "GET", address + name)
    assert before == watch.base_other


CASES: dict[str, Callable[[Watch, Random, str], None]] = {
    "workbook": workbook_case,
    "table": table_case,
    "bundle": bundle_case,
}
