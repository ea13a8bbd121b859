"""A build in which every field that somebody states holds something, and not what it would anyway.

The fields come from the models. A value is made by the kind of field; what has rules of its own
stands in ``RULES``, and what cannot stand together in one row is spread over several (``rows``).
"""

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from django.contrib.auth import get_user_model
from django.db import models
from django.utils.timezone import get_current_timezone

from materials.calc.kinds import Kind
from materials.calc.sheets.loads import LOADS
from materials.fields import FixedPointField
from materials.models import (
    Build,
    BuildArea,
    CautionNote,
    Charge,
    Component,
    Conversion,
    ConversionOutput,
    CostIndex,
    CostIndexValue,
    CuttingBuy,
    CuttingHand,
    CuttingMethod,
    CuttingNeed,
    CuttingPlan,
    CuttingTaken,
    DistanceRate,
    Element,
    Estimate,
    HandOver,
    LabourEntry,
    LeftOver,
    Lesson,
    LifeAlternative,
    LifeChoice,
    Member,
    Move,
    Person,
    Photo,
    Purchase,
    PurchaseLine,
    RetailPrice,
    Share,
    ShareLink,
    Supplier,
    Takeoff,
    TakeoffUse,
    Task,
    WayToMake,
)
from materials.models.lessons import ABOUT
from materials.models.stated import derived_fields, parent_link, stated_fields
from materials.queries.rows import which_of_build
from materials.services.components import convert_again, required_quantity
from materials.services.history import RECORDS
from materials.services.ledger import check_stock, cost_purchases
from materials.services.photos import add_photos
from materials.services.totals import rebuild_totals
from materials.takeoffs.calc.takeoff import SHAPES, as_kept, work_out
from tests.photo_files import jpeg, sent

