"""Cutting plans: typed, worked out, kept, taken."""

from types import SimpleNamespace
from typing import Any, NamedTuple

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode

from .. import access
from ..calc.measures import QuantityError
from ..calc.units import Unit
from ..forms.rows import rows_of
from ..models import Build, Component, CuttingMethod, CuttingPlan
from ..queries.components import list_components
from ..services.long_work import Work, do_value, forget, key_of
from ..templatetags.figures import money_text, rate_text
from ..views.base import build_view, number_of, page, record_urls, show_list
from ..views.editing import edit, form_over, posted, with_rows
from .calc.flat.store import to_data as flat_to_data
from .calc.flat.types import FlatOrder, FlatPlan
from .calc.store import to_data
from .calc.types import CuttingError, Order
from .forms import (
    MOST_ROWS,
    BuyForm,
    CuttingForm,
    LogPlanForm,
    NeedForm,
    OnHandForm,
)
from .queries.board_sources import board_sources
from .queries.flat_plans import WEB_SECONDS as FLAT_SECONDS
from .queries.flat_plans import flat_order_of, show_flat, work_out_flat
from .queries.plans import (
    WEB_SECONDS,
    get_plan,
    list_plans,
    next_plan_name,
    order_of,
    show,
    work_out,
)
from .queries.starting_rows import starting_rows
from .queries.starting_sheets import comes_in_sheets, starting_pieces
from .queries.uses import read_any
from .services import TAKEN, save_plan, take_plan
from .tables import CuttingPlanTable

ROWS = {"hand": rows_of(OnHandForm), "buy": rows_of(BuyForm), "needs": rows_of(NeedForm)}
PARTS = (
    ("hand", "On hand", (
        "Sizes you have, odd ones too. They are paid for, so they cost nothing more."
    )),
    ("buy", "To buy", (
        "Sizes you can buy, each with the price of one. Add a price to each size to use it."
    )),
    ("needs", "Pieces needed", "The pieces you need."),
)  # fmt: skip


@build_view()
def cutting_plans(request: HttpRequest, build: Build) -> HttpResponse:
    """Plans that were kept."""
    return show_list(
        request,
        build,
        table_class=CuttingPlanTable,
        rows=list_plans(build),
        section="cutting",
        title="Cutting plans",
        intro=(
            "How to cut boards or sheets for all pieces: least cost, then least waste, then the "
            "largest off-cut."
        ),
        add_url=reverse("cutting_plan_add", args=[build.pk]),
        add_label="Plan cuts",
    )


