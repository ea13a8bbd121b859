"""Tables of the ledger."""

from .attachments import Photo
from .builds import Build, BuildArea, DistanceRate, Element, Member, Person
from .components import Component
from .history import Change
from .invitations import Attempt, Invitation
from .labour import LabourEntry, Task
from .moves import Move
from .prices import RetailPrice
from .purchases import Charge, LineTotal, Purchase, PurchaseLine
from .safety import CautionNote
from .sent import SentForm
from .settling import HandOver, Share
from .sharing import ShareLink, hash_token
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
    "HandOver",
    "Invitation",
    "LabourEntry",
    "LeftOver",
    "LineTotal",
    "Member",
    "Move",
    "Person",
    "Photo",
    "Purchase",
    "PurchaseLine",
    "RetailPrice",
    "SentForm",
    "Share",
    "ShareLink",
    "Supplier",
    "Task",
    "Timer",
    "hash_token",
]
