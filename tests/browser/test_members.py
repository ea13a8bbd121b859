"""Two people in two browsers at one build, and the pages of those who come by a link."""

import re

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from materials.models import Member
from materials.services.accounts import ensure_user
from materials.services.first_account import open_way
from materials.services.invitations import invite
from materials.services.reset_links import reset_parts

from .conftest import DESKTOP, PHONE
from .screens import press
from .test_axe import look

pytestmark = pytest.mark.django_db(transaction=True)

WORD = "green-oak-and-lime"


def save(page, name="Save"):
    """The page's main button."""
    press(page, name)


@pytest.mark.parametrize(
    "scripts",
    [pytest.param(True, marks=pytest.mark.slow), pytest.param(False, marks=pytest.mark.slow)],
    ids=["with scripts", "without scripts"],
)
def test_two_people_work_on_one_build(scripts, open_page, enter, demo_build):
    ann, ben = open_page(DESKTOP), open_page(PHONE, java_script_enabled=scripts)
    enter(ann, demo_build.members.get().user)
    base = reverse("home", args=[demo_build.pk])

    # Ann invites.
    ann.goto(base)
    ann.get_by_text("Sharing and files").click()
    ann.get_by_role("link", name="Members").click()
    ann.get_by_role("link", name="Invite somebody").first.click()
    ann.get_by_label("For whom").fill("Ben")
    save(ann, "Make link")
    link = ann.locator("#link").input_value()
    assert re.search(r"/join/[\w-]{43}/$", link)
    ann.get_by_role("link", name="Done").click()
    assert ann.get_by_text("(14 days left)").is_visible()

    # Ben comes in with an account of his own.
    ben.goto(link)
    assert ben.url.endswith("/join/")
    ben.get_by_text("invites you to").wait_for()
    ben.get_by_role("link", name="Create account").click()
    ben.get_by_label("Username").fill("ben")
    ben.get_by_label(re.compile("^Your name")).fill("Ben Hollis")
    ben.get_by_label("Password").fill(WORD)
    save(ben, "Create account")
    ben.get_by_label("Your name in this build's records").select_option(label="Somebody new")
    ben.get_by_label(re.compile("^Your name there")).fill("Ben")
    save(ben, "Join as co-builder")
    ben.get_by_text("Welcome: you have joined").wait_for()
    ann.reload()
    assert ann.get_by_role(
        "row", name=re.compile(r"Ben Hollis \(ben\) Co-builder Ben")
    ).is_visible()
    assert ann.get_by_text("(14 days left)").count() == 0, "the link is used up"

    # Each records, and each sees what the other recorded, Ben under his own name.
    ben.goto(base + "hours/add/")
    assert ben.get_by_label("Person").input_value() == "Ben"
    ben.get_by_label("Hours", exact=True).fill("2.25")
    ben.get_by_label(re.compile("^Note")).fill("planed the sills")
    save(ben)
    ann.goto(base + "tasks/add/")
    ann.get_by_label("Task").fill("Hang the doors")
    save(ann)
    ann.goto(base + "hours/")
    assert ann.get_by_role("row", name=re.compile("Ben .*2.25 h")).is_visible()
    ann.goto(base + "history/")
    assert ann.get_by_role("row", name=re.compile("ben added hours")).is_visible()
    ben.goto(base + "tasks/")
    with ben.expect_navigation():
        ben.get_by_role("link", name="Hang the doors").click()
    with ben.expect_navigation():
        ben.get_by_role("link", name="Change task").click()

    # Both at one record: Ben has it open while Ann saves.
    ann.goto(ben.url)
    ann.get_by_label(re.compile("^Planned hours")).fill("12")
    save(ann)
    ben.get_by_label(re.compile("^Done")).fill("25")
    save(ben)
    box = ben.locator("#faults")
    box.get_by_text("changed while you had it open").wait_for()
    assert "ann" in box.inner_text()
    assert re.search(r"Planned hours\s+—\s+12", box.inner_text())
    assert ben.get_by_label(re.compile("^Done")).input_value() == "25"
    assert ben.get_by_label(re.compile("^Planned hours")).input_value() == "12"
    save(ben)
    ben.get_by_text("Saved.").wait_for()
    task = demo_build.tasks.get(name="Hang the doors")
    assert (task.planned_hours, task.done_percent) == (12, 25)

    # Ben is taken out; what he did stays.
    member = Member.objects.get(user__username="ben")
    ann.goto(base + f"members/{member.pk}/remove/")
    save(ann, "Remove ben")
    ann.get_by_text("is no longer a member").wait_for()
    # The console says what it was answered, which is what is asked for here.
    answer = ben.request.get(base)
    assert answer.status == 404
    ann.goto(base + "hours/")
    assert ann.get_by_role("row", name=re.compile("Ben .*2.25 h")).is_visible()


