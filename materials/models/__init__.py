"""Tables of the ledger."""

from .attachments import Photo
from .builds import Build, BuildArea, DistanceRate, Element, Member, Person
from .components import Component
from .history import Change
from .invitations import Attempt, Invitation
from .labour import LabourEntry, Task
from .prices import RetailPrice
from .purchases import Charge, LineTotal, Purchase, PurchaseLine
from .safety import CautionNote
from .stock import Conversion, ConversionOutput, LeftOver
from .suppliers import Supplier
from .timers import Timer

__all__ = [
    "Attempt",
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
    "Invitation",
    "LabourEntry",
    "LeftOver",
    "LineTotal",
    "Member",
    "Person",
    "Photo",
    "Purchase",
    "PurchaseLine",
    "RetailPrice",
    "Supplier",
    "Task",
    "Timer",
]
