"""Imports of other people's tables: everything a closed tab or a killed server must not lose.

A job holds one table from the upload to its end. Its rows keep their cells as read, what was
mended, and what became of them, so that a chunk that commits its records commits that as well.
"""

from django.conf import settings
from django.db import models
from django.utils import timezone

from .builds import Build
from .history import Change


class JobState(models.TextChoices):
    """How far an import has come. KEEPING, CHECKING and RUNNING go on in chunks."""

    TABLE = "table", "Choose the table"
    KEEPING = "keeping", "Being copied"
    COLUMNS = "columns", "Match the columns"
    CHECKING = "checking", "Being read"
    CHECKED = "checked", "To be checked"
    RUNNING = "running", "Being imported"
    DONE = "done", "Imported"


class TableKind(models.TextChoices):
    """What the rows of a table are."""

    PURCHASES = "purchases", "Purchases"
    COMPONENTS = "components", "Components the build needs"
    HOURS = "hours", "Hours of work"
    PRICES = "prices", "Price list of new material"


class RowState(models.TextChoices):
    """What becomes of a row. NEW rows were not checked yet; ABOVE ones stand over the table."""

    NEW = "new", "Not checked yet"
    ABOVE = "above", "Above the headings"
    READY = "ready", "Ready"
    FAULT = "fault", "To fix"
    SKIP = "skip", "Left out"
    DONE = "done", "Imported"


class NameKind(models.TextChoices):
    """What a name in a table stands for."""

    COMPONENT = "component", "Component"
    SUPPLIER = "supplier", "Supplier"
    PERSON = "person", "Person"
    TASK = "task", "Task"


def import_path(job: "ImportJob", name: str) -> str:
    """Where an uploaded table is kept: by build, under a name of our own (made by us)."""
    return f"builds/{job.build_id}/tables/{name}"


class ImportJob(models.Model):
    """One table on its way into a build.

    ``content`` is what the file was found to be (xlsx, ods, xls, text; workbook for one of our
    own, read in whole). ``sheets`` holds name, size and first rows of each sheet; ``profile``
    what was seen in each column; ``mapping`` what the columns were said to be.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="imports")
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="imports"
    )
    started_at = models.DateTimeField(default=timezone.now, editable=False)
    file_name = models.CharField(max_length=120)
    file = models.FileField(upload_to=import_path, max_length=200, blank=True)
    content = models.CharField(max_length=10)
    encoding = models.CharField(max_length=20, blank=True)
    delimiter = models.CharField(max_length=2, blank=True)
    notes = models.JSONField(default=list, blank=True)
    sheets = models.JSONField(default=list, blank=True)
    sheet = models.CharField(max_length=200, blank=True)
    heading_row = models.PositiveIntegerField(default=0)
    kind = models.CharField(max_length=12, choices=TableKind.choices, blank=True)
    profile = models.JSONField(default=list, blank=True)
    mapping = models.JSONField(default=dict, blank=True)
    state = models.CharField(max_length=10, choices=JobState.choices, default=JobState.TABLE)
    row_count = models.PositiveIntegerField(default=0)
    # The last row checked. What goes on from chunk to chunk: where a sheet is copied from, what
    # empty cells would repeat, the last number given.
    checked_to = models.PositiveIntegerField(default=0)
    carried = models.JSONField(default=dict, blank=True)
    done_count = models.PositiveIntegerField(default=0)
    # Bringing in: how many rows were ready when it began.
    to_do = models.PositiveIntegerField(default=0)
    change = models.OneToOneField(
        Change, on_delete=models.SET_NULL, null=True, related_name="import_job"
    )

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.file_name


class ImportRow(models.Model):
    """One row of the table. ``number`` is its place in the file, from 1.

    ``cells``: as read, tagged by type (see ``exchange.outside_tables.cells``). ``mended``: what was
    typed instead, by field. ``values``: what the row was understood as. ``faults``: pairs of
    field and sentence. ``choice``: import or skip, where somebody decided. Rows of one
    ``group_no`` become one purchase.
    """

    job = models.ForeignKey(ImportJob, on_delete=models.CASCADE, related_name="rows")
    number = models.PositiveIntegerField()
    cells = models.JSONField(default=list)
    mended = models.JSONField(default=dict, blank=True)
    choice = models.CharField(max_length=6, blank=True)
    state = models.CharField(max_length=6, choices=RowState.choices, default=RowState.NEW)
    reason = models.CharField(max_length=200, blank=True)
    values = models.JSONField(default=dict, blank=True)
    faults = models.JSONField(default=list, blank=True)
    fingerprint = models.CharField(max_length=40, blank=True)
    is_double = models.BooleanField(default=False)
    group_key = models.CharField(max_length=40, blank=True)
    group_no = models.PositiveIntegerField(default=0)
    record_id = models.BigIntegerField(null=True)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["job", "number"], name="one_import_row_per_number"),
        ]
        indexes = [
            models.Index(fields=["job", "state", "group_no", "number"], name="import_row_state"),
            models.Index(fields=["job", "fingerprint"], name="import_row_fingerprint"),
            models.Index(fields=["job", "group_key"], name="import_row_group"),
            models.Index(fields=["job", "is_double", "number"], name="import_row_double"),
        ]

    def __str__(self) -> str:
        return f"row {self.number}"


class ImportName(models.Model):
    """A name in the table that the build does not have, and what it stands for.

    ``record_id``: the record it was taken for, or that was made of it. ``like``: the key of
    another new name it is the same as. ``settled``: somebody decided, so nothing is proposed.
    """

    job = models.ForeignKey(ImportJob, on_delete=models.CASCADE, related_name="names")
    kind = models.CharField(max_length=10, choices=NameKind.choices)
    key = models.CharField(max_length=200)
    # The key without plural, marks and spaces, by which names are told to be alike.
    loose = models.CharField(max_length=200, blank=True)
    name = models.CharField(max_length=200)
    unit = models.CharField(max_length=12, blank=True)
    contents = models.CharField(max_length=500, blank=True)
    first_row = models.PositiveIntegerField(default=0)
    record_id = models.BigIntegerField(null=True)
    like = models.CharField(max_length=200, blank=True)
    settled = models.BooleanField(default=False)

    class Meta:
        ordering = ["first_row", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["job", "kind", "key"], name="one_import_name"),
        ]
        indexes = [models.Index(fields=["job", "kind", "loose"], name="import_name_loose")]

    def __str__(self) -> str:
        return self.name


class ImportedRecord(models.Model):
    """A record that an import made, so that the import can be undone as one."""

    job = models.ForeignKey(ImportJob, on_delete=models.CASCADE, related_name="records")
    record_type = models.CharField(max_length=20)
    record_id = models.BigIntegerField()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.record_type} {self.record_id}"


class ImportMapping(models.Model):
    """What the columns of a set of headings were last said to be on a build."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="import_mappings")
    headings_key = models.CharField(max_length=64)
    kind = models.CharField(max_length=12, choices=TableKind.choices)
    mapping = models.JSONField(default=dict)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["build", "headings_key"], name="one_import_mapping"),
        ]

    def __str__(self) -> str:
        return self.kind
