"""Forms of a build, its elements, and its people."""

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.conf import settings

from ..calc.deadlines import zone_words
from ..calc.money import currency_codes, plain
from ..calc.quantities import QuantityError, parse_quantity
from ..calc.units import Dimension
from ..fields import zone_names
from ..models import BuildArea
from ..queries.quantities import stored
from .base import CONTROL, RecordForm, has_control
from .fields import DayField, MoneyInput, PercentInput, TypedField, UnitPriceField

Area = tuple[str, Decimal, str]


class BuildForm(RecordForm):
    """A build with its areas and rates."""

    name = forms.CharField(max_length=120, help_text="Any name you like.")
    currency = forms.ChoiceField(choices=[(code, code) for code in currency_codes()], initial="USD")
    floor_area = TypedField(required=False, help_text="With its unit, like 744 sq ft.")
    envelope_area = TypedField(
        required=False, help_text="Area of the walls, roof and floor that keep the weather out."
    )
    other_areas = forms.CharField(
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="One a line, like Wall area = 900 sq ft.",
    )
    budget_amount = MoneyInput(required=False, label="Budget", help_text="Without contingency.")
    contingency_percent = PercentInput(required=False, label="Contingency, %")
    retail_tax_percent = PercentInput(
        required=False, label="Retail tax, %", help_text="Sales tax on new material."
    )
    own_labour_rate = UnitPriceField(
        required=False,
        label="Own labour rate",
        help_text="What an hour of your own work is worth to you.",
    )
    distance_unit = forms.ChoiceField(
        choices=[("mi", "mile"), ("km", "kilometre")], initial="mi", label="Distances are in"
    )
    time_zone = forms.ChoiceField(
        required=False,
        label="Time zone",
        help_text="Where the build stands. Times of deadlines are by its clocks.",
    )
    distance_rate = UnitPriceField(
        required=False, label="Distance rate", help_text="Cost of one mile or kilometre."
    )
    later_rates = forms.CharField(
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
        label="Distance rates from a date on",
        help_text="One a line, like 2026-07-01 = 0.72.",
    )

    def set_choices(self) -> None:
        zones = self.fields["time_zone"]
        zones.choices = [(name, zone_words(name)) for name in zone_names()]
        zones.initial = settings.TIME_ZONE

    def initial_from(self, record: Any) -> dict[str, Any]:
        areas = {
            area.label: f"{plain(area.area_qty)} {area.area_unit}" for area in record.areas.all()
        }
        rates = {rate.from_on: plain(rate.rate) for rate in record.distance_rates.all()}
        return {
            **super().initial_from(record),
            "floor_area": areas.pop(BuildArea.FLOOR, ""),
            "envelope_area": areas.pop(BuildArea.ENVELOPE, ""),
            "other_areas": "\n".join(f"{label} = {text}" for label, text in areas.items()),
            "distance_rate": rates.pop(None, ""),
            "later_rates": "\n".join(f"{on} = {rate}" for on, rate in rates.items()),
        }

    def clean_retail_tax_percent(self) -> Decimal:
        return self.cleaned_data["retail_tax_percent"] or Decimal(0)

    def clean_time_zone(self) -> str:
        kept = self.record.time_zone if self.record else settings.TIME_ZONE
        return self.cleaned_data["time_zone"] or kept

    def clean_floor_area(self) -> list[Area]:
        return self._area("floor_area", BuildArea.FLOOR)

    def clean_envelope_area(self) -> list[Area]:
        return self._area("envelope_area", BuildArea.ENVELOPE)

    def _area(self, field: str, label: str) -> list[Area]:
        text = self.cleaned_data[field]
        return [read_area(label, text)] if text else []

    def clean_other_areas(self) -> list[Area]:
        listed = []
        for label, text in _pairs(self.cleaned_data["other_areas"], "Wall area = 900 sq ft"):
            if not label.casefold().endswith(" area"):
                # A workbook knows the rows of areas by this ending.
                label += " area"
            if len(label) > 60:
                raise forms.ValidationError(
                    "An area's name has at most 60 characters, “area” at its end among them."
                )
            listed.append(read_area(label, text))
        labels = [label.lower() for label, _, _ in listed]
        fixed = {BuildArea.FLOOR.lower(), BuildArea.ENVELOPE.lower()}
        if len(set(labels)) < len(labels) or fixed & set(labels):
            raise forms.ValidationError("Two areas have the same name: keep one of them.")
        return listed

    def clean_later_rates(self) -> list[tuple[date, Decimal]]:
        day, price = DayField(), UnitPriceField(what="The rate")
        listed = []
        for on, text in _pairs(self.cleaned_data["later_rates"], "2026-07-01 = 0.72"):
            listed.append((day.clean(on), price.clean(text)))
        if len({on for on, _ in listed}) < len(listed):
            raise forms.ValidationError("Two rates begin on the same day: keep one of them.")
        return listed

    def values(self) -> dict[str, Any]:
        kept = super().values()
        for name in ("floor_area", "envelope_area", "other_areas", "distance_rate", "later_rates"):
            kept.pop(name)
        return kept

    def areas(self) -> list[Area]:
        """All measured areas."""
        data = self.cleaned_data
        return [*data["floor_area"], *data["envelope_area"], *data["other_areas"]]

    def rates(self) -> list[tuple[date | None, Decimal]]:
        """The rate from the beginning and the later ones."""
        first = self.cleaned_data["distance_rate"]
        start: list[tuple[date | None, Decimal]] = [] if first is None else [(None, first)]
        return [*start, *self.cleaned_data["later_rates"]]


def read_area(label: str, text: str) -> Area:
    """A typed area. Raises ValidationError unless it is an area above zero."""
    try:
        typed = parse_quantity(text)
    except QuantityError as error:
        raise forms.ValidationError(str(error)) from None
    qty = stored(typed.count)
    if typed.unit.dimension is not Dimension.AREA or qty <= 0:
        raise forms.ValidationError(f"“{text}” is no area: enter it like 744 sq ft or 69 sq m.")
    return label, qty, typed.unit.symbol


def _pairs(text: str, example: str) -> list[tuple[str, str]]:
    pairs = []
    if has_control(text):
        raise forms.ValidationError(CONTROL)
    for line in text.splitlines():
        if line.strip():
            name, mark, value = line.partition("=")
            if not mark or not name.strip() or not value.strip():
                raise forms.ValidationError(
                    f"“{line.strip()[:60]}” is not understood: enter it like {example}."
                )
            pairs.append((" ".join(name.split()), value.strip()))
    return pairs


class ElementForm(RecordForm):
    """An element of the build."""

    code = forms.CharField(
        max_length=12,
        help_text="A UNIFORMAT II code like B2010, or your own like X10.",
    )
    name = forms.CharField(
        max_length=120, required=False, help_text=("If empty: the code's own name.")
    )
    budget_amount = MoneyInput(required=False, label="Budget")

    def clean_code(self) -> str:
        return self.cleaned_data["code"].strip()

    def clean(self) -> dict[str, Any]:
        from ..calc.uniformat import name_of

        cleaned = super().clean()
        if not cleaned.get("name"):
            cleaned["name"] = name_of(cleaned.get("code", "")) or cleaned.get("code", "")
        return cleaned
