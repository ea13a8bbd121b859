"""The bench itself: every case runs, small, and gives rows that say what they are of."""

import json

import pytest

from tests.bench.__main__ import main

CASES = ("sheet", "lists", "many", "export", "import", "purchase", "load", "office")
