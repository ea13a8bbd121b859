"""What forms say of an empty field: a sentence with what to do, on every screen."""

import importlib
import pkgutil

import pytest
from django import forms

import materials.forms


def in_project(form: type) -> bool:
    """Whether a form is one of this program's."""
    return form.__module__.startswith("materials.")


def required_fields():
    """Every field of every form, by its form and name, that may not stay empty."""
    for module in pkgutil.iter_modules(materials.forms.__path__):
        named = importlib.import_module(f"materials.forms.{module.name}")
        for value in vars(named).values():
            if isinstance(value, type) and issubclass(value, forms.BaseForm) and in_project(value):
                for name, field in getattr(value, "base_fields", {}).items():
                    if field.required:
                        yield pytest.param(field, id=f"{value.__name__}.{name}")


FIELDS = {param.id: param for param in required_fields()}


def test_forms_have_required_fields():
    assert len(FIELDS) > 40


@pytest.mark.parametrize("field", FIELDS.values())
def test_an_empty_field_says_what_to_do(field):
    text = str(field.error_messages["required"])
    assert "is required" not in text
    assert text.endswith(".")
    assert len(text.split()) >= 3
