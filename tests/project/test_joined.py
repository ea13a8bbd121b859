"""Styles and scripts are two files for the browser, many in the project."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders

from buildledger.joined import JOINED, SCRIPTS, STYLES, JoinedFinder

FOLDER = Path(settings.BASE_DIR) / "static"


def test_every_style_and_script_is_in_the_joined_one():
    assert {path.stem for path in FOLDER.glob("css/*.css")} == {*STYLES, "print"}
    assert {path.stem for path in FOLDER.glob("js/*.js")} == {
        name for group in SCRIPTS for name in group
    } | {"worker", "gone"}


@pytest.mark.parametrize("path", JOINED)
def test_it_is_found_and_collected_as_its_parts_are_now(path):
    text = JOINED[path](FOLDER)
    assert Path(finders.find(path)).read_text(encoding="utf-8") == text
    (finder,) = (one for one in finders.get_finders() if isinstance(one, JoinedFinder))
    with dict(finder.list(None))[path].open(path) as file:
        assert file.read().decode() == text
    assert finders.find(path, find_all=True)
    assert finder.find("nothing.css") == []
    assert text.count("{") == text.count("}")


def test_what_is_for_paper_is_for_paper_alone():
    screen, _, paper = JOINED["ledger.css"](FOLDER).rpartition("@media print {\n")
    assert (FOLDER / "css/print.css").read_text(encoding="utf-8") in paper
    assert "@page" not in re.sub(r"/\*.*?\*/", "", screen, flags=re.DOTALL)
