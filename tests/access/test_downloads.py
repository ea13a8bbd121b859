"""What a download is called and how it is sent, and what a workbook may hold.

Numbers such as 5.4.1 are requirements of OWASP ASVS 5.0.0, read in the primary text; F07 is the
table of limits of a spreadsheet program (32 767 signs in a cell), read at its maker's.
"""

import io
import re
import zipfile

import pytest
from django.db import models
from django.http import HttpResponse
from django.urls import reverse
from openpyxl import load_workbook

from materials.models import Purchase, PurchaseLine
from materials.queries.rows import list_build_models
from materials.services import history
from tests.entries import line

DOWNLOADS = {
    "download": ("xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
    "build_file": ("zip", "application/zip"),
}
NAMES = {
    "a path": "../../etc/passwd",
    "a drive": "C:\\cabin\\x",
    "quotes and a second header": 'shed"; filename="run.exe',
    "a line break": "shed\r\nSet-Cookie: x=1",
    "a picture's ending": "shed.jpg.exe",
    "turned round": "shed\u202egpj.exe",
    "no letter at all": "…",
    "another script": "Сарай",
    "very long": "w" * 120,
}


def sent(client, route, build) -> tuple[HttpResponse, bytes]:
    """The answer, and all of its bytes, so that the file behind it is closed."""
    answer = client.get(reverse(route, args=[build.pk]))
    data = b"".join(answer.streaming_content) if answer.streaming else answer.content
    return answer, data


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("route", DOWNLOADS)
def test_a_download_has_a_name_of_our_own_making(route, name, build, clients):
    """5.4.1, 5.4.2: of letters, digits, spaces and dashes, in the form of RFC 6266, our ending."""
    build.name = NAMES[name]
    build.save()
    answer, data = sent(clients["owner"], route, build)
    assert data[:2] == b"PK"
    ending, kind = DOWNLOADS[route]
    result = answer["Content-Disposition"]
    plain = rf'filename="[A-Za-z0-9 _-]{{1,80}}\.{ending}"'
    # Signs beyond ASCII are written as RFC 8187 has it.
    other = rf"filename\*=utf-8''[A-Za-z0-9%_-]{{1,240}}\.{ending}"
    assert re.fullmatch(f"attachment; (?:{plain}|{other})", result)
    assert answer["Content-Type"] == kind
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "Set-Cookie" not in answer.headers


@pytest.mark.parametrize("route", DOWNLOADS)
def test_a_download_is_for_members(route, build, clients):
    """8.2.2, 8.4.1: nobody else's, whatever the address."""
    wanted = {"viewer": 200, "stranger": 404, "removed": 404, "anonymous": 302}
    got = {name: sent(clients[name], route, build)[0].status_code for name in wanted}
    assert got == wanted


def test_a_build_file_holds_no_account_no_key_and_no_address(build, clients, entries, cast):
    """8.2.3: what a co-builder may carry off is the build, not who else is here, nor a way in."""
    cast["viewer"].email = "viewer@buildledger.example"
    cast["viewer"].save()
    link, token = entries.share_link("Aunt Ida")
    _, data = sent(clients["co_builder"], "build_file", build)
    with zipfile.ZipFile(io.BytesIO(data)) as file:
        text = b"".join(file.read(name) for name in file.namelist()).decode()
    assert "Hill shed" in text
    for kept in (token, link.token_hash, "viewer@buildledger.example", cast["viewer"].password):
        assert kept not in text


def test_every_stored_text_fits_a_cell():
    """F07: 32 767 signs; no text of a build can be longer, so none is cut in the workbook."""
    texts = [
        field
        for model in list_build_models()
        for field in model._meta.concrete_fields
        if isinstance(field, models.CharField | models.TextField) and not field.choices
    ]
    assert len(texts) > 30
    assert [str(f) for f in texts if not f.max_length or f.max_length > 32_767] == []


@pytest.mark.parametrize("mark", ["=", "+", "-", "@", "\t"])
def test_a_note_that_begins_like_a_formula_is_text(mark, build, clients, entries):
    """1.2.10, F08: signs that the requirement lists, in a cell of type text with a quote prefix.

    It lists NUL as well, which PostgreSQL keeps in no text and no workbook can hold.
    """
    component = entries.component("Plank")
    component.note = f"{mark}1+1"
    component.save()
    _, data = sent(clients["owner"], "download", build)
    book = load_workbook(io.BytesIO(data))
    cells = [cell for row in book["Components"].iter_rows() for cell in row]
    (cell,) = [cell for cell in cells if str(cell.value or "").endswith("1+1")]
    assert cell.data_type in ("s", "inlineStr")
    assert cell.value in (f"{mark}1+1", "1+1")
    assert cell.quotePrefix or not cell.value.startswith(mark)


def test_a_lot_and_its_shares_are_saved_together_or_not_at_all(entries, build, monkeypatch):
    """2.3.3: what fails after the lines are written and costed leaves nothing of them."""
    lines = [line(entries.component(name), "1 piece") for name in ("Board", "Door")]

    def fails(*args, **kwargs):
        raise OSError("the power went")

    monkeypatch.setattr(history, "note_change", fails)
    with pytest.raises(OSError, match="the power went"):
        entries.purchase("P1", *lines, lot_price_amount=30)
    assert not Purchase.objects.exists()
    assert not PurchaseLine.objects.exists()
    monkeypatch.undo()
    bought = entries.purchase("P1", *lines, lot_price_amount=30)
    assert [part.price_amount for part in bought.lines.all()] == [15, 15]
