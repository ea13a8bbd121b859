"""Fixed word lists of the ledger. The stored value is the word the workbook uses."""

from django.db import models

from .calc.types import Basis, PercentOn


class Source(models.TextChoices):
    """Where material came from, in the coarsest useful terms."""

    SALVAGE = "salvage", "Salvage"
    SECONDS = "seconds", "Seconds"
    RETAIL = "retail", "Retail"


class ObtainedBy(models.TextChoices):
    """How material was got."""

    DISMANTLED = "dismantled", "Dismantled"
    GIVEN = "given", "Given"
    AUCTION_LOT = "auction lot", "Auction lot"
    SECOND_HAND = "second-hand", "Second-hand"
    FACTORY_SECONDS = "factory seconds", "Factory seconds"
    MIS_TINT = "mis-tint", "Mis-tint"
    OVERSTOCK = "overstock", "Overstock"
    OWN_STOCK = "own stock", "Own stock"
    NEW = "new", "New"


class State(models.TextChoices):
    """How far a purchase has come. Only received ones hold material and cost."""

    OFFER = "offer", "Offer"
    ORDERED = "ordered", "Ordered"
    RECEIVED = "received", "Received"
    DECLINED = "declined", "Declined"


# How a basis of ``calc.types`` is called, of a lot split or of spreading a charge.
SPLITS = {
    Basis.PRICE.value: "By price",
    Basis.RETAIL_VALUE.value: "By retail value",
    Basis.QUANTITY.value: "By quantity",
    Basis.WEIGHT.value: "By given weights",
    Basis.EQUAL.value: "Equally",
}
LOT_SPLITS = {basis: label for basis, label in SPLITS.items() if basis != Basis.PRICE}
PERCENT_ON = {
    PercentOn.PRICE.value: "The price",
    PercentOn.PRICE_AND_CHARGES.value: "Price and charges so far",
}


class ChargeKind(models.TextChoices):
    """Cost on top of the price."""

    SALES_TAX = "sales tax", "Sales tax"
    BUYERS_PREMIUM = "buyer's premium", "Buyer's premium"
    HAULAGE = "haulage", "Haulage"
    HIRE = "hire", "Hire"
    DISPOSAL = "disposal", "Disposal"
    DEPOSIT = "deposit", "Deposit"
    DISCOUNT = "discount", "Discount"
    OTHER = "other", "Other"


class Fate(models.TextChoices):
    """What became of material that did not go into the building.

    Each is a figure of a component (``calc.types.FATES``) by its name in small letters.
    """

    ON_HAND = "on hand", "On hand"
    SCRAPPED = "scrapped", "Scrapped"
    GIVEN_AWAY = "given away", "Given away"
    SOLD = "sold", "Sold"
    MOVED = "moved", "Moved to another build"


class LabourKind(models.TextChoices):
    """What an hour was spent on."""

    SOURCING = "sourcing", "Sourcing"
    PREPARING = "preparing", "Preparing"
    INSTALLING = "installing", "Installing"
    REWORKING = "reworking", "Reworking"
    UPKEEP = "upkeep", "Upkeep"


class LessonKind(models.TextChoices):
    """Whether something would be done otherwise, or again."""

    REGRET = "regret", "Regret"
    WIN = "win", "Win"


class Role(models.TextChoices):
    """What a member of a build may do."""

    OWNER = "owner", "Owner"
    CO_BUILDER = "co-builder", "Co-builder"
    VIEWER = "viewer", "Viewer"


# Ownership is never handed out by a link: an owner hands it to somebody who has joined.
INVITED_ROLES = [choice for choice in Role.choices if choice[0] != Role.OWNER]


class RateKind(models.TextChoices):
    """Whether a discount rate stands above inflation, or has it in it."""

    REAL = "real", "Above inflation (real)"
    NOMINAL = "nominal", "With inflation (nominal)"


class AccountEvents(models.TextChoices):
    """What the log of an account tells of it."""

    SIGNED_IN = "signed in", "Signed in"
    WRONG_CODE = "wrong code", "Right password, wrong code"
    ENDED = "ended", "Signed out elsewhere"
    PASSWORD = "password", "Password changed"
    EMAIL = "email", "E-mail changed"
    FACTOR_ON = "factor on", "Second step turned on"
    FACTOR_OFF = "factor off", "Second step turned off"
    CODES = "codes", "New recovery codes made"
    CODE_USED = "code used", "Recovery code used"
    PASSKEY_ADDED = "passkey added", "Passkey added"
    PASSKEY_ENDED = "passkey ended", "Passkey removed"
    PASSKEY_COPIED = "passkey copied", "Passkey refused: it may be a copy"
    LINKS_ENDED = "links ended", "Share links ended"
