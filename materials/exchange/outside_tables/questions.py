"""Quantities that could mean several things, asked once for all rows that are alike."""

import hashlib
from dataclasses import dataclass

from ...models import Build, ImportJob, ImportRow, JobState
from ...queries import imports as stored
from ...services import import_jobs as jobs
from ...services.errors import LedgerError
from .cells import cell_text
from .check import job_mapping
from .marks import row_list
from .read import RowReader


@dataclass
class Question:
    """One question for rows whose readings differ in their number alone.

    ``text`` and ``offers`` are those of the first row; ``items``: what the rows are of.
    """

    key: str
    text: str
    offers: list[str]
    rows: list[int]
    items: list[str]

    @property
    def answers(self) -> list[tuple[str, str]]:
        """What each button sends, and what stands on it."""
        return [(f"{self.key}:{place}", offer) for place, offer in enumerate(self.offers)]

    @property
    def where(self) -> str:
        """The rows in words."""
        return row_list(self.rows)


def list_questions(job: ImportJob) -> list[Question]:
    """What is still to be answered, by the first row."""
    reader = RowReader(job_mapping(job))
    found: dict[str, Question] = {}
    for row in stored.asked_rows(job):
        offers, item = row.values["offers"], row.values["item"]
        key = _key(offers)
        if key not in found:
            raw = reader.raw(row.cells, row.mended)
            said = [cell_text(raw.get(field)) for field in ("quantity", "unit")]
            found[key] = Question(key, " ".join(filter(None, said)), offers, [], [])
        found[key].rows.append(row.number)
        if item not in found[key].items:
            found[key].items.append(item)
    return list(found.values())


def answer_question(build: Build, pk: int, key: str, place: int) -> bool:
    """Put one reading in place of the quantities of all rows alike, and check the rows again.

    False where there is no such question. Raises LedgerError.
    """
    with jobs.locked_job(build, pk) as job:
        if job.state not in (JobState.CHECKED, JobState.DONE):
            raise LedgerError("The rows are being checked. Wait until that is done.")
        rows = [row for row in stored.asked_rows(job) if _key(row.values["offers"]) == key]
        if not rows or not 0 <= place < len(rows[0].values["offers"]):
            return False
        has_unit = job_mapping(job).column("unit") is not None
        for row in rows:
            _take(row, row.values["offers"][place], has_unit=has_unit)
        jobs.save_mended(rows)
        jobs.begin_check(job)
    return True


def _take(row: ImportRow, text: str, *, has_unit: bool) -> None:
    row.mended = row.mended | {"quantity": text}
    if has_unit:
        # The reading has its unit with it.
        row.mended["unit"] = ""


def _key(offers: list[str]) -> str:
    """The same for offers that differ in the number they begin with alone."""
    readings = "\n".join(offer.partition(" ")[2] for offer in offers)
    return hashlib.sha256(readings.encode()).hexdigest()[:16]
