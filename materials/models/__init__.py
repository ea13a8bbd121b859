"""Tables of the ledger."""

from ..cutting.models import (
    CuttingBuy,
    CuttingHand,
    CuttingMethod,
    CuttingNeed,
    CuttingPlan,
    CuttingTaken,
)
from ..estimates.models import Estimate
from ..lifecycle.models.comparisons import LifeAlternative, LifeChoice
from ..lifecycle.models.indexes import CostIndex, CostIndexValue
from ..takeoffs.models import Takeoff, TakeoffUse
from .accounts import AccountEvent, OpenSession, Passkey, RecoveryCode, SecondFactor
from .alerts import Alerts, Reminder
from .attachments import HeldPhoto, Photo
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
from .invitations import Attempt, Invitation
from .labour import LabourEntry, Task
from .lessons import Lesson
from .prices import RetailPrice
from .purchases import Charge, LineTotal, Purchase, PurchaseLine
from .safety import CautionNote
from .sent_forms import SentForm
from .settling import HandOver, Share
from .sharing import ShareLink, hash_token
from .stock import Conversion, ConversionOutput, LeftOver
from .suppliers import Supplier
from .timers import Timer
from .transfers import Move
from .ways import WayToMake

__all__ = [
    "AccountEvent",
    "Alerts",
    "Attempt",
    "Build",
    "BuildArea",
    "CautionNote",
    "Change",
    "Charge",
    "Component",
    "Conversion",
    "ConversionOutput",
    "CostIndex",
    "CostIndexValue",
    "CuttingBuy",
    "CuttingHand",
    "CuttingMethod",
    "CuttingNeed",
    "CuttingPlan",
    "CuttingTaken",
    "DistanceRate",
    "Element",
    "Estimate",
    "HandOver",
    "HeldPhoto",
    "ImportJob",
    "ImportMapping",
    "ImportName",
    "ImportRow",
    "ImportedRecord",
    "Invitation",
    "JobState",
    "LabourEntry",
    "LeftOver",
    "Lesson",
    "LifeAlternative",
    "LifeChoice",
    "LineTotal",
    "Member",
    "Move",
    "NameKind",
    "OpenSession",
    "Passkey",
    "Person",
    "Photo",
    "Purchase",
    "PurchaseLine",
    "RecoveryCode",
    "Reminder",
    "RetailPrice",
    "RowState",
    "SecondFactor",
    "SentForm",
    "Share",
    "ShareLink",
    "Supplier",
    "TableKind",
    "Takeoff",
    "TakeoffUse",
    "Task",
    "Timer",
    "WayToMake",
    "hash_token",
]
