"""Tables of the ledger."""

from .attachments import Photo
from .builds import Build, BuildArea, DistanceRate, Element, Member, Person
from .components import Component
from .history import Change
from .imports import (
    ImportedRecord,
    ImportJob,
    ImportMapping,
    ImportName,
    ImportRow,
    JobState,
    NameKind,
    RowState,
    TableKind,
)
from .labour import LabourEntry, Task
from .prices import RetailPrice
from .purchases import Charge, LineTotal, Purchase, PurchaseLine
from .safety import CautionNote
from .stock import Conversion, ConversionOutput, LeftOver
from .suppliers import Supplier
from .timers import Timer

__all__ = [
    "Build",
    "BuildArea",
    "CautionNote",
    "Change",
    "Charge",
    "Component",
    "Conversion",
    "ConversionOutput",
    "DistanceRate",
    "Element",
    "ImportJob",
    "ImportMapping",
    "ImportName",
    "ImportRow",
    "ImportedRecord",
    "JobState",
    "LabourEntry",
    "LeftOver",
    "LineTotal",
    "Member",
    "NameKind",
    "Person",
    "Photo",
    "Purchase",
    "PurchaseLine",
    "RetailPrice",
    "RowState",
    "Supplier",
    "TableKind",
    "Task",
    "Timer",
]