DAY = date(2026, 5, 1)
ASKED = {ask.name: ask.start for ask in SHAPES["framed-wall"].questions}
FIGURES = {
    "elements": [],
    "parts": [],
    "paid_labour": ["1.00", "2.00", "3.00"],
    "hours_apart": ["0.00", "0.00", "0.00"],
    "unknown": ["Lath"],
    "left_out": [],
}
# Every model that is recorded, with the rows that live and die with it.
MODELS: tuple[type[models.Model], ...] = tuple(
    dict.fromkeys(
        part
        for model, children in RECORDS.values()
        for part in (model, *(model._meta.get_field(name).related_model for name in children))
    )
)
# What a field may hold where its kind does not say; the second serves where it is changed.
RULES: dict[tuple[type[models.Model], str], list[Any]] = {
    (Build, "currency"): ["EUR"],
    (Build, "distance_unit"): ["km"],
    (Build, "time_zone"): ["Europe/Lisbon", "America/Halifax"],
    (BuildArea, "label"): ["Porch area"],
    (BuildArea, "area_unit"): ["sq m"],
    (Element, "code"): ["Q10", "Q11"],
    (Component, "unit"): ["piece"],
    (Component, "contents"): ["1 piece = 14 ft", "1 piece = 12 ft"],
    (Component, "required_text"): ["90 pieces", "80 pieces"],
    (Component, "required_from"): ["estimate", "earlier build"],
    (Component, "traits"): [["painted"], ["treated"]],
    (Component, "load_kind"): list(LOADS),
    (Component, "kind"): list(Kind),
    (RetailPrice, "per_text"): ["2 pieces", "4 pieces"],
    (Purchase, "state"): ["offer", "ordered"],
    (Purchase, "lot_split"): ["quantity", "equal"],
    (PurchaseLine, "quantity_text"): ["12 pieces", "10 pieces"],
    (PurchaseLine, "unit_price"): [Decimal(9), Decimal(8)],
    (PurchaseLine, "price_per_text"): ["2 pieces", "1 piece"],
    (PurchaseLine, "price_breaks"): ["20 pieces: 7.00", "16 pieces: 6.00"],
    (PurchaseLine, "most_text"): ["24 pieces", "30 pieces"],
    (PurchaseLine, "step_text"): ["2 pieces", "1 piece"],
    (PurchaseLine, "origin_year"): [1950, 1940],
    (Charge, "distance_text"): ["34 km", "36 km"],
    (Charge, "kind"): ["haulage", "other"],
    (Conversion, "used_text"): ["6 pieces", "7 pieces"],
    (Conversion, "hand_text"): ["2 pieces"],
    (WayToMake, "used_text"): ["2 pieces", "1 piece"],
    (WayToMake, "made_text"): ["5 pieces", "3 pieces"],
    (ConversionOutput, "made_text"): ["3 pieces", "2 pieces"],
    (LeftOver, "quantity_text"): ["3 pieces", "4 pieces"],
    (LeftOver, "hand_text"): ["1 piece"],
    (LeftOver, "fate"): ["sold", "scrapped"],
    (Move, "quantity_text"): ["2 pieces"],
    (Move, "to_text"): ["2 pieces"],
    (LabourEntry, "hours"): [Decimal(3), Decimal(2)],
    (Takeoff, "shape"): ["framed-wall"],
    (Takeoff, "inputs"): [
        ASKED | {"length": "20 ft", "height": "8 ft"},
        ASKED | {"length": "20 ft", "height": "9 ft"},
    ],
    (TakeoffUse, "figure"): ["plates"],
    (TakeoffUse, "quantity_text"): ["60 ft"],
    (LifeChoice, "quantity_text"): ["12 pieces", "10 pieces"],
    (LifeChoice, "rate_kind"): ["nominal"],
    (LifeAlternative, "first_low_amount"): [Decimal(5), Decimal(4)],
    (LifeAlternative, "first_high_amount"): [Decimal(900), Decimal(800)],
    (LifeAlternative, "life_low_years"): [2, 3],
    (LifeAlternative, "life_high_years"): [60, 50],
    (CuttingPlan, "kerf_text"): ["1/8 in", "3/16 in"],
    (CuttingPlan, "keep_text"): ["1 ft", "2 ft"],
    (CuttingHand, "length_text"): ["16 ft"],
    (CuttingHand, "trim_text"): ["1 in"],
    (CuttingBuy, "length_text"): ["12 ft"],
    (CuttingBuy, "trim_text"): ["1 in"],
    (CuttingNeed, "length_text"): ["7 ft"],
    (CuttingHand, "width_text"): ["6 in"],
    (CuttingBuy, "width_text"): ["6 in"],
    (CuttingNeed, "width_text"): ["2 in"],
    (CuttingNeed, "corner_text"): ["3 ft"],
    (CuttingPlan, "method"): [CuttingMethod.RIPPED],
    (Estimate, "area_unit"): ["sq ft"],
    (Estimate, "figures"): [FIGURES],
    (CostIndexValue, "month"): [DAY],
}


def value_of(field: models.Field, n: int, links: dict[type[models.Model], Any]) -> Any:
    """Something that fits a field and is not its default; another thing for another ``n``."""
    if rule := RULES.get((field.model, field.name)):
        return rule[n % len(rule)]
    if field.is_relation:
        return links[field.related_model]
    if field.choices:
        default = field.get_default()
        words = [value for value, _ in field.choices if value != default]
        return words[n % len(words)]
    if isinstance(field, models.BooleanField):
        return not field.get_default()
    if isinstance(field, FixedPointField):
        return Decimal(7 + 2 * n) + Decimal("0.25")
    if isinstance(field, models.IntegerField):
        return 7 + 2 * n
    if isinstance(field, models.DateField | models.TimeField):
        return moment_of(field, n)
    if isinstance(field, models.CharField):
        return f"{field.name.replace('_', ' ')} {n}"
    raise AssertionError(f"No value is known for {field}: give it a rule.")


