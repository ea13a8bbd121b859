"""Builds, accounts and records that every case begins with."""

import hashlib
from base64 import b32decode
from collections import defaultdict
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache, cached_property
from typing import Any
from urllib.parse import parse_qsl, urlsplit

from django.contrib.auth import get_user_model
from django.contrib.auth.tokens import default_token_generator
from django.db import connection
from django.test import Client
from django.urls import Resolver404, resolve, reverse
from django.utils import timezone
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from fido2.utils import websafe_encode

from materials.choices import Role
from materials.models import Build, Change, Move, Passkey
from materials.queries.rows import SHORT_LIVED, list_all_models, path_to_build, which_of_build
from materials.services.builds import create_build
from materials.services.invitations import invite
from materials.services.members import add_member, remove_member
from materials.services.one_time_codes import code_of, step_at
from materials.services.photos import add_photos
from materials.services.second_step import turn_on
from tests.access.test_routes import ROUTES, address
from tests.answers import status
from tests.entries import Entries, line
from tests.imports.steps import small_import
from tests.passkey_device import Device
from tests.photo_files import jpeg, sent

from .pages import Form, read_page

MEMBERS = ("owner", "co_builder", "viewer")
USERS = (*MEMBERS, "stranger", "removed", "invited", "careful")
# The key of the codes of whoever is careful.
KEY = "JBSWY3DPEHPK3PXPJBSWY3DPEHPK3PXP"
PASSWORD = "pw-for-tests"
FLOOR = [("Floor area", Decimal(200), "sq ft")]
# Who is asked for the forms of which pages.
ASKED: dict[str, tuple[str, ...]] = {
    "owner": tuple(ROUTES),
    "anonymous": ("sign_in", "sign_up", "first_account", "password_forgotten"),
    "co_builder": ("member_leave", "member_person"),
    "invited": ("join",),
    "newcomer": ("join", "join_account"),
    "resetting": ("password_new",),
    "careful": (
        "sessions",
        "second_step_off",
        "recovery_codes",
        "passkey_add",
        "passkey_remove",
    ),
    "removed": ("account_delete",),
    "half in": ("sign_in_code",),
}


@dataclass
class World:
    """A build with a record of each kind, one of somebody else, and people at both."""

    users: dict[str, Any]
    build: Build
    other: Build
    records: dict[str, Any]
    others: dict[str, Any]
    secret: str
    passkey: int = 0
    clients: dict[str, Client] = field(default_factory=dict)
    cookies: dict[str, dict[str, str]] = field(default_factory=dict)

    def client(self, part: str) -> Client:
        """A part's browser as it was at the beginning."""
        client = self.clients[part]
        client.cookies.clear()
        for name, value in self.cookies[part].items():
            client.cookies[name] = value
        return client

    @cached_property
    def urls(self) -> dict[str, str]:
        """An address of each route on the owner's build."""
        found = {name: address(name, self.build, self.records) for name in ROUTES}
        found["join_link"] = reverse("join_link", args=[self.secret])
        user = self.users["viewer"]
        key = urlsafe_base64_encode(force_bytes(user.pk))
        token = default_token_generator.make_token(user)
        found["password_new"] = reverse("password_new", args=[key, token])
        found["passkey_remove"] = reverse("passkey_remove", args=[self.passkey])
        return found

    @property
    def more(self) -> list[str]:
        """Pages whose forms stand on no page of ``urls``."""
        own = self.build.pk
        found = [
            reverse("purchase", args=[own, self.records["offer"].pk]),
            reverse("change", args=[own, self.records["undone"].pk]),
            f"{self.urls['move_add']}?to={self.records['move'].to_component.build_id}",
            # Nobody else belongs to it.
            reverse("build_delete", args=[self.records["move"].to_component.build_id]),
        ]
        return found

    @cached_property
    def _crawled(self) -> tuple[dict[str, list[Form]], dict[str, list[list[tuple[str, str]]]]]:
        forms: dict[str, list[Form]] = defaultdict(list)
        queries: dict[str, list[list[tuple[str, str]]]] = defaultdict(list)
        for part, names in ASKED.items():
            for url in [self.urls[name] for name in names] + (self.more if part == "owner" else []):
                answer = self.client(part).get(url, follow=True)
                status(answer)
                if not str(answer.get("Content-Type", "")).startswith("text/html"):
                    continue
                here = answer.wsgi_request.path
                found, links = read_page(answer.content.decode())
                for form in found:
                    target = route_of(form.action or here)
                    if form.method == "post":
                        known = [[f.name for f in one.fields] for one in forms[target]]
                        if [f.name for f in form.fields] not in known:
                            form.action = form.action or here
                            forms[target].append(form)
                    else:
                        queries[target].append([(f.name, f.value) for f in form.fields if f.name])
                for link in links:
                    result = urlsplit(link)
                    if result.query and not result.netloc:
                        pairs = parse_qsl(result.query, keep_blank_values=True)
                        queries[route_of(result.path or here)].append(pairs)
        return dict(forms), {name: found for name, found in queries.items() if name}

    @property
    def forms(self) -> dict[str, list[Form]]:
        """Every form that is sent by POST on any page, by the route it goes to."""
        return self._crawled[0]

    @property
    def queries(self) -> dict[str, list[list[tuple[str, str]]]]:
        """Query strings that pages lead to, by route."""
        return self._crawled[1]

    @cached_property
    def keys(self) -> list[str]:
        """Keys of records of every kind, of the own build and of the other one."""
        both = [*self.records.values(), *self.others.values(), self.build, self.other]
        found = {str(record.pk) for record in both if hasattr(record, "pk")}
        return [*sorted(found), "0", "-1", "999999", "9" * 30, ""]


