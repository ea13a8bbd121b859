"""Scaled integers in the database, Decimal in Python.

A DecimalField sum on SQLite is a float sum; an integer sum is exact on every database.
"""

from datetime import UTC, tzinfo
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, Any, TypeVar
from zoneinfo import ZoneInfo, available_timezones

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models.expressions import Combinable, Expression

# Far beyond what fits: to write 1e400000 out as an integer takes many seconds.
MAX_EXPONENT = 40

_Set = TypeVar("_Set", contravariant=True)
_Get = TypeVar("_Get", covariant=True)

if TYPE_CHECKING:

    class _StoredInteger(models.BigIntegerField[_Set, _Get]):
        # The stub of its parent knows whole numbers only; this field takes and gives Decimals.
        _pyi_private_set_type: Decimal | int | Combinable  # type: ignore[assignment]
        _pyi_private_get_type: Decimal  # type: ignore[assignment]

    _Text = models.CharField[str, str]

else:
    _Text = models.CharField

    class _StoredInteger(models.BigIntegerField):
        def __class_getitem__(cls, _):
            return cls  # Django's field takes no type arguments when it runs


class FixedPointField(_StoredInteger[_Set, _Get]):
    """A Decimal with a fixed number of places, stored as an integer.

    Values with more places than the field holds are refused rather than rounded: rounding
    is a decision of ``materials.calc``, never of storage. Floats are refused.
    """

    description = "Decimal with %(places)s places, stored as a scaled integer"

    def __init__(self, *args: Any, places: int, **kwargs: Any):
        self.places = places
        super().__init__(*args, **kwargs)

    def deconstruct(self) -> Any:
        name, path, args, kwargs = super().deconstruct()
        kwargs["places"] = self.places
        return name, path, args, kwargs

    def from_db_value(
        self, value: int | None, expression: Expression, connection: BaseDatabaseWrapper
    ) -> Decimal | None:
        """Stored integer (or PostgreSQL's numeric sum of them) to Decimal."""
        return None if value is None else Decimal(int(value)).scaleb(-self.places)

    def to_python(self, value: Any) -> Any:
        if value is None or isinstance(value, Decimal):
            return value
        if isinstance(value, float):
            raise ValidationError("A binary fraction is not exact: give a Decimal.")
        try:
            read = Decimal(value)
        except (ArithmeticError, TypeError, ValueError):
            read = None
        if read is None or not read.is_finite() or abs(read.adjusted()) > MAX_EXPONENT:
            raise ValidationError("Enter a number like 12.50.")
        return read

    def get_prep_value(self, value: Any) -> Any:
        if value is None or hasattr(value, "resolve_expression"):
            return value
        if isinstance(value, float):
            raise TypeError(f"{self.name}: float given where a Decimal is needed")
        scaled = Decimal(value).scaleb(self.places)
        if scaled.is_finite() and scaled.adjusted() > MAX_EXPONENT:
            raise ValueError(f"{self.name}: the value is too large")
        whole = int(scaled)
        if whole != scaled:
            raise ValueError(f"{self.name}: {value} has more than {self.places} places")
        return whole

    @property
    def validators(self) -> Any:
        # IntegerField's range validators compare scaled limits with unscaled values.
        return super(models.IntegerField, self).validators

    def formfield(self, **kwargs: Any) -> Any:
        from django import forms

        defaults = {"form_class": forms.DecimalField, "decimal_places": self.places}
        return models.Field.formfield(self, **{**defaults, **kwargs})

    def value_to_string(self, obj: models.Model) -> Any:
        value = self.value_from_object(obj)
        return None if value is None else str(value)


class ExactSum(models.Sum):
    """The sum of a FixedPointField as a Fraction, straight from the integer; None for no rows.

    A report reads hundreds of sums, and the way through Decimal costs as much as the sums do.
    """

    def get_db_converters(self, connection: BaseDatabaseWrapper) -> list[Any]:
        """One step in place of the field's own."""
        field = self.output_field
        assert isinstance(field, FixedPointField)
        scale = 10**field.places

        def exact(value: int | None, *_: Any) -> Fraction | None:
            return None if value is None else Fraction(int(value), scale)

        return [exact]


class MoneyField(FixedPointField[_Set, _Get]):
    """An amount of money: 4 places, so that every ISO 4217 minor unit fits."""

    def __init__(self, *args: Any, **kwargs: Any):
        kwargs.setdefault("places", 4)
        super().__init__(*args, **kwargs)


class QuantityField(FixedPointField[_Set, _Get]):
    """A quantity, a unit price or a ratio: 6 places."""

    def __init__(self, *args: Any, **kwargs: Any):
        kwargs.setdefault("places", 6)
        super().__init__(*args, **kwargs)


class PercentField(FixedPointField[_Set, _Get]):
    """Per cent with 4 places (8.25 % is 8.25)."""

    def __init__(self, *args: Any, **kwargs: Any):
        kwargs.setdefault("places", 4)
        super().__init__(*args, **kwargs)


class HoursField(FixedPointField[_Set, _Get]):
    """Hours with 4 places (20 minutes is 0.3333)."""

    def __init__(self, *args: Any, **kwargs: Any):
        kwargs.setdefault("places", 4)
        super().__init__(*args, **kwargs)


@cache
def zone_names() -> tuple[str, ...]:
    """Names of the time zones of the IANA database that there are here, in order."""
    return tuple(sorted(available_timezones()))


def zone_named(name: str) -> tzinfo:
    """A time zone by its name; UTC for one that is not known here."""
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return UTC


def check_zone(name: str) -> None:
    """Raises ValidationError unless there is a time zone of that name."""
    if name not in zone_names():
        raise ValidationError("Choose a time zone that there is, like Europe/Lisbon.")


def _server_zone() -> str:
    return settings.TIME_ZONE


class ZoneField(_Text):
    """The name of a time zone of the IANA database; the server's unless another is stated."""

    default_validators = [check_zone]

    def __init__(self, *args: Any, **kwargs: Any):
        kwargs.setdefault("max_length", 64)
        kwargs.setdefault("default", _server_zone)
        super().__init__(*args, **kwargs)

    def deconstruct(self) -> Any:
        name, path, args, kwargs = super().deconstruct()
        if kwargs.get("default") is _server_zone:
            # What builds have that stood here before is the server's of the day of migrating.
            del kwargs["default"]
        return name, path, args, kwargs
