"""What was said to be saved, and what may or must therefore be found after a kill."""

import json
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

# Of each record: before, and after. None is: not there.
Changes = dict[str, tuple[Any, Any]]


@dataclass
class Act:
    """One write: what is sent whereto, and what it changes. All of it, or nothing."""

    kind: str
    path: str
    fields: list[tuple[str, str]]
    changes: Changes
    files: Any = None
    # Whether it may be sent again without being recorded twice.
    may_repeat: bool = False


@dataclass
class Book:
    """Records as they must be, and acts that were not answered."""

    must: dict[str, Any] = field(default_factory=dict)
    open: list[Act] = field(default_factory=list)
    keys: dict[str, int] = field(default_factory=dict)
    acknowledged: Counter = field(default_factory=Counter)
    unanswered: Counter = field(default_factory=Counter)
    repeated: int = 0
    # Import -> (rows done at least, whether it was said to be finished).
    imports: dict[str, tuple[int, bool]] = field(default_factory=dict)

    def note(self, act: Act) -> None:
        """The act was acknowledged."""
        self.acknowledged[act.kind] += 1
        self._settle(act, 1)

    def _settle(self, act: Act, which: int) -> None:
        for key, values in act.changes.items():
            if values[which] is None:
                self.must.pop(key, None)
            else:
                self.must[key] = values[which]

    def compare(self, found: dict[str, Any]) -> list[str]:
        """What is wrong; afterwards the book says what was found."""
        wrong = list(found["wrong"])
        records = found["records"]
        self.keys.update(found["keys"])
        for act in self.open:
            lines = [
                [_same(records.get(key), values[which]) for key, values in act.changes.items()]
                for which in (0, 1)
            ]
            if all(lines[1]):
                self.unanswered["whole"] += 1
                self._settle(act, 1)
            elif all(lines[0]):
                self.unanswered["absent"] += 1
                self._settle(act, 0)
            else:
                there = {key: records.get(key) for key in act.changes}
                wrong.append(f"half done: {act.kind} {act.changes}; found {there}")
        wrong += [
            f"{key}: said {self.must.get(key)}, found {records.get(key)}"
            for key in sorted(self.must.keys() | records.keys())
            if not _same(self.must.get(key), records.get(key))
        ]
        self.must = dict(records)
        wrong += self._compare_imports(found["imports"])
        return wrong

    def _compare_imports(self, found: dict[str, Any]) -> list[str]:
        wrong = []
        for key, (done, is_finished) in self.imports.items():
            job = found.get(key)
            if job is None:
                wrong.append(f"import {key} is gone")
            elif job["done"] < done or (is_finished and job["state"] != "done"):
                wrong.append(f"import {key}: {done} rows were in, finished {is_finished}: {job}")
        for key, job in found.items():
            self.imports[key] = (job["done"], job["state"] == "done")
        return wrong


def _same(one: Any, other: Any) -> bool:
    return json.dumps(one, sort_keys=True) == json.dumps(other, sort_keys=True)
