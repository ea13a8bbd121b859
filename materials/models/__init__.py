"""Tables of the ledger."""

from .builds import Build, BuildArea, DistanceRate, Element, Member, Person
from .components import Component
from .history import Change
from .labour import LabourEntry, Task
from .prices import RetailPrice
from .purchases import Charge, LineTotal, Purchase, PurchaseLine
from .stock import Conversion, ConversionOutput, LeftOver
from .suppliers import Supplier

__all__ = [
    "Build",
    "BuildArea",
    "Change",
    "Charge",
    "Component",
    "Conversion",
    "ConversionOutput",
    "DistanceRate",
    "Element",
    "LabourEntry",
    "LeftOver",
    "LineTotal",
    "Member",
    "Person",
    "Purchase",
    "PurchaseLine",
    "RetailPrice",
    "Supplier",
    "Task",
]
