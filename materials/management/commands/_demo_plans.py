"""Takeoffs and cutting plans of a demo build, which a workbook does not carry."""

import json
from datetime import date
from decimal import Decimal
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from django.contrib.auth.models import User

from ...cutting.calc.flat.store import to_data as flat_to_data
from ...cutting.calc.store import to_data
from ...cutting.queries.flat_plans import flat_order_of, work_out_flat
from ...cutting.queries.plans import order_of, work_out
from ...cutting.services import save_plan
from ...models import Build, CuttingPlan, Takeoff
from ...queries.components import list_components
from ...takeoffs.services import UseMode, save_takeoff, use_for_area, use_for_component


def read_rows(folder: Path, name: str) -> Any:
    """What a JSON file of a demo build holds."""
    return json.loads((folder / name).read_text(encoding="utf-8"))


def add_takeoffs(user: User, build: Build, folder: Path) -> None:
    """Where requirements and areas come from, beside what the workbook holds."""
    by: dict[str, Any] = {"actor": user, "build": build}
    for row in read_rows(folder, "takeoffs.json"):
        record = Takeoff(shape=row["shape"])
        values = {name: row[name] for name in ("name", "note", "inputs")}
        save_takeoff(**by, takeoff=record, values=values)
        for figure, component in row["uses"].items():
            part = list_components(build).get(name=component)
            how = UseMode.KEEP if part.required_text else UseMode.ADD
            use_for_component(**by, takeoff=record, figure=figure, component=part, how=how)
        for figure, label in row.get("areas", {}).items():
            use_for_area(**by, takeoff=record, figure=figure, label=label, how=UseMode.ADD)


# What a row of a cutting plan says where its file says nothing.
SIDES = {"width_text": "", "trim_text": ""}
PIECE = {"width_text": "", "may_turn": False, "is_triangle": False, "corner_text": ""}


def add_cutting_plans(user: User, build: Build, folder: Path) -> None:
    """Keep plans of what is cut of what."""
    parts = {part.name: part for part in list_components(build)}
    for row in read_rows(folder, "cutting_plans.json"):
        rows = {
            "hand": [SIDES | each for each in row["hand"]],
            "buy": [
                SIDES | {"most": None} | each | {"price": Decimal(each["price"])}
                for each in row["buy"]
            ],
            "needs": [
                PIECE | each | {"component": parts[each["component"]]} for each in row["needs"]
            ],
        }
        values = {
            **row["values"],
            "component": parts[row["of"]],
            "planned_on": date.fromisoformat(row["day"]),
        }
        save_plan(
            actor=user,
            build=build,
            plan=CuttingPlan(),
            values=values,
            result=_worked_out(values, rows),
            **rows,
        )


def _worked_out(values: dict[str, Any], rows: dict[str, Any]) -> dict[str, Any]:
    """The best plan, as it is stored."""
    typed = {name: [SimpleNamespace(**each) for each in some] for name, some in rows.items()}
    if "method" not in values:
        return to_data(work_out(order_of(values["kerf_text"], **typed)[0]))
    texts = values["kerf_text"], values["keep_text"]
    return flat_to_data(work_out_flat(flat_order_of(values["method"], texts, **typed)[0]))
