"""Case g: what one machine carries: people at once, each answered within 300 ms at the 95th of 100.

The database holds many builds of 500 lines with members of their own. The people are spread over
builds and think a second between pages (see ``cases_load``); somebody at work thinks for ten
seconds and more, so that as many people as the figure says times ten may be signed in. More of
them come in each round, until one in twenty waits longer than that.
"""

from collections.abc import Iterator

from django.contrib.auth import get_user_model
from django.test import Client

from materials.choices import Role
from materials.models import Build, Member

from .cases_load import PROCESSES, THINKING, Tally, User, served
from .cases_sheet import clear_builds
from .generate import make_build
from .measure import Row, figure_row, percentile
from .multiply import multiply_build
from .world import World, copied_database, settle

LINES, MEMBERS = 500, 3
# Seconds within which 95 of 100 requests are answered, or the machine carries no more.
WITHIN = 0.3
PEOPLE = (4, 6, 8, 12, 16, 24, 32, 48, 64, 96, 128)


def run_carry(world: World) -> Iterator[Row]:
    """More people at once, round by round; the last round that was answered in time counts."""
    people, seconds = (PEOPLE, 20.0) if not world.is_quick else ((2, 3), 1.5)
    with copied_database() as turned, turned():
        clear_builds()
        build = make_build("Bench, one of many", LINES)
        multiply_build(build, world.many - 1)
        builds = list(Build.objects.order_by("pk"))
        keys = _sign_in(builds, max(people))
        settle()
        held = f"{len(builds):,} builds of {LINES} lines with {MEMBERS} members each"
        held += f", {PROCESSES} processes"
        best, faults, above = (0, 0.0, 0.0), 0, ""
        with served() as port:
            _round(port, keys, 2, min(4.0, seconds))
            for number in people:
                found = _round(port, keys, number, seconds)
                faults += len(found.faults)
                p95 = percentile(found.times, 0.95)
                if p95 > WITHIN and not world.is_quick:
                    above = f"{number} at once: {1000 * p95:.0f} ms"
                    break
                best = (number, len(found.times) / seconds, p95)
    number, rate, p95 = best
    note = f"{held}; 95 of 100 within {1000 * p95:.0f} ms; {above}"
    yield figure_row("carry", "people at once, thinking 1 s, 95 of 100 answers within 300 ms",
                     [number], "", None, note)  # fmt: skip
    yield figure_row("carry", "requests a second of them", [rate], "", None, held)
    yield figure_row("carry", "answers with a fault", [faults], "", 0)


def _sign_in(builds: list[Build], number: int) -> list[tuple[Build, str]]:
    """Members of every build; so many of them signed in, each on another build."""
    users = get_user_model().objects.bulk_create(
        get_user_model()(username=f"carried {n}", password="!")
        for n in range(MEMBERS * len(builds))
    )
    Member.objects.bulk_create(
        Member(build=builds[n % len(builds)], user=user, role=Role.CO_BUILDER)
        for n, user in enumerate(users)
    )
    found = []
    for n, user in enumerate(users[:number]):
        client = Client()
        client.force_login(user)
        found.append((builds[n % len(builds)], client.cookies["sessionid"].value))
    return found


def _round(port: int, keys: list[tuple[Build, str]], number: int, seconds: float) -> Tally:
    found = Tally()
    people = [
        User(port, build, key, found, seconds, THINKING if seconds > 5 else 0.05, seed=n)
        for n, (build, key) in enumerate(keys[:number])
    ]
    for person in people:
        person.start()
    for person in people:
        person.join()
    return found
