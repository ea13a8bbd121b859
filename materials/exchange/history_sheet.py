"""The history of a build as a sheet to be read: who changed what, when, from what to what."""

from ..models import Build
from ..queries.history import Difference, iterate_history
from .columns import Kind
from .pages import Page

COLUMNS = (
    ("When", Kind.TEXT, 17),
    ("Who", Kind.TEXT, 14),
    ("What", Kind.TEXT, 12),
    ("Of", Kind.TEXT, 14),
    ("Record", Kind.TEXT, 32),
    ("From what to what", Kind.TEXT, 60),
)
# A cell holds 32 767 signs (limit of the applications that write ISO/IEC 29500 files).
MOST_SIGNS = 32_000


def write_history(page: Page, build: Build) -> None:
    """One row for each change, newest first. An import leaves the sheet aside."""
    page.start(list(COLUMNS))
    row = 1
    for row, (change, differences) in enumerate(iterate_history(build), 2):
        cells = (
            f"{change.at:%Y-%m-%d %H:%M}",
            change.who,
            change.action,
            change.record_type,
            change.summary,
            _text(differences),
        )
        page.row(row, cells)
    if row == 1:
        page.sheet.hide()
    else:
        page.sheet.print_area(0, 0, row - 1, len(COLUMNS) - 1)


def _text(differences: list[Difference]) -> str:
    text = "; ".join(f"{what}: {before} → {after}" for what, before, after in differences)
    return text if len(text) <= MOST_SIGNS else f"{text[:MOST_SIGNS]}… (the rest is in the app)"
