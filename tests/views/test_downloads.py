"""Files to take along: what they are called and how they are announced.

Names: OWASP ASVS 5.0.0 requirements 5.4.1 and 5.4.2 (a file name given in a header is safe,
RFC 6266). Media type of CSV: RFC 4180 as reprinted in summaries of it.
"""

import io
import zipfile

import pytest
from django.urls import reverse

from materials.exchange.schema import TITLES

pytestmark = pytest.mark.django_db

NAMES = {
    "Hill shed": 'attachment; filename="Hill shed{}"',
    'a"; filename="evil.exe': 'attachment; filename="a filename evil exe{}"',
    "../../etc/passwd": 'attachment; filename="etc passwd{}"',
    "line\r\nSet-Cookie: x": 'attachment; filename="line Set-Cookie x{}"',
    "Дом": "attachment; filename*=utf-8''%D0%94%D0%BE%D0%BC{}",
    "...": 'attachment; filename="build{}"',
    "x" * 120: 'attachment; filename="' + "x" * 60 + '{}"',
}


def taken(client, build, name: str, *more: str):
    """A file, read to its end, and the answer that brought it."""
    answer = client.get(reverse(name, args=[build.pk, *more]))
    assert answer.status_code == 200
    return b"".join(answer.streaming_content), answer


@pytest.mark.parametrize("name", NAMES)
def test_a_file_is_named_after_the_build_and_the_name_is_safe(name, owner, build):
    build.name = name
    build.save()
    for address, ending in (("download", ".xlsx"), ("download_tables", ".zip")):
        _, answer = taken(owner, build, address)
        assert answer["Content-Disposition"] == NAMES[name].format(ending)


def test_a_table_says_what_it_is(owner, build):
    data, answer = taken(owner, build, "download_table", "left-over")
    assert answer["Content-Type"] == "text/csv; charset=utf-8; header=present"
    assert answer["Content-Disposition"] == 'attachment; filename="Hill shed, Left over.csv"'
    assert int(answer["Content-Length"]) == len(data)
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert data.decode("utf-8-sig").startswith(
        "Date,Component,Quantity,Fate,Proceeds,Note,Value\r\n"
    )


def test_the_archive_and_the_workbook_are_whole(owner, build):
    data, answer = taken(owner, build, "download_tables")
    assert answer["Content-Type"] == "application/zip"
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.namelist() == [f"{title}.csv" for title in TITLES]
    data, answer = taken(owner, build, "download")
    assert "spreadsheetml" in answer["Content-Type"]
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None


def test_a_table_that_is_not_there_is_not_found(owner, build):
    for sheet in ("cost-sheet", "nothing", "left_over"):
        address = reverse("download_table", args=[build.pk, sheet])
        assert owner.get(address).status_code == 404


def test_the_page_links_to_every_file(screens):
    page = screens.open("downloads")
    hrefs = [href for href, _ in page.links]
    assert screens.url("download") in hrefs
    assert screens.url("download_tables") in hrefs
    assert screens.url("cost_sheet") in hrefs
    assert sum("/downloads/tables/" in href for href in hrefs) == len(TITLES) + 1
