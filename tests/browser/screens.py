"""Every screen of the app, by the name of its address; one that has no row here fails."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, time, timedelta
from decimal import Decimal
from typing import Any

from django.urls import get_resolver, reverse
from django.utils import timezone

from materials.choices import Role
from materials.cutting.models import CuttingMethod
from materials.models import Build, LeftOver, Lesson, LifeChoice, Move, Task
from materials.services.accounts import ensure_user
from materials.services.builds import create_build
from materials.services.import_runs import start_run
from materials.services.invitations import invite
from materials.services.labour import save_task
from materials.services.members import add_member
from materials.services.photos import add_photos
from materials.services.sharing import make_link
from materials.services.transfers import save_transfer
from materials.takeoffs.calc.takeoff import SHAPES
from materials.takeoffs.services import UseMode, use_for_area, use_for_component
from tests.entries import Entries, line, panel, sized
from tests.imports.steps import run, small_import
from tests.photo_files import jpeg, sent
from tests.takeoffs.calc.test_takeoff import SAMPLES

Act = Callable[[Any], None]

# Addresses that show no page of the app, and why.
NO_SCREEN = {
    "sign_out": "only for POST",
    "health": "a line for machines",
    "outbox": "a line for scripts",
    "worker": "a script",
    "manifest": "a file for browsers",
    "offline": "shown without signal: test_yard.py",
    "purchase_state": "only for POST",
    "payment_record": "only for POST",
    "change_undo": "only for POST",
    "takeoff_use_remove": "only for POST",
    "download": "a workbook",
    "import_marked": "a workbook",
    "build_file": "a file",
    "invitation_revoke": "only for POST",
    "join": "for who comes by a link: test_members.py",
    "join_account": "for who comes by a link: test_members.py",
    "join_link": "leads on to “join”",
    "first_account": "for who comes by a link: test_members.py",
    "first_link": "leads on to “first_account”",
    "sign_up": "for who is not signed in: test_members.py",
    "sign_in_code": "after the password: test_second_step.py",
    "second_step_off": "where the step is on: test_second_step.py",
    "recovery_codes": "where the step is on: test_second_step.py",
    "passkey_add": "where the step is on: test_passkeys.py",
    "passkey_remove": "where there is one: test_passkeys.py",
    "account_export": "an archive",
    "password_new": "for who comes by a link: test_members.py",
    "download_table": "a CSV file",
    "download_tables": "an archive",
    "calendar": "a calendar",
    "photo": "a picture by itself",
    "photo_small": "a picture by itself",
}


@dataclass(frozen=True)
class Screen:
    """One way to see a page: what its address names, and what is done to it first."""

    named: tuple[str, ...] = ()
    query: str = ""
    label: str = ""
    act: Act | None = None


def at(*named: str, query: str = "", label: str = "", act: Act | None = None) -> Screen:
    """A screen; ``{purchase}`` and the like stand for records of the demo build."""
    return Screen(named, query, label, act)


def press(page: Any, label: str) -> None:
    """Press a button that leads to another page."""
    with page.expect_navigation():
        page.get_by_role("button", name=label, exact=True).locator("visible=true").first.click()


def fault(button: str = "Save", **typed: str) -> Act:
    """Type what is refused, and send it."""

    def act(page: Any) -> None:
        for name, value in typed.items():
            page.locator(f"#entry [name='{name.replace('__', '-')}']").fill(value)
        press(page, button)
        page.locator("#faults, .faults").first.wait_for()

    return act


def fault_with_photo(page: Any) -> None:
    """The short form refused, with a photo that it keeps."""
    page.set_input_files(
        "[name=photo]", {"name": "pile.jpg", "mimeType": "image/jpeg", "buffer": jpeg()}
    )
    fault(quantity_text="25", price="cheap")(page)
    page.get_by_label("pile.jpg").wait_for()


def fault_of_pile(page: Any) -> None:
    """Nothing chosen for the pile."""
    press(page, "Save photos")
    page.locator("#faults").wait_for()


def made_of_it(page: Any) -> None:
    """Something logged with what was made of it, looked over."""
    for name, value in (("what", "Barn board"), ("quantity_text", "6 pieces"), ("price", "30")):
        page.locator(f"#entry [name={name}]").fill(value)
    page.get_by_text("Made something of it already?").click()
    page.locator("[name=outputs-0-new_name]").fill("Lath of barn board")
    page.locator("[name=outputs-0-made_text]").fill("30 pieces")
    press(page, "Preview")
    page.get_by_role("heading", name="Made of it", exact=True).last.wait_for()


def wrong_workbook(page: Any) -> None:
    """A workbook with faults in it."""
    rows = b"Purchase,Date,Component,Quantity\nP1,soon,Nothing,some\nP2,2026-13-01,,3 gal\n"
    page.set_input_files("[name=workbook]", {"name": "x.xlsx", "mimeType": "", "buffer": rows})
    press(page, "Import workbook")
    page.locator(".faults").first.wait_for()


def open_pages(page: Any) -> None:
    """The index of pages, which covers the page on a phone; on a desk it stands beside it."""
    button = page.get_by_role("button", name="More")
    if button.is_visible():
        button.click()
    page.locator("#pages").wait_for()


def understood(page: Any) -> None:
    """The short form with what was understood below it."""
    typed = {"what": "Barn siding", "quantity_text": "3 bundles", "price": "40"}
    for name, value in typed.items():
        page.locator(f"#entry [name={name}]").fill(value)
    page.get_by_label("Salvage").check()
    page.get_by_text("Its share of the charges").or_(page.get_by_text("Landed cost")).wait_for()


def timed(page: Any) -> None:
    """Work that is being timed."""
    press(page, "Start")
    page.get_by_text("running since").wait_for()


def conversion_understood(page: Any) -> None:
    """A conversion as it would come out, before it is saved."""
    page.locator("[name=source]").select_option(label="Hewn barn beam")
    page.locator("[name=used_text]").fill("4 bf")
    page.locator("[name=outputs-0-component]").select_option(label="Sawn board, 1 in")
    page.locator("[name=outputs-0-made_text]").fill("3 bf")
    press(page, "Preview")
    page.get_by_text("With the extra cost").wait_for()


def lasting_understood(page: Any) -> None:
    """A comparison as it would come out, with ranges and hours, before it is saved."""
    head = {"name": "North wall", "study_years": "30", "rate_percent": "3", "hours_rate": "20"}
    ways = (("Painted", "900", "10", "12"), ("Steel", "1900", "12", "40"))
    for name, value in head.items():
        page.locator(f"[name={name}]").fill(value)
    for number, way in enumerate(ways):
        fields = ("name", "first_amount", "first_hours", "life_years")
        for name, value in zip(fields, way, strict=True):
            page.locator(f"[name=alternatives-{number}-{name}]").fill(value)
    press(page, "Preview")
    page.get_by_role("heading", name="Break-even").wait_for()


def cuts_worked_out(page: Any) -> None:
    """A cutting plan before it is kept."""
    page.locator("#id_component").select_option(label="2x8, 10 ft")
    typed = {"hand-0-length_text": "10 ft", "hand-0-count": "3", "buy-0-length_text": "12 ft"}
    typed |= {"buy-0-price": "9", "needs-0-length_text": "5' 1\"", "needs-0-count": "11"}
    for name, value in typed.items():
        page.locator(f"#entry [name={name}]").fill(value)
    press(page, "Preview")
    page.get_by_text("Boards to cut").wait_for()


def link_made(page: Any) -> None:
    """A link that is shown for the only time."""
    page.locator("#entry [name=label]").fill("Aunt Ida")
    press(page, "Make link")
    page.locator("#link").wait_for()


def address_shown(page: Any) -> None:
    """A calendar address that is shown for the only time."""
    press(page, "Make the address")
    page.locator("#link").wait_for()


def address_made(page: Any) -> None:
    """The deadlines of somebody who has a calendar address."""
    page.get_by_role("link", name="Make a", exact=False).last.click()
    address_shown(page)
    page.get_by_role("link", name="Deadlines", exact=True).last.click()
    page.get_by_text("You have a calendar address").wait_for()


def shared(page: Any) -> None:
    """Settling up with shares as stated and own hours that count."""
    page.get_by_role("link", name="Change shares or count own hours").click()
    page.get_by_label("Ida").fill("2")
    page.get_by_label("Marten").fill("1")
    page.get_by_label("Count own hours at the stated rate").check()
    press(page, "Save")
    page.get_by_text("Only people with a stated share").wait_for()


def takeoff_understood(page: Any) -> None:
    """A framed wall as it comes to, before it is kept."""
    typed = {"length": "24 ft", "height": "8 ft", "openings": "3 ft x 6' 8\""}
    for name, value in typed.items():
        page.locator(f"#entry [name={name}]").fill(value)
    page.locator("#understood .takeoff-drawing").wait_for()


def kept(shape: str) -> Act:
    """A takeoff of a shape, saved: its figures and its drawing."""

    def act(page: Any) -> None:
        for name, value in SAMPLES[shape].items():
            box = page.locator(f"#entry [name={name}]")
            is_list = box.evaluate("box => box.tagName === 'SELECT'")
            box.select_option(value) if is_list else box.fill(value)
        press(page, "Save takeoff")
        page.get_by_role("heading", name="Quantities").wait_for()

    return act


def move_understood(page: Any) -> None:
    """A move as it would come out, before it is saved."""
    page.locator("[name=component]").select_option(index=1)
    page.locator("[name=quantity_text]").fill("1 piece")
    press(page, "Preview")
    page.locator("#understood .caution, #understood .ledger").first.wait_for()


def invitation_made(page: Any) -> None:
    """The link of an invitation, as it is shown once."""
    page.locator("[name=note]").fill("Ben, who has the sawmill")
    press(page, "Make link")
    page.locator("#link").wait_for()


def changed_meanwhile(page: Any) -> None:
    """A form that somebody else has saved since it was opened."""
    task = Task.objects.get(pk=int(page.url.rstrip("/").split("/")[-2]))
    other = task.build.members.exclude(role=Role.OWNER).first().user
    values = {"name": f"{task.name}, again", "planned_hours": (task.planned_hours or 0) + 9}
    save_task(actor=other, build=task.build, task=task, values=values)
    page.locator("#entry [name=name]").fill("Sawn and planed")
    press(page, "Save")
    page.get_by_text("changed while you had it open").first.wait_for()


def nothing_to_import(page: Any) -> None:
    """Neither a file nor a paste."""
    press(page, "Preview")
    page.locator(".faults").first.wait_for()


def held(page: Any) -> None:
    """A page of progress that asks, and is not answered."""
    page.route("**/run/", lambda route: route.fulfill(status=204))
    page.get_by_text("Importing rows").first.wait_for()


def no_columns(page: Any) -> None:
    """Nothing said of the columns, and what could be read in two ways not answered."""
    for name in ("field_0", "field_2", "source"):
        page.locator(f"#entry [name={name}]").select_option("")
    press(page, "Check rows")
    page.locator(".faults").first.wait_for()


def no_such_name(page: Any) -> None:
    """A name that is to stand for something that is not there."""
    page.get_by_label("Same as").first.fill("Something else")
    page.get_by_label("Unit, if new").first.fill("armful")
    press(page, "Save and check again")
    page.locator(".has-fault").first.wait_for()


LONG = "7" * 45
# Shapes whose figures are a page unlike the others'.
SAVED_TOO = ("headroom", "beds", "frustum", "lumber-faces", "trims", "parts")
SCREENS: dict[str, tuple[Screen, ...]] = {
    "builds": (at(), at(query="?away=1", label="put away")),
    "sign_in": (at(label="signed in already"),),
    "build_add": (
        at(),
        at(query="?like={build}", label="like an earlier one"),
        at(label="faults", act=fault("Start build", floor_area="5 gal", budget_amount="x")),
    ),
    "compare": (at(), at(query="?build={build}&build={second}", label="compared")),
    "build_archive": (at(),),
    "upload_new": (at(), at(label="faults", act=wrong_workbook)),
    "build_file_new": (at(),),
    "home": (at(), at(label="index open", act=open_pages)),
    "search": (at(query="?q=boar"), at(query="?q=xyzzyx", label="nothing")),
    "search_builds": (at(query="?q=boar"),),
    "cost_sheet": (at(),),
    "yard": (at(),),
    "build_edit": (at(),),
    "figure": tuple(
        at(name) for name in ("spent", "savings", "retail_equivalent", "area_0", "forecast_low")
    ),
    "budget": (at(),),
    "elements": (at(),),
    "element_add": (at(), at(label="faults", act=fault())),
    "element": (at("{element}"),),
    "element_edit": (at("{element}"),),
    "estimates": (at(),),
    "estimate_add": (at(), at(label="faults", act=fault("Save estimate", yearly="much"))),
    "estimate": (at("{estimate}"),),
    "estimate_use": (at("{estimate}"),),
    "cost_basis": (at(),),
    "replacement": (at(), at(query="?on=2026-05-01", label="at earlier prices")),
    "landfill": (at(),),
    "needed": (at(),),
    "sourcing": (
        at(),
        at(query="?aim=both&rate=22&recipe=22-42", label="money and hours"),
        at(query="?aim=money&most_money=100", label="no plan"),
        at(query="?aim=both&rate=dear", label="faults"),
    ),
    "cautions": (at(),),
    "caution_deal": (at("reused-material"), at("reused-material", label="faults", act=fault())),
    "takeoffs": (at(),),
    "takeoff_shapes": (at(),),
    "takeoff_add": (
        *(at(shape) for shape in SHAPES),
        *(at(shape, label="saved", act=kept(shape)) for shape in SAVED_TOO),
        at("framed-wall", label="understood", act=takeoff_understood),
        at("wall", label="faults", act=fault("Save takeoff", length="long")),
    ),
    "takeoff": (at("{takeoff}"), at("{dome}", label="dome")),
    "takeoff_edit": (at("{takeoff}"),),
    "takeoff_use": (
        at("{takeoff}", "net"),
        at("{takeoff}", "net", label="faults", act=fault("Use it")),
    ),
    "components": (at(), at(query="?name=nowhere", label="nothing found")),
    "compared": (at(),),
    "component_add": (at(), at(label="faults", act=fault(contents="some"))),
    "component": (
        at("{component}"),
        at("{drum}", label="in many states"),
        at("{siding}", label="taken off"),
    ),
    "component_edit": (at("{component}"),),
    "prices": (at(),),
    "price_add": (at(), at(label="faults", act=fault(price="dear"))),
    "price_edit": (at("{price}"),),
    "suppliers": (at(),),
    "supplier_add": (at(), at(label="faults", act=fault())),
    "supplier": (at("{supplier}"),),
    "supplier_edit": (at("{supplier}"),),
    "purchases": (at(), at(query="?state=ordered", label="filtered")),
    "purchase_lines": (at(query="?page=2", label="second page"),),
    "lines_change": (
        at(label="none ticked"),
        at(query="?all=1&source=new", label="all listed"),
        at(query="?all=1&source=new", label="faults", act=fault(bought_on="", new_per_text="gal")),
    ),
    "log": (
        at(),
        at(label="understood", act=understood),
        at(label="faults with a photo", act=fault_with_photo),
        at(query="?into={offer}", label="another line"),
        at(query="?state=offer", label="offer", act=understood),
        at(query="?like={offer}", label="one more like it"),
        at(query="?pile={waiting}", label="of the pile"),
        at(label="made of it", act=made_of_it),
    ),
    "purchase_add": (
        at(),
        at(query="?like={purchase}", label="another like it"),
        at(label="faults", act=fault(lines__0__quantity_text="25", charges__0__amount="x")),
    ),
    "purchase": (
        at("{purchase}"),
        at("{offer}", label="offer"),
        at("{ordered}", label="ordered"),
        at("{declined}", label="declined"),
    ),
    "purchase_edit": (at("{purchase}"),),
    "deadlines": (at(), at(label="with an address", act=address_made)),
    "calendar_make": (at(), at(label="made", act=address_shown)),
    "calendar_revoke": (at(),),
    "deadline_mail": (at(),),
    "conversions": (at(),),
    "conversion_add": (
        at(),
        at(label="understood", act=conversion_understood),
        at(label="faults", act=fault(used_text="a lot")),
    ),
    "conversion_edit": (at("{conversion}"),),
    "ways": (at(),),
    "way_to_make_add": (
        at(query="?source={board}", label="begun"),
        at(label="faults", act=fault(used_text="a lot")),
    ),
    "way_to_make_edit": (at("{way_to_make}"),),
    "lessons": (at(),),
    "lesson_add": (
        at(query="?component={board}", label="begun"),
        at(label="faults", act=fault(hours="a lot")),
    ),
    "lesson": (at("{lesson}"),),
    "lesson_edit": (at("{lesson}"),),
    "cutting_plans": (at(),),
    "cutting_plan_add": (
        at(query="?component={board}", label="begun"),
        at(label="worked out", act=cuts_worked_out),
        at(
            label="faults",
            act=fault("Save plan", kerf_text="wide", needs__0__length_text="20"),
        ),
    ),
    "cutting_plan": (
        at("{cutting_plan}"),
        at("{sheet_plan}", label="sheets"),
        at("{rip_plan}", label="ripped"),
    ),
    "cutting_plan_edit": (at("{cutting_plan}"), at("{sheet_plan}", label="sheets")),
    "cutting_plan_take": (at("{cutting_plan}"), at("{sheet_plan}", label="sheets")),
    "left_over": (at(),),
    "stock_take": (at(), at(label="faults", act=fault(counted_on=""))),
    "left_over_add": (at(), at(label="faults", act=fault())),
    "left_over_edit": (at("{left_over}"),),
    "moves": (at(),),
    "move_add": (
        at(),
        at(query="?to={second}", label="into"),
        at(query="?to={second}", label="faults", act=fault(quantity_text="a lot")),
        at(query="?to={second}", label="understood", act=move_understood),
    ),
    "move": (at("{move}"),),
    "move_edit": (at("{move}"),),
    "life_choices": (at(),),
    "life_choice_add": (
        at(),
        at(query="?component={component}", label="of a component"),
        at(label="understood", act=lasting_understood),
        at(label="faults", act=fault(study_years="many", alternatives__0__life_years="12.5")),
    ),
    "life_choice": (
        at("{life_choice}"),
        at("{life_choice}", query="?hours=1", label="hours counted"),
    ),
    "life_choice_edit": (at("{life_choice}"),),
    "cost_indexes": (at(),),
    "cost_index_add": (at(), at(label="faults", act=fault(months_text="soon 5"))),
    "cost_index_edit": (at("{cost_index}"),),
    "tasks": (at(),),
    "task_add": (at(), at(label="faults", act=fault())),
    "task": (at("{task}"),),
    "person": (at("{person}"),),
    "task_edit": (at("{task}"), at("{task}", label="meanwhile", act=changed_meanwhile)),
    "labour": (at(),),
    "hours_report": (at(),),
    "timer": (at(), at(label="running", act=timed)),
    "labour_add": (at(), at(label="faults", act=fault(hours=LONG))),
    "labour_edit": (at("{labour}"),),
    "settling_up": (at(), at(label="shares stated, hours counted", act=shared)),
    "shares_edit": (at(), at(label="faults", act=fault(new_share="half"))),
    "hand_overs": (at(),),
    "hand_over_add": (at(), at(label="faults", act=fault(amount="much"))),
    "hand_over_edit": (at("{hand_over}"),),
    "pile": (at(),),
    "pile_add": (at(), at(label="faults", act=fault_of_pile)),
    "photo_edit": (at("{photo}"),),
    "photo_delete": (at("{photo}"),),
    "photos": (at("purchase", "{purchase}"), at("price", "{price}", label="none yet")),
    "photo_add": (
        at("purchase", "{purchase}"),
        at("purchase", "{purchase}", label="faults", act=fault("Save photos")),
    ),
    "record_delete": (
        at("purchase", "{offer}"),
        at("component", "{component}", label="refused"),
    ),
    "history": (at(), at(query="?record_type=purchase", label="filtered")),
    "record_history": (at("purchase", "{purchase}"), at("component", "{component}")),
    "change": (at("{change}"),),
    "share_links": (at(),),
    "share_add": (
        at(),
        at(label="faults", act=fault("Make link")),
        at(label="made", act=link_made),
    ),
    "share_edit": (at("{share}"),),
    "share_revoke": (at("{share}"),),
    "shared": (at("{token_all}", label="all parts"), at("{token_bare}", label="no part")),
    "downloads": (at(),),
    "upload": (at(), at(label="faults", act=wrong_workbook)),
    "members": (at(),),
    "member_invite": (at(), at(label="the link", act=invitation_made)),
    "member_owner": (at(), at(label="faults", act=fault("Pass ownership on"))),
    "member_person": (at(),),
    "member_leave": (at(),),
    "member_role": (at("{member}"),),
    "member_remove": (at("{member}"),),
    "account": (at(), at(label="faults", act=fault(email="nowhere"))),
    "password_change": (at(), at(label="faults", act=fault(old_password="x"))),
    "password_forgotten": (at(),),
    "sessions": (at(),),
    "account_log": (at(),),
    "second_step": (at(),),
    "account_delete": (at(label="only owner"),),
    "build_delete": (at(label="others are in it"),),
    "second_step_on": (at(), at(label="faults", act=fault("Turn on", code="0"))),
    "imports": (at(), at(label="faults", act=nothing_to_import)),
    "import_table": (at("{import}"),),
    "import_columns": (at("{import}"), at("{import}", label="faults", act=no_columns)),
    "import_names": (at("{import}"), at("{import}", label="faults", act=no_such_name)),
    "import_rows": (
        at("{import}"),
        at("{import}", query="?show=all", label="all"),
        at("{import}", query="?show=double", label="none of them"),
    ),
    "import_row": (at("{import}", "4"), at("{import}", "2", label="ready")),
    "import_run": (
        at("{import}"),
        at("{done}", label="done"),
        at("{running}", label="going on", act=held),
    ),
    "import_drop": (at("{import}"),),
}
# Screens of an area, for telling quickly where something is wrong.
AREAS = {
    "builds": "builds home search search_builds sign_in build_add build_edit upload_new upload"
    " build_file_new cost_sheet figure budget",
    "takeoffs": "takeoffs takeoff_shapes takeoff_add takeoff takeoff_edit takeoff_use",
    "elements": "elements element_add element element_edit needed cautions caution_deal history"
    " record_history change",
    "components": "components compared component_add component component_edit prices price_add"
    " price_edit",
    "purchases": "suppliers supplier_add supplier supplier_edit purchases purchase_lines log"
    " purchase_add",
    "purchase": "purchase purchase_edit lines_change pile pile_add photo_edit photo_delete photos"
    " photo_add record_delete",
    "sourcing": "sourcing",
    "several": "compare build_archive moves move_add move move_edit",
    "lifecycle": "lessons lesson_add lesson lesson_edit life_choices life_choice_add life_choice"
    " life_choice_edit cost_indexes cost_index_add cost_index_edit",
    "deadlines": "deadlines calendar_make calendar_revoke deadline_mail",
    "stock": "conversions conversion_add conversion_edit left_over stock_take left_over_add"
    " left_over_edit ways way_to_make_add way_to_make_edit",
    "cutting": "cutting_plans cutting_plan_add cutting_plan cutting_plan_edit cutting_plan_take",
    "sharing": "share_links share_add share_edit share_revoke shared",
    "settling": "settling_up shares_edit hand_overs hand_over_add hand_over_edit",
    "members": "members member_invite member_owner member_person member_leave member_role"
    " member_remove account password_change password_forgotten sessions account_log second_step"
    " second_step_on account_delete build_delete",
    "imports": "imports import_table import_columns import_names import_rows import_row import_run"
    " import_drop",
    "labour": "tasks task_add task task_edit person labour hours_report timer labour_add"
    " labour_edit yard downloads cost_basis replacement landfill estimates estimate_add estimate"
    " estimate_use",
}


def routes() -> dict[str, bool]:
    """Names of all addresses the resolver knows, and whether each is one of a build."""
    found = get_resolver().reverse_dict
    names = [name for name in found if isinstance(name, str)]
    return {name: "build_id" in found[name][0][0][1] for name in names}


def lessons_of_two_builds(entries: Entries, found: dict[str, Any]) -> Lesson:
    """One with its comparison, and what the second build learned of the same component."""
    board, choice = found["board"], found["life_choice"]
    lesson = entries.lesson(
        "Stacked them in the rain, and had to let them dry before planing",
        component=board,
        amount=Decimal(35),
        hours=Decimal(9),
        author="Ann",
    )
    LifeChoice.objects.filter(pk=choice.pk).update(lesson=lesson, component=board)
    elsewhere = Entries(entries.actor, found["second"])
    there = elsewhere.component(board.name, board.unit)
    elsewhere.lesson("Cut to length at the yard", kind="win", component=there, hours=Decimal(3))
    elsewhere.lesson("Began in November", hours=Decimal(40))
    return lesson


def records_of(build: Build) -> dict[str, Any]:
    """Keys of records of the demo build by what screens call them; adds a photo and links."""
    numbers = {"purchase": "P06", "offer": "P59", "ordered": "P53", "declined": "P56"}
    found = {name: build.purchases.get(number=number) for name, number in numbers.items()}
    joist = build.components.get(name="Old 2x10 joist")
    photo = {"files": [sent(jpeg())], "caption": "Beams on the trailer"}
    owner = build.members.get(role="owner").user
    found["photo"] = add_photos(actor=owner, build=build, record=found["purchase"], **photo)[0]
    by = {"actor": owner, "build": build}
    add_photos(**by, record=None, files=[sent(jpeg()), sent(jpeg())])
    found["waiting"] = add_photos(**by, record=None, **photo)[0]
    found["member"] = build.members.exclude(role=Role.OWNER).first()
    if found["member"] is None:
        ben, _ = ensure_user(username="ben", password="sawdust-and-lime")
        found["member"] = add_member(**by, user=ben, role=Role.CO_BUILDER)
        note = "Aunt May, who pays for the windows"
        invite(**by, role="viewer", note=note, days=14, now=timezone.now())
    found |= {
        "component": joist,
        "drum": build.components.get(name="Steel drum, 55 gal"),
        "siding": build.components.get(name="Barn siding"),
        "price": joist.prices.first(),
        "left_over": LeftOver.objects.filter(component__build=build).first(),
        "element": build.elements.first(),
        "supplier": build.suppliers.first(),
        "conversion": build.conversions.first(),
        "board": build.components.get(name="2x8, 10 ft"),
        "task": build.tasks.first(),
        "person": build.persons.first(),
        "labour": build.labour.first(),
        "hand_over": build.hand_overs.first(),
        "estimate": Entries(owner, build).estimate(build),
        "dome": Entries(owner, build).takeoff("Bird house", "dome", **WHOLE_DOME),
        "takeoff": gable_used(owner, build),
        "life_choice": build.life_choices.first(),
        "cost_index": build.cost_indexes.first(),
        "change": build.changes.order_by("pk").last(),
        "build": build,
    }
    found |= moved_to_a_second(owner, build, joist)
    entries = Entries(owner, build)
    piece = build.components.get(name="Window buck piece")
    soon = {"ends_on": timezone.localdate() + timedelta(days=1), "ends_time": time(18)}
    offered = line(found["board"], "9 pieces", unit_price=Decimal(2))
    entries.purchase("P97", offered, state="offer", supplier="Ford barn", **soon)
    late = {"fetch_on": timezone.localdate() - timedelta(days=2), "fetch_time": time(9)}
    ordered = line(found["board"], "9 pieces", unit_price=Decimal(2))
    entries.purchase("P98", ordered, state="ordered", **late)
    found["way_to_make"] = entries.way(found["board"], "1 piece", piece, "3 pieces")
    found["lesson"] = lessons_of_two_builds(entries, found)
    ply = entries.component("Shuttering ply", contents="1 piece = 32 sq ft")
    shelf = entries.component("Shelf panel", contents="1 piece = 3 sq ft")
    found["sheet_plan"] = entries.sheet_plan("Shelf of a shed", ply, shelf)
    strips = {"hand": [sized("10 ft", "7-1/4 in", count=2, trim_text="")], "buy": []}
    strips["needs"] = [panel("4 ft 10 in", "1-1/2 in", 12, piece)]
    found["rip_plan"] = entries.sheet_plan(
        "Strips of a shed", found["board"], piece, method=CuttingMethod.RIPPED, **strips
    )
    found["cutting_plan"] = entries.cutting_plan("Bucks of a shed", found["board"], piece)
    found |= {name: small_import(entries) for name in ("import", "running", "done")}
    run(entries, found["done"])
    start_run(build=build, pk=found["running"].pk)
    keys: dict[str, Any] = {name: record.pk for name, record in found.items()}
    for name in ("all", "bare"):
        ticked = dict.fromkeys(("shows_prices", "shows_suppliers", "shows_people"), name == "all")
        values = {"label": f"Shows {name}", "expires_on": None} | ticked
        link, token = make_link(actor=owner, build=build, values=values)
        keys |= {"share": link.pk, f"token_{name}": token}
    return keys


# A dome with all there is to it, and two drawings.
WHOLE_DOME = {
    "width": "15 ft",
    "struts": "frames",
    "knee": "3 ft",
    "spacing": "2 ft",
    "entrance": "3 ft x 6 ft",
    "sheet": "4 ft x 8 ft",
    "seam": "50 ft",
}


def gable_used(owner: Any, build: Build) -> Any:
    """A takeoff that a component and an area take figures from."""
    measures = {"width": "24 ft", "height": "12 ft", "openings": "3 ft x 7 ft", "waste": "10"}
    made = Entries(owner, build).takeoff("East gable", "gable-wall", **measures)
    by = {"actor": owner, "build": build, "takeoff": made, "how": UseMode.KEEP}
    siding = build.components.get(name="Barn siding")
    use_for_component(**by, figure="net", component=siding)
    use_for_area(**by, figure="net", label="Envelope area")
    return made


def moved_to_a_second(owner: Any, build: Build, component: Any) -> dict[str, Any]:
    """A second build, and something moved there."""
    second = create_build(actor=owner, values={"name": "Lower barn", "currency": build.currency})
    values = {"moved_on": date(2026, 9, 1), "component": component, "quantity_text": "1 bf"}
    values |= {"was_on_hand": False, "to_component": None, "note": ""}
    transfer = save_transfer(
        actor=owner, build=build, transfer=Move(), to_build=second, values=values
    )
    return {"second": second, "move": transfer}


@dataclass
class Walk:
    """A signed-in page and the screens it can be sent to."""

    page: Any
    build: Build
    records: dict[str, Any]

    def through(self, names: str, most: int | None = None) -> Iterator[str]:
        """Open the screens of some addresses one after another; yields what each is called.

        ``most``: of each address, where not all are to be seen.
        """
        of_build = routes()
        for name in names.split():
            own = (self.build.pk,) if of_build[name] else ()
            for screen in SCREENS[name][:most]:
                named = [part.format(**self.records) for part in screen.named]
                url = reverse(name, args=[*own, *named]) + screen.query.format(**self.records)
                self.page.goto(url)
                if screen.act:
                    screen.act(self.page)
                yield " ".join([name, *screen.named, screen.label]).strip()