@build_view(edits=True)
def cutting_plan_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Type a plan, see what it comes to, keep it."""
    record = get_plan(build, pk) if pk is not None else CuttingPlan(build=build)
    is_opened = request.method != "POST"
    if record.taken_on is not None and is_opened:
        return _closed(request, build, record)
    start = _start_component(request, build) if pk is None and is_opened else None
    pieces = starting_pieces(request.GET.getlist("piece")) if pk is None and is_opened else []
    known = {"notes": [], "needs": pieces} | (starting_rows(start) if start else {})
    form = form_over(CuttingForm, request, build, record, _start(build, pk, start, pieces))
    rows = {name: _rows(request, build, record, name, known.get(name)) for name in ROWS}
    worked = _work(request, form, rows)

    def save(valid: Any) -> tuple[str, str]:
        saved = save_plan(
            actor=request.user,
            build=build,
            plan=record,
            values=valid.values(),
            result=store(worked.plan),
            **{name: each.rows() for name, each in rows.items()},
        )
        return reverse("cutting_plan", args=[build.pk, saved.pk]), "The plan is saved."

    return edit(
        request,
        build,
        form=form,
        formsets=[
            {"heading": heading, "help": help_text, "formset": rows[name]}
            for name, heading, help_text in PARTS
        ],
        look=lambda: _shown(build, form, rows, worked),
        save=save,
        template="cutting/edit.html",
        section="cutting",
        title="Change cutting plan" if pk is not None else "Plan cuts",
        choices=list_components(build) if pk is None and is_opened else (),
        begun=start,
        cautions=known["notes"],
        back=reverse("cutting_plans", args=[build.pk])
        if pk is None
        else reverse("cutting_plan", args=[build.pk, pk]),
        **record_urls(build, "cutting-plan", pk),
        preview_template="cutting/_result.html",
        answer="cutting/_result.html",
        submit_label="Save plan",
    )


def _start(
    build: Build, pk: int | None, start: Component | None, pieces: list[dict[str, Any]]
) -> dict[str, Any]:
    if pk is not None:
        return {}
    is_sheet = bool(pieces) or (start is not None and comes_in_sheets(start))
    return {
        "method": CuttingMethod.SHEETS if is_sheet else CuttingMethod.LENGTHS,
        "name": next_plan_name(build),
        "planned_on": timezone.localdate(),
        "kerf_text": "1/8 in",
        "component": start.pk if start else None,
    }


def _rows(request: HttpRequest, build: Build, record: CuttingPlan, name: str, known: Any) -> Any:
    """Rows of one kind: those a new plan begins with, where something is known for it."""
    if known:
        return ROWS[name](build=build, prefix=name, initial=known)
    stored = getattr(record, name).all() if record.pk is not None else ()
    return with_rows(ROWS[name], request, build, name, stored)


def _closed(request: HttpRequest, build: Build, record: CuttingPlan) -> HttpResponse:
    return page(
        request,
        build,
        "cutting/closed.html",
        section="cutting",
        title=record.name,
        message=TAKEN,
        back=reverse("cutting_plan", args=[build.pk, record.pk]),
        history_url=record_urls(build, "cutting-plan", record.pk)["history_url"],
    )


def _start_component(request: HttpRequest, build: Build) -> Component | None:
    """The component that the address names. Raises Component.DoesNotExist."""
    number = number_of(request.GET.get("component"))
    return list_components(build).get(pk=number) if number is not None else None


class Worked(NamedTuple):
    """What was typed, and the plan for it once it is worked out."""

    order: Order | FlatOrder
    unit: Unit
    plan: Any
    work: Work


def _work(request: HttpRequest, form: CuttingForm, rows: dict[str, Any]) -> Worked | None:
    """The plan for what was typed; None where there is none, with the reason on the form.

    While it is worked out, the form is only looked at.
    """
    if not form.is_bound or not all([each.is_valid() for each in (form, *rows.values())]):
        return None
    typed = {name: [SimpleNamespace(**row) for row in each.rows()] for name, each in rows.items()}
    if max(len(each) for each in typed.values()) > MOST_ROWS:
        form.add_refusal(
            f"There are more than {MOST_ROWS} rows of one kind: split them into two plans.", None
        )
        return None
    try:
        order, unit = _order(form.cleaned_data, typed)
        key = key_of(request.user, "cutting", order)
        solve = work_out_flat if isinstance(order, FlatOrder) else work_out
        work, plan = do_value(key, lambda: solve(order))
    except QuantityError as error:
        form.add_refusal(str(error), None)
    except CuttingError as error:
        for fault in error.faults:
            form.add_refusal(fault, None)
    else:
        if plan is None:
            _only_look(request, form, key, work)
        return Worked(order, unit, plan, work)
    return None


def _order(values: dict[str, Any], typed: dict[str, Any]) -> tuple[Order | FlatOrder, Unit]:
    if values["method"] == CuttingMethod.LENGTHS:
        return order_of(values["kerf_text"], **typed)
    texts = values["kerf_text"], values["keep_text"]
    return flat_order_of(values["method"], texts, **typed)


def _only_look(request: HttpRequest, form: CuttingForm, key: str, work: Work) -> None:
    """Have a form given back as typed, whose plan is not there yet."""
    if work.state == "stopped":
        forget(key)
    if "look" not in form.data:
        form.data = form.data.copy()
        form.data["look"] = "1"
        messages.info(request, "Not saved yet: the plan is still being worked out.")


def _shown(build: Build, form: CuttingForm, rows: dict[str, Any], worked: Worked) -> dict[str, Any]:
    is_flat = isinstance(worked.order, FlatOrder)
    if worked.plan is None:
        limit = FLAT_SECONDS if is_flat else WEB_SECONDS
        so_far = min(worked.work.seconds, limit)
        return {"shown": None, "work": worked.work, "so_far": so_far, "limit": limit}
    components = [row["component"] for row in rows["needs"].rows()]
    keep = form.cleaned_data["keep_text"]
    money = _money(build)
    if is_flat:
        return {"shown": show_flat(worked.order, worked.unit, worked.plan, components, money)}
    return {"shown": show(worked.order, worked.unit, worked.plan, keep, components, money)}


def store(plan: Any) -> dict[str, Any]:
    """A plan of any kind as it is stored."""
    return flat_to_data(plan) if isinstance(plan, FlatPlan) else to_data(plan)


def _money(build: Build) -> Any:
    return lambda amount: money_text(amount, build.currency)


@build_view()
def cutting_plan(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """A kept plan, to be read and printed."""
    plan = get_plan(build, pk)
    shown = read_any(plan, _money(build))
    made = [row.logged_conversion for row in plan.taken.all() if row.logged_conversion]
    return page(
        request,
        build,
        "cutting/plan.html",
        section="cutting",
        title=plan.name,
        plan=plan,
        shown=shown,
        to_buy=[
            {
                "label": f"{count} × {length}"
                + (f" at {rate_text(price, build.currency)} each" if price is not None else ""),
                "cost": cost,
                "url": f"{reverse('log', args=[build.pk])}?"
                + urlencode({"what": plan.component.name, "much": much}),
            }
            for much, count, length, price, cost in (shown.to_buy if shown else ())
        ],
        made=[
            {"conversion": each, "url": reverse("conversion_edit", args=[build.pk, each.pk])}
            for each in made
        ],
        may_take=shown is not None and plan.taken_on is None,
        **(record_urls(build, "cutting-plan", pk) if access.may_edit(request.user, build) else {}),
    )


@build_view(edits=True)
def cutting_plan_take(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Log what the plan cuts, once."""
    plan = get_plan(build, pk)
    back = reverse("cutting_plan", args=[build.pk, pk])
    shown = read_any(plan, _money(build))
    form = LogPlanForm(posted(request), build=build, initial={"taken_on": timezone.localdate()})
    if shown is None or not shown.to_buy:
        del form.fields["bought"]
    day = form.cleaned_data.get("taken_on") if form.is_bound and not form.is_valid() else None
    rows = board_sources(plan, shown, day or timezone.localdate()) if shown else []

    def save(valid: Any) -> str:
        made = take_plan(
            actor=request.user, build=build, plan=plan, taken_on=valid.cleaned_data["taken_on"]
        )
        numbers = ", ".join(each.number for each in made)
        return f"What was cut is logged as {numbers}. It can be undone in the history as one."

    return edit(
        request,
        build,
        form=form,
        save=save,
        title=f"Take {plan.name}",
        section="cutting",
        back=back,
        done="",
        template="cutting/take.html",
        submit_label="Log the cuts",
        plan=plan,
        shown=shown,
        from_where=rows,
        is_built_in=any(row.built_in for row in rows),
        message=TAKEN if plan.taken_on is not None and request.method != "POST" else "",
    )