def test_the_link_is_copied_by_a_button_and_marked_without_one(open_page, enter, demo_build):
    for scripts in (True, False):
        page = open_page(PHONE, java_script_enabled=scripts)
        enter(page, demo_build.members.get().user)
        page.goto(reverse("member_invite", args=[demo_build.pk]))
        press(page, "Make link")
        field = page.locator("#link")
        assert field.is_visible()
        assert not field.is_editable()
        copy = page.get_by_role("button", name="Copy link")
        assert copy.is_visible() == scripts
        if scripts:
            page.context.grant_permissions(["clipboard-read", "clipboard-write"])
            copy.click()
            page.get_by_text("Copied.").wait_for()
            assert page.evaluate("navigator.clipboard.readText()") == field.input_value()


def test_a_revoked_link_gives_404(open_page, enter, demo_build):
    page, guest = open_page(PHONE), open_page(PHONE)
    enter(page, demo_build.members.get().user)
    page.goto(reverse("member_invite", args=[demo_build.pk]))
    press(page, "Make link")
    link = page.locator("#link").input_value()
    assert guest.request.get(link).status == 200
    page.goto(reverse("members", args=[demo_build.pk]))
    page.get_by_role("button", name="Revoke invitation").click()
    page.get_by_text("Revoked. The link no longer works").wait_for()
    assert guest.request.get(link).status == 404


# ASVS 5.0.0, 14.3.3 (primary text): nothing but the session in what a browser keeps.


STORED = """async () => {
  const opened = await new Promise((done) => {
    indexedDB.open("buildledger", 1).onsuccess = ({ target }) => done(target.result);
  });
  const counts = await Promise.all([...opened.objectStoreNames].map((name) =>
    new Promise((done) => {
      const asked = opened.transaction(name).objectStore(name).count();
      asked.onsuccess = () => done(asked.result);
    })));
  opened.close();
  return [{...localStorage}, {...sessionStorage}, counts.reduce((one, other) => one + other)];
}"""


def test_a_browser_keeps_nothing_but_the_session(walk):
    steps = walk()
    names = "home cost_sheet log labour purchase components members member_invite account history"
    for name in steps.through(names):
        kept = steps.page.evaluate(STORED)
        # htmx notes the address of the page it is on, which the browser's own history has too.
        path = kept[1].pop("htmx-current-path-for-history", "/builds/")
        assert path.startswith("/builds/")
        # The store of what waits without signal is there, and empty.
        assert kept == [{}, {}, 0], name
    cookies = {cookie["name"]: cookie for cookie in steps.page.context.cookies()}
    assert set(cookies) <= {"sessionid", "csrftoken"}
    for cookie in cookies.values():
        assert "ann" not in cookie["value"].split(".")
    assert cookies["sessionid"]["httpOnly"]


@pytest.fixture
def link(demo_build):
    """A link to join the demo build."""
    owner = demo_build.members.get(role="owner").user
    _, secret = invite(
        actor=owner, build=demo_build, role="viewer", note="", days=14, now=timezone.now()
    )
    return reverse("join_link", args=[secret])