def route_of(path: str) -> str:
    """Name of the route of an address; nothing for one that is not there."""
    try:
        return resolve(urlsplit(path).path).url_name or ""
    except Resolver404:
        return ""


@cache
def _statements(build_id: int | None) -> list[tuple[str, tuple[Any, ...]]]:
    """One statement for each table: written once, because a digest is wanted often."""
    found = []
    for model in list_all_models():
        # A wrong code is a line of the account's log, as it should be.
        if model._meta.model_name in SHORT_LIVED | {"accountevent"}:
            continue
        rows = model._default_manager.order_by("pk")
        if build_id is not None:
            if model is not Move and path_to_build(model) is None:
                continue
            rows = rows.filter(which_of_build(model, Build(pk=build_id)))
        columns = [field.attname for field in model._meta.concrete_fields]
        found.append(rows.values_list(*columns).query.sql_with_params())
    return found


def digest(build: Build | None = None) -> str:
    """What all rows, or all that belong to a build, come to; what is fleeting is left out."""
    result = hashlib.sha256()
    with connection.cursor() as cursor:
        for statement, values in _statements(build.pk if build else None):
            cursor.execute(statement, values)
            result.update(repr(cursor.fetchall()).encode("utf-8", "surrogatepass"))
    return result.hexdigest()


def rows_written() -> int | None:
    """How many rows this connection has written so far; None where nobody counts."""
    return getattr(connection.connection, "total_changes", None)


