"""Records of one build, written through the services in few words."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

from django.utils import timezone

from materials.choices import Fate, LabourKind, Source
from materials.cutting.calc.flat.store import to_data as flat_to_data
from materials.cutting.calc.store import to_data
from materials.cutting.queries.flat_plans import flat_order_of, work_out_flat
from materials.cutting.queries.plans import order_of, work_out
from materials.cutting.services import save_plan
from materials.estimates.calc.price_rise import PriceRise
from materials.estimates.services import estimate_from, save_estimate
from materials.lifecycle.calc.index_text import parse_index
from materials.lifecycle.services.comparisons import save_life_choice
from materials.lifecycle.services.indexes import save_cost_index
from materials.models import (
    Build,
    BuildArea,
    Component,
    Conversion,
    CostIndex,
    CuttingMethod,
    CuttingPlan,
    Element,
    Estimate,
    HandOver,
    LabourEntry,
    LeftOver,
    Lesson,
    LifeChoice,
    Move,
    Purchase,
    RetailPrice,
    ShareLink,
    Supplier,
    Takeoff,
    Task,
    WayToMake,
)
from materials.services.alerts import make_address
from materials.services.builds import get_or_add_person, save_element
from materials.services.components import save_component
from materials.services.labour import save_labour, save_task
from materials.services.lessons import save_lesson
from materials.services.prices import save_price
from materials.services.purchases import save_purchase
from materials.services.settling import save_payment, save_sharing
from materials.services.sharing import make_link
from materials.services.stock import save_conversion, save_left_over
from materials.services.suppliers import get_or_add_supplier, save_supplier
from materials.services.transfers import save_transfer
from materials.services.ways import save_way
from materials.takeoffs.calc.takeoff import SHAPES
from materials.takeoffs.services import UseMode, save_takeoff, use_for_component

DAY = date(2026, 5, 4)
# A day that is to come, whatever day it is.
FAR = date(2190, 5, 4)


def line(component: Component, quantity: str, **values: Any) -> dict[str, Any]:
    """A purchase line, salvage unless said otherwise."""
    given = {"component": component, "quantity_text": quantity, "source": Source.SALVAGE}
    return given | values


def way(name: str, cost: Any, life: int | None, **values: Any) -> dict[str, Any]:
    """One way of a comparison, of no hours and no upkeep unless said otherwise."""
    amount = None if cost is None else Decimal(cost)
    given = {"name": name, "first_amount": amount, "life_years": life, "first_hours": Decimal(0)}
    return given | values


def sized(length: str, width: str, **values: Any) -> dict[str, Any]:
    """A row of a cutting plan with both sizes."""
    return {"length_text": length, "width_text": width} | values


def panel(
    length: str, width: str, count: int, component: Component | None, **values: Any
) -> dict[str, Any]:
    """Pieces needed of a cutting plan of sheets."""
    usual = {"may_turn": False, "is_triangle": False, "corner_text": "", "component": component}
    return sized(length, width, count=count) | usual | values


@dataclass
class Entries:
    """Writes into ``build`` as ``actor``."""

    actor: Any
    build: Build

    @property
    def by(self) -> dict[str, Any]:
        """Who writes where."""
        return {"actor": self.actor, "build": self.build}

    def element(self, code: str, **values: Any) -> Element:
        values = {"code": code, "name": f"Part {code}"} | values
        return save_element(**self.by, element=Element(), values=values)

    def component(self, name: str, unit: str = "piece", **values: Any) -> Component:
        values = {"name": name, "unit": unit} | values
        return save_component(**self.by, component=Component(), values=values)

    def change(self, component: Component, **values: Any) -> Component:
        return save_component(**self.by, component=component, values=values)

    def price(self, component: Component, price: Any, on: date = DAY, **values: Any) -> RetailPrice:
        values = {"component": component, "price": Decimal(price), "priced_on": on} | values
        return save_price(**self.by, price=RetailPrice(), values=values)

    def supplier(self, name: str, **values: Any) -> Supplier:
        return save_supplier(**self.by, supplier=Supplier(), values={"name": name} | values)

    def purchase(
        self, number: str, *lines: dict[str, Any], charges: Any = (), **values: Any
    ) -> Purchase:
        """A purchase; ``supplier`` and ``paid_by`` are names."""
        values = {"number": number, "bought_on": DAY} | values
        if "supplier" in values:
            values["supplier"] = get_or_add_supplier(**self.by, name=values["supplier"])
        if "paid_by" in values:
            values["paid_by"] = get_or_add_person(**self.by, name=values["paid_by"])
        return save_purchase(
            **self.by, purchase=Purchase(), values=values, lines=lines, charges=charges
        )

    def conversion(
        self, number: str, source: Component, used: str, *made: tuple[Component, str], **values: Any
    ) -> Conversion:
        values = {"number": number, "converted_on": DAY, "source": source, "used_text": used} | (
            values
        )
        outputs = [{"component": part, "made_text": text} for part, text in made]
        return save_conversion(**self.by, conversion=Conversion(), values=values, outputs=outputs)

    def way(
        self, source: Component, used: str, component: Component, made: str, **values: Any
    ) -> WayToMake:
        """What one component is stated to give of another."""
        values = {"used_text": used, "component": component, "made_text": made} | values
        return save_way(**self.by, way=WayToMake(), values={"source": source} | values)

    def lesson(self, text: str, **values: Any) -> Lesson:
        """A regret about the whole build unless said otherwise."""
        given = {"kind": "regret", "text": text, "noted_on": DAY} | values
        return save_lesson(**self.by, lesson=Lesson(), values=given)

    def cutting_plan(
        self, name: str, source: Component, made: Component | None, **values: Any
    ) -> CuttingPlan:
        """A kept plan: four pieces of 7 ft from two boards of 16 ft on hand."""
        rows = {
            "hand": [{"length_text": "16 ft", "count": 2, "trim_text": ""}],
            "buy": [],
            "needs": [{"length_text": "7 ft", "count": 4, "component": made}],
        } | {name: values.pop(name) for name in ("hand", "buy", "needs") if name in values}
        given = {"name": name, "component": source, "planned_on": DAY, "kerf_text": "1/8 in"}
        typed = {name: [SimpleNamespace(**row) for row in part] for name, part in rows.items()}
        order, _ = order_of("1/8 in", **typed)
        return save_plan(
            **self.by,
            plan=CuttingPlan(),
            values=given | {"keep_text": "1 ft"} | values,
            result=to_data(work_out(order)),
            **rows,
        )

    def sheet_plan(
        self, name: str, source: Component, made: Component | None, **values: Any
    ) -> CuttingPlan:
        """A kept plan: six panels from a remnant on hand and a sheet to buy."""
        rows = {
            "hand": [sized("4 ft", "3 ft", count=1, trim_text="")],
            "buy": [sized("8 ft", "4 ft", price=Decimal(22), most=None, trim_text="")],
            "needs": [panel("2 ft", "18 in", 6, made, may_turn=True)],
        } | {name: values.pop(name) for name in ("hand", "buy", "needs") if name in values}
        given = {"name": name, "component": source, "planned_on": DAY, "kerf_text": "1/8 in"}
        given |= {"keep_text": "6 in", "method": CuttingMethod.SHEETS} | values
        typed = {name: [SimpleNamespace(**row) for row in part] for name, part in rows.items()}
        texts = given["kerf_text"], given["keep_text"]
        order, _ = flat_order_of(given["method"], texts, **typed)
        result = flat_to_data(work_out_flat(order))
        return save_plan(**self.by, plan=CuttingPlan(), values=given, result=result, **rows)

    def left_over(
        self, component: Component, quantity: str, fate: str = Fate.SCRAPPED, **values: Any
    ) -> LeftOver:
        values = {"component": component, "quantity_text": quantity, "noted_on": DAY} | values
        return save_left_over(**self.by, left_over=LeftOver(), values=values | {"fate": fate})

    def transfer(
        self, component: Component, quantity: str, to_build: Build, on_hand: bool = False, **values
    ) -> Move:
        """A transfer into ``to_build``, to the component of the same name unless said otherwise."""
        given = {"moved_on": DAY, "component": component, "quantity_text": quantity, "note": ""}
        given |= {"was_on_hand": on_hand, "to_component": None} | values
        return save_transfer(**self.by, transfer=Move(), to_build=to_build, values=given)

    def task(self, name: str, **values: Any) -> Task:
        return save_task(**self.by, task=Task(), values={"name": name} | values)

    def labour(
        self, person: str, hours: Any, kind: str = LabourKind.INSTALLING, **values: Any
    ) -> LabourEntry:
        who = get_or_add_person(**self.by, name=person)
        values = {"worked_on": DAY, "person": who, "kind": kind, "hours": Decimal(hours)} | values
        return save_labour(**self.by, entry=LabourEntry(), values=values)

    def estimate(self, *pasts: Build, **values: Any) -> Estimate:
        """An estimate of this build by floor area, from earlier ones."""
        area = self.build.areas.get(label=BuildArea.FLOOR)
        made, given, read = estimate_from(pasts, build=self.build, area=area, rise=PriceRise(DAY))
        return save_estimate(**self.by, made=made, values=given | values, pasts=read)

    def share_link(self, label: str, **values: Any) -> tuple[ShareLink, str]:
        """A link with its token."""
        return make_link(**self.by, values={"label": label, "expires_on": None} | values)

    def calendar_token(self) -> str:
        """The secret of the actor's calendar address."""
        member = self.build.members.get(user=self.actor)
        return make_address(member=member, now=timezone.now())

    def hand_over(self, giver: str, receiver: str, amount: Any, **values: Any) -> HandOver:
        """Payments; ``giver`` and ``receiver`` are names."""
        two = [get_or_add_person(**self.by, name=name) for name in (giver, receiver)]
        given = {"handed_on": DAY, "giver": two[0], "receiver": two[1], "amount": Decimal(amount)}
        return save_payment(**self.by, payment=HandOver(), values=given | values)

    def takeoff(self, name: str, shape: str = "wall", **typed: str) -> Takeoff:
        asked = {ask.name: ask.start for ask in SHAPES[shape].questions}
        made = Takeoff(shape=shape)
        values = {"name": name, "note": "", "inputs": asked | typed}
        save_takeoff(**self.by, takeoff=made, values=values)
        return made

    def use(
        self, takeoff: Takeoff, figure: str, component: Component, how: UseMode = UseMode.ADD
    ) -> None:
        given = {"takeoff": takeoff, "figure": figure, "component": component}
        use_for_component(**self.by, **given, how=how)

    def share(self, hours_count: bool = False, **weights: Any) -> None:
        """State shares by name."""
        shares = [(name, Decimal(weight)) for name, weight in weights.items()]
        save_sharing(**self.by, shares=shares, own_hours_count=hours_count)

    def life_choice(self, name: str, *ways: dict[str, Any], **values: Any) -> LifeChoice:
        """A comparison over 30 years at 3 % above inflation, of two ways unless given."""
        given = {"name": name, "noted_on": DAY, "study_years": 30, "rate_percent": Decimal(3)}
        two = (way("Painted", 900, 12), way("Steel", 1900, 40))
        return save_life_choice(
            **self.by, choice=LifeChoice(), values=given | values, alternatives=ways or two
        )

    def cost_index(self, name: str, months: str = "2026-04 118.5", **values: Any) -> CostIndex:
        """An index with lines of months as they are typed."""
        return save_cost_index(
            **self.by,
            index=CostIndex(),
            values={"name": name, "source": ""} | values,
            months=parse_index(months),
        )

    def fill(self, numbers: range) -> None:
        """One more record of every kind for each number, many of them alike but for the name."""
        for n in numbers:
            element = self.element(f"Z{n:03}", budget_amount=Decimal(10))
            board = self.component(f"Board {n:03}", element=element, required_text="9 pieces")
            strip = self.component(f"Strip {n:03}", element=element)
            lath = self.component(f"Lath {n:03}")
            self.price(board, "4.00", priced_at="Yard")
            self.purchase(
                f"P{n:03}",
                line(board, "12 pieces", unit_price=Decimal(2)),
                line(lath, "5 pieces"),
                charges=[
                    {"kind": "sales tax", "percent": Decimal(8)},
                    {"kind": "haulage", "amount": Decimal(3)},
                ],
                supplier=f"Yard {n:03}",
                paid_by=f"Person {n:03}",
            )
            offered = line(board, "1 piece", unit_price=Decimal(2))
            self.purchase(f"Q{n:03}", offered, state="offer", ends_on=FAR)
            self.conversion(f"C{n:03}", board, "4 pieces", (strip, "8 pieces"), (lath, "2 pieces"))
            self.way(board, "1 piece", self.component(f"Peg {n:03}"), "40 pieces")
            self.cutting_plan(f"Cuts {n:03}", board, strip)
            self.left_over(board, "1 piece", Fate.SOLD, proceeds_amount=Decimal("0.50"))
            self.left_over(strip, "1 piece", Fate.ON_HAND)
            task = self.task(f"Task {n:03}", element=element, planned_hours=Decimal(4))
            self.labour(f"Person {n:03}", 2, task=task)
            self.labour(f"Person {n:03}", 1, LabourKind.SOURCING, paid_amount=Decimal(20))
            self.share_link(f"Reader {n:03}")
            self.hand_over(f"Person {n:03}", "Ann", 5)
            frame = self.takeoff(f"Wall {n:03}", "framed-wall", length="20 ft", height="8 ft")
            self.use(frame, "studs", board, UseMode.KEEP)
            late = self.lesson(f"Oiled too late {n:03}", component=board, amount=Decimal(4))
            self.life_choice(f"Walls {n:03}", component=board, lesson=late)
            self.lesson(f"Sorted first {n:03}", kind="win", element=element)
            self.cost_index(f"Index {n:03}", "2026-03 117\n2026-04 118.5 p")