@pytest.mark.parametrize(
    "size",
    [pytest.param(PHONE, marks=pytest.mark.slow), {"width": 320, "height": 640}],
    ids=["390", "320"],
)
def test_no_violation_for_those_who_come_by_a_link(size, open_page, link):
    page, found = open_page(size), []

    def seen(name: str) -> None:
        found.extend(look(page, name))
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= size["width"], (name, wide)

    page.goto(link)
    seen("join, signed out")
    page.get_by_role("link", name="Create account").click()
    seen("join_account")
    page.get_by_label("Password").fill("password")
    press(page, "Create account")
    seen("join_account, faults")
    page.goto("/join/")
    page.get_by_role("link", name="Sign in").click()
    user, _ = ensure_user(username="carl", password=WORD)
    page.get_by_label("Username").fill("carl")
    page.get_by_label("Password").fill(WORD)
    press(page, "Sign in")
    seen("join, signed in")
    press(page, "Join as viewer")
    page.get_by_text("Welcome: you have joined").wait_for()
    user.refresh_from_db()
    parts = reset_parts(user)
    page.context.clear_cookies()
    page.goto(reverse("password_new", kwargs=parts))
    seen("password_new")
    page.get_by_label("New password", exact=True).fill("password")
    press(page, "Set password")
    seen("password_new, faults")
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "size",
    [pytest.param(PHONE, marks=pytest.mark.slow), {"width": 320, "height": 640}],
    ids=["390", "320"],
)
def test_no_violation_for_those_who_make_the_first_account_or_sign_up(
    size, open_page, settings, transactional_db
):
    page, found = open_page(size), []
    settings.SIGN_UP = True

    def seen(name: str) -> None:
        found.extend(look(page, name))
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= size["width"], (name, wide)

    page.goto(reverse("first_link", args=[open_way(now=timezone.now())]))
    seen("first_account")
    page.get_by_label("Password").fill("password")
    press(page, "Create account")
    seen("first_account, faults")
    page.get_by_label("Username").fill("ann")
    page.get_by_label("Password").fill(WORD)
    press(page, "Create account")
    page.get_by_text("Your account is ready.").wait_for()
    seen("build_add, after it")
    page.context.clear_cookies()
    page.goto(reverse("sign_in"))
    seen("sign_in, open to all")
    page.get_by_role("link", name="Create account").click()
    seen("sign_up")
    press(page, "Create account")
    seen("sign_up, faults")
    assert not found, "\n".join(found)


def refusals(demo_build) -> dict[str, str]:
    """Pages that are answered with an error, by what they are."""
    owner = demo_build.members.get(role="owner").user
    _, secret = invite(
        actor=owner, build=demo_build, role="viewer", note="", days=14, now=timezone.now()
    )
    client = Client()
    client.force_login(owner)
    pages = {
        "no invitation": Client().get("/join/" + "x" * 43 + "/"),
        "no first account": Client().get("/start/" + "x" * 43 + "/"),
        "a used reset link": Client().get("/password/MQ/x-y/"),
        "a member already": client.get(reverse("join_link", args=[secret]), follow=True),
    }
    typed = {"username": "ann", "password": "x"}
    for _ in range(settings.AXES_FAILURE_LIMIT):
        pages["too many"] = Client().post(reverse("sign_in"), typed)
    assert pages["too many"].status_code == 429
    entry = demo_build.labour.first()
    edit = reverse("labour_edit", args=[demo_build.pk, entry.pk])
    client.post(reverse("record_delete", args=[demo_build.pk, "labour", entry.pk]))
    pages["deleted meanwhile"] = client.post(edit, {"version": "x", "note": "some words"})
    assert "some words" in pages["deleted meanwhile"].content.decode()
    return {name: answer.content.decode() for name, answer in pages.items()}


def test_no_violation_on_refusals(open_page, demo_build):
    page, found = open_page(), []
    pages = refusals(demo_build)
    page.route(
        "**/went-wrong/*",
        lambda route: route.fulfill(
            body=pages[route.request.url.rpartition("/")[2].replace("%20", " ")]
        ),
    )
    for name in pages:
        page.goto(f"/went-wrong/{name}")
        assert page.locator("h1").count() == 1, name
        found += look(page, name)
    assert not found, "\n".join(found)