def _records(entries: Entries) -> dict[str, Any]:
    """A record of each kind."""
    element = entries.element("A10x", budget_amount=Decimal(900))
    board = entries.component(
        "Board", contents="1 piece = 2x8x12", element=element, required_text="40 pieces"
    )
    batten = entries.component("Batten", contents="1 piece = 1x3x6")
    entries.component("Old paint", unit="gal")
    task = entries.task("Frame", element=element, planned_hours=Decimal(9))
    # An estimate learns from what is finished.
    entries.task("Dig", element=entries.element("A11x"), done_percent=Decimal(100))
    found = {
        "element": element,
        "component": board,
        "price": entries.price(batten, 4),
        "supplier": entries.supplier("Yard"),
        "purchase": entries.purchase(
            "P1",
            line(board, "12 pieces", unit_price=Decimal(2)),
            line(batten, "3 pieces"),
            charges=[{"kind": "haulage", "amount": Decimal(3)}],
            supplier="Yard",
            paid_by="Ann",
        ),
        "conversion": entries.conversion("C1", board, "4 pieces", (batten, "30 pieces")),
        "left-over": entries.left_over(batten, "1 piece"),
        "task": task,
        "labour": entries.labour("Ann", 2, task=task),
        "hand-over": entries.hand_over("Ann", "Ben", 5),
        "takeoff": entries.takeoff("North wall", length="20 ft", height="8 ft"),
        "lesson": entries.lesson("Oiled too late", component=board, hours=Decimal(6)),
        "life-choice": entries.life_choice("Walls"),
        "cost-index": entries.cost_index("Lumber"),
        "way-to-make": entries.way(board, "1 piece", entries.component("Peg"), "9 pieces"),
        "cutting-plan": entries.cutting_plan("Cuts", board, batten),
        "change": Change.objects.filter(build=entries.build, action="changed").first()
        or Change.objects.filter(build=entries.build).last(),
    }
    found["person"] = found["labour"].person
    entries.left_over(board, "1 piece", "on hand")
    found["offer"] = entries.purchase(
        "Q1", line(board, "2 pieces", unit_price=Decimal(3)), state="offer"
    )
    found["undone"] = Change.objects.filter(build=entries.build, record_type="task").last()
    found["photo"] = add_photos(**entries.by, record=found["purchase"], files=[sent(jpeg())])[0]
    found["share"], found["share_token"] = entries.share_link("Ida")
    found["calendar_token"] = entries.calendar_token()
    found["import"] = small_import(entries)
    entries.use(found["takeoff"], "net", board)
    found["estimate"] = entries.estimate(entries.build)
    return found


def make_world() -> World:
    """Everything, through the services. Uploads go where MEDIA_ROOT says."""
    people = get_user_model().objects
    users = {n: people.create_user(n, f"{n}@example.org", PASSWORD) for n in USERS}
    values = {"name": "Hill shed", "currency": "USD", "retail_tax_percent": Decimal(8)}
    build = create_build(
        actor=users["owner"],
        values=values | {"budget_amount": Decimal(5000), "own_labour_rate": Decimal(20)},
        areas=FLOOR,
        rates=[(None, Decimal("0.70"))],
    )
    second = create_build(actor=users["owner"], values=values | {"name": "Tool house"}, areas=FLOOR)
    other = create_build(
        actor=users["stranger"], values=values | {"name": "Elsewhere"}, areas=FLOOR
    )
    by = {"actor": users["owner"], "build": build}
    add_member(**by, user=users["co_builder"], role=Role.CO_BUILDER)
    add_member(**by, user=users["viewer"], role=Role.VIEWER)
    gone = add_member(**by, user=users["removed"], role=Role.CO_BUILDER)
    remove_member(**by, member=gone, now=timezone.now())
    entries = Entries(users["owner"], build)
    records = _records(entries)
    records["move"] = entries.transfer(records["component"], "1 piece", second)
    records["member"] = build.members.get(user=users["viewer"])
    made, secret = invite(**by, role="viewer", note="", days=14, now=timezone.now())
    records["invitation"] = made
    world = World(users, build, other, records, _records(Entries(users["stranger"], other)), secret)
    _sign_in(world)
    return world


def _sign_in(world: World) -> None:
    """Browsers of everybody, and of those who came by a link."""
    parts = [*USERS, "anonymous", "newcomer", "resetting", "share_link", "half in"]
    now = timezone.now()
    code = code_of(b32decode(KEY), step_at(now))
    turn_on(user=world.users["careful"], key=KEY, code=code, now=now)
    device = Device()
    world.passkey = Passkey.objects.create(
        user=world.users["careful"],
        name="Blue key",
        credential_id=websafe_encode(device.id),
        credential=websafe_encode(device.credential),
    ).pk
    # A session besides, which can be ended.
    Client().force_login(world.users["careful"])
    for part in parts:
        client = world.clients[part] = Client(raise_request_exception=False)
        if part in USERS:
            client.force_login(world.users[part])
    for part in ("invited", "newcomer"):
        world.clients[part].get(world.urls["join_link"])
    world.clients["resetting"].get(world.urls["password_new"])
    typed = {"username": "careful", "password": PASSWORD}
    world.clients["half in"].post(world.urls["sign_in"], typed)
    for part in parts:
        cookies = world.clients[part].cookies
        world.cookies[part] = {name: morsel.value for name, morsel in cookies.items()}