def moment_of(field: models.Field, n: int) -> Any:
    """A day, a time of day, or both."""
    if isinstance(field, models.DateTimeField):
        return datetime(2026, 5, 1 + n, 9, tzinfo=get_current_timezone())
    return time(18 - n, 30) if isinstance(field, models.TimeField) else DAY + timedelta(days=n)


class World:
    """One filled build; ``links`` holds what a link of each kind leads to."""

    def __init__(self, actor: Any, build: Build):
        self.actor, self.n = actor, 0
        self.links: dict[type[models.Model], Any] = {type(actor): actor, get_user_model(): actor}
        self.links[Build] = self.build = build

    def values(self, model: type[models.Model], n: int = 0, **given: Any) -> dict[str, Any]:
        """A value for each field that is stated of a kind of record."""
        return {
            name: given[name]
            if name in given
            else value_of(model._meta.get_field(name), n, self.links)
            for name in stated_fields(model)
        } | given

    def make(self, model: type[models.Model], **given: Any) -> Any:
        """A filled row; what is worked out follows later."""
        parent = parent_link(model)
        if parent is not None and parent.name not in given:
            given[parent.name] = self.links[parent.related_model]
        record = model(**self.values(model, **given))
        for name in derived_fields(model) - given.keys():
            if isinstance(model._meta.get_field(name), FixedPointField):
                setattr(record, name, Decimal(1))
        record.save()
        self.links[model] = record
        return record

    def fill(self) -> None:
        """Every kind of record."""
        build, made = self.build, self.make
        for name, value in self.values(Build, name=build.name).items():
            setattr(build, name, value)
        build.save()
        made(BuildArea)
        build.distance_rates.all().delete()
        made(DistanceRate, from_on=None)
        made(DistanceRate)
        # Stated apart by what may be linked twice in one row.
        ann, ben = made(Person, name="Ann"), made(Person, name="Ben")
        # A second one of what is linked: nothing uses it, so that it may be deleted.
        for model in (Supplier, Element, Task):
            made(model, **{"code" if model is Element else "name": "Z1"})
            made(model)
        made(Component, name="Spare")
        board, lath = made(Component, name="Board"), made(Component, name="Lath")
        self.links[Component] = board
        made(RetailPrice)
        made(RetailPrice, component=lath, priced_on=DAY + timedelta(days=9))
        stock = made(Purchase, number="Stock", state="received", lot_price_amount=None)
        many: dict[str, Any] = {
            "most_text": "",
            "step_text": "",
            "price_breaks": "",
            "line_price_amount": None,
        }
        many["usable_percent"] = Decimal(100)
        for place, part in enumerate((board, lath)):
            many |= {"component": part, "position": place}
            made(PurchaseLine, purchase=stock, quantity_text="400 pieces", **many)
        self._purchase()
        self._stock(board, lath)
        made(LabourEntry)
        made(Share, person=ann)
        made(HandOver, giver=ann, receiver=ben)
        self._takeoff()
        self._lessons()
        choice = made(LifeChoice)
        for place in range(2):
            made(LifeAlternative, choice=choice, position=place, name=f"Way {place}")
        self._cutting(lath)
        made(Estimate)
        made(CostIndex)
        made(CostIndexValue)
        made(CautionNote)
        for record in (self.links[Purchase], self.links[Conversion], self.links[RetailPrice]):
            add_photos(actor=self.actor, build=build, record=record, files=[sent(jpeg())])
        Photo.objects.filter(build=build).update(caption="Pile", added_by=self.actor)
        made(ShareLink)
        made(ShareLink, token_hash="another", revoked_at=None)
        Member.objects.filter(build=build, user=self.actor).update(person=ann)
        for part in Component.objects.filter(build=build):
            part.required_qty = required_quantity(part.required_text, part)
            part.save()
            convert_again(build, part)
        cost_purchases(build)
        rebuild_totals(build)
        check_stock(build)

    def _purchase(self) -> None:
        """An offer whose lines are priced by the unit, as a whole and by the lot."""
        offer = self.make(Purchase)
        unpriced = {"price_breaks": "", "most_text": "", "step_text": "", "price_per_text": ""}
        ways = (
            {"line_price_amount": None},
            {"unit_price": None, **unpriced},
            {"unit_price": None, "line_price_amount": None, **unpriced},
        )
        for place, way in enumerate(ways):
            self.make(PurchaseLine, purchase=offer, position=place, **way)
        sizes = {"amount": None, "percent": None, "distance_text": ""}
        for place, name in enumerate(sizes):
            others: dict[str, Any] = {k: empty for k, empty in sizes.items() if k != name}
            if name != "percent":
                others["percent_on"] = "price"
            self.make(Charge, purchase=offer, position=place, **others)

    def _stock(self, board: Component, lath: Component) -> None:
        self.make(Conversion, source=board)
        self.make(ConversionOutput, component=lath)
        self.make(WayToMake, source=board, component=lath)
        for quantity in ("20 pieces", "30 pieces"):
            entry = {"fate": "on hand", "hand_text": "", "proceeds_amount": None}
            self.make(LeftOver, quantity_text=quantity, **entry)
        self.make(LeftOver)
        here = {"component": None, "quantity_text": "", "base_qty": None, "was_on_hand": False}
        self.make(Move, **here)
        # Where it went is nobody's business but this build's.
        self.make(Move, to_component=None, to_text="", to_qty=None, elsewhere="")

    def _lessons(self) -> None:
        """One about each thing that a lesson may be about; the last one is free to be deleted."""
        for about in (*ABOUT, None):
            self.make(Lesson, **dict.fromkeys(set(ABOUT) - {about}))
            self.links[Lesson] = Lesson.objects.filter(build=self.build).earliest("pk")

    def _takeoff(self) -> None:
        takeoff = self.make(Takeoff)
        takeoff.figures = as_kept(work_out(takeoff.shape, takeoff.inputs))
        takeoff.save()
        typed = next(row["typed"] for row in takeoff.figures if row["key"] == "plates")
        self.make(TakeoffUse, area_label="", quantity_text=typed)
        self.make(TakeoffUse, component=None, quantity_text=typed)

    def _cutting(self, made_of: Component) -> None:
        taken = self.make(CuttingPlan)
        CuttingTaken.objects.create(plan=taken, logged_conversion=self.links[Conversion])
        plan = self.make(CuttingPlan, name="Open", taken_on=None)
        for each in (taken, plan):
            self.make(CuttingHand, plan=each)
            self.make(CuttingBuy, plan=each)
            self.make(CuttingNeed, plan=each, component=made_of)


def rows_of(model: type[models.Model], build: Build) -> Iterator[Any]:
    """A build's rows of one kind, in order of entry."""
    if model is Build:
        return iter([Build.objects.get(pk=build.pk)])
    return iter(model._default_manager.filter(which_of_build(model, build)).order_by("pk"))


def said_of(record: models.Model) -> dict[str, Any]:
    """What is stated of a record, links by name."""
    parent = parent_link(type(record))
    names = [*stated_fields(type(record))]
    if parent is not None and parent.related_model is not Build:
        names.append(parent.name)
    if hasattr(record, "position"):
        names.append("position")
    return {name: _plain(getattr(record, name)) for name in names}


def _plain(value: Any) -> Any:
    if isinstance(value, models.Model):
        return str(value)
    return bool(value) if isinstance(value, models.fields.files.FieldFile) else value


def tell(build: Build) -> dict[str, list[dict[str, Any]]]:
    """All that is stated in a build, by kind of record, however its rows are ordered."""
    return {
        model._meta.label: sorted((said_of(row) for row in rows_of(model, build)), key=repr)
        for model in MODELS
    }
