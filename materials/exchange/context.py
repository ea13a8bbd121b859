"""What the checks of the single sheets share: names, components, and typed quantities."""

import difflib
import re
from datetime import date
from decimal import Decimal

from ..calc import uniformat
from ..calc.quantities import QuantityError, parse_quantity
from ..calc.units import UNITS, UnitError, find_unit
from ..models import Element
from ..queries.days import has_begun
from ..queries.exchange import ExistingBuild, name_key
from ..queries.quantities import base_quantity, parsed, with_unit
from .cells import CellReader
from .columns import Need, length_of
from .faults import Findings, shown
from .plan import Planned, PlannedBuild, PlannedComponent
from .rows import Row, Table

ELEMENT_CODE = re.compile(r"[A-Za-z][0-9]{0,6}(?:\.[0-9]{1,3})?")
CODE_LENGTH = length_of(Element, "code")
# Looking for a close name costs time; the first unknown names are enough to see what is wrong.
MAX_SUGGESTIONS = 100
MAX_CACHED = 50_000


class Names:
    """Names of one kind: those that exist, and new ones in the order they first appear."""

    def __init__(self, existing: frozenset[str]):
        self.existing = existing
        self.new: dict[str, str] = {}

    def use(self, name: str) -> str:
        """The key of a name, which is created on sight."""
        key = name_key(name)
        if key not in self.existing:
            self.new.setdefault(key, name)
        return key


class Context:
    """State of one check. A component whose own row is faulty is known, but None."""

    def __init__(
        self,
        findings: Findings,
        build: PlannedBuild,
        reader: CellReader,
        existing: ExistingBuild | None,
        today: date,
    ):
        self.findings, self.build, self.reader, self.today = findings, build, reader, today
        self.existing = existing
        self.suppliers = Names(existing.suppliers if existing else frozenset())
        self.persons = Names(existing.persons if existing else frozenset())
        self.tasks = Names(existing.tasks if existing else frozenset())
        self.elements: dict[str, str] = {}
        self.element_names: dict[str, set[str]] = {}
        self.new_elements: list[Planned] = []
        self.faulty_elements: set[str] = set()
        self.components: dict[str, PlannedComponent | None] = {}
        self.new_components: list[str] = []
        self.create_components = False
        self.unknown: set[str] = set()
        self._quantities: dict[tuple[str, str], tuple[str, Decimal]] = {}
        if existing:
            for code, name in existing.elements.items():
                self.add_element(code, name)
            for key, part in existing.components.items():
                known = {"name": part.name, "unit": part.unit, "contents": part.contents}
                self.components[key] = PlannedComponent(known)

    def fault(self, table: Table, row: Row | int, key: str, text: str) -> None:
        """Add a fault at a cell."""
        number = row if isinstance(row, int) else row.number
        self.findings.fault(table.sheet.title, number, table.sheet.column(key).title, text)

    def refuse_early(self, table: Table, row: Row, text: str) -> None:
        """A fault at the row's date when that day has not come yet."""
        day = row.get("date")
        if day is not None and not has_begun(day, self.today):
            self.fault(table, row, "date", text)

    def add_element(self, code: str, name: str) -> str:
        """Make an element known; returns its key."""
        key = name_key(code)
        self.elements[key] = code
        self.element_names.setdefault(name_key(name), set()).add(key)
        return key

    def find_element(self, table: Table, row: Row) -> str | None:
        """Key of the element a row names by code or name; a code nobody listed is created."""
        text = row.get("element")
        if text is None:
            return None
        key = name_key(text)
        if key in self.elements:
            return key
        named = self.element_names.get(key, set())
        if key in self.faulty_elements:
            return None
        if len(named) == 1:
            return next(iter(named))
        if named:
            codes = ", ".join(sorted(self.elements[code] for code in named))
            self.fault(
                table, row, "element", f"{shown(text)} names several elements: enter one of the"
                f" codes {codes}."
            )  # fmt: skip
        elif ELEMENT_CODE.fullmatch(text) and len(text) <= CODE_LENGTH:
            code = text.upper()
            name = uniformat.name_of(code) or code
            self.new_elements.append(Planned({"code": code, "name": name}))
            return self.add_element(code, name)
        else:
            self.fault(
                table, row, "element", f"{shown(text)} is not on the Elements sheet: add it there"
                " with a code, or enter a code like B2010."
            )  # fmt: skip
        return None

    def find_component(
        self, table: Table, row: Row, key: str = "component", quantity: str = ""
    ) -> str | None:
        """Key of the component a row names, None with a fault (or where its own row has one).

        Without a Components sheet a component is created with the unit of its first quantity.
        """
        name = row.get(key)
        if name is None:
            return None
        found = name_key(name)
        if found in self.components:
            return found if self.components[found] is not None else None
        if self.create_components and quantity:
            return self._create_component(table, row, name, quantity)
        where = (
            "was not bought or made" if self.create_components else "is not on the Components sheet"
        )
        self.fault(
            table, row, key, f"{shown(name)} {where}: add it there, or correct the name"
            f"{self._suggest(found)}."
        )  # fmt: skip
        return None

    def part(self, key: str) -> PlannedComponent:
        """The component of a key that was found."""
        part = self.components[key]
        assert part is not None
        return part

    def _create_component(self, table: Table, row: Row, name: str, quantity: str) -> str | None:
        found = name_key(name)
        text = row.get(quantity)
        if text is None:
            self.components.setdefault(found, None)
            return None
        try:
            unit = parse_quantity(text, UNITS["piece"]).unit
        except QuantityError as error:
            self.fault(table, row, quantity, str(error))
            row.bad.add(quantity)
            self.components[found] = None
            return None
        self.components[found] = PlannedComponent({"name": name, "unit": unit.symbol})
        self.new_components.append(found)
        return found

    def _suggest(self, key: str) -> str:
        if key in self.unknown or len(self.unknown) >= MAX_SUGGESTIONS:
            return ""
        self.unknown.add(key)
        close = difflib.get_close_matches(key, self.components, n=1, cutoff=0.75)
        part = self.components[close[0]] if close else None
        return f" (did you mean {shown(part.name)}?)" if part else ""

    def quantity(
        self, table: Table, row: Row, key: str, component: str | None
    ) -> tuple[str, Decimal] | None:
        """A typed quantity as kept (always with a unit) and in the base unit, above zero."""
        text = row.get(key)
        part = self.components.get(component) if component is not None else None
        if text is None:
            return None
        if part is None:
            self._check_form(table, row, key, text)
            return None
        cached = self._quantities.get((component or "", text))
        if cached is None:
            try:
                kept = parsed(text).text
                if len(kept) > table.sheet.column(key).max_length:
                    raise QuantityError("The quantity is too long: shorten it.")
                cached = kept, base_quantity(kept, part)
            except QuantityError as error:
                self.fault(table, row, key, str(error))
                return None
            if len(self._quantities) >= MAX_CACHED:
                self._quantities.clear()
            self._quantities[component or "", text] = cached
        return cached

    def _check_form(self, table: Table, row: Row, key: str, text: str) -> None:
        """What can be said of a quantity whose component is not known: how it is written."""
        if key in row.bad:
            return
        try:
            parse_quantity(text)
        except QuantityError as error:
            self.fault(table, row, key, str(error))


def required_quantity(text: str, part: PlannedComponent) -> tuple[str, Decimal]:
    """A required quantity; the unit beside it in the row serves a bare number.

    Raises QuantityError.
    """
    kept = with_unit(text, find_unit(part.unit))
    return kept, base_quantity(kept, part)


def known_unit(text: str) -> str:
    """The symbol of a unit. Raises QuantityError with the unit's own sentence."""
    try:
        return find_unit(text).symbol
    except UnitError as error:
        raise QuantityError(str(error)) from None


def own_columns(
    ctx: Context, table: Table, rows: list[Row], different: str, **sentences: str
) -> None:
    """Columns that belong to a whole group stand on its first row.

    Later rows may leave them empty or repeat them; ``different`` says that one differs
    ({here}, {first} and {row} are filled in), ``sentences`` of a column by its key.
    """
    first, of_first = rows[0], (Need.FIRST, Need.FIRST_OPTIONAL)
    keys = [column.key for column in table.sheet.columns if column.need in of_first]
    for row in rows[1:]:
        for key in keys:
            here, at_first = row.get(key), first.get(key)
            if here is None or key in row.bad or key in first.bad or _same(here, at_first):
                continue
            sentence = sentences.get(key, different).format(
                here=shown(here),
                first=shown("nothing" if at_first is None else at_first),
                row=first.number,
            )
            ctx.fault(table, row, key, sentence)


def _same(one: object, other: object) -> bool:
    if isinstance(one, str) and isinstance(other, str):
        return name_key(one) == name_key(other)
    return one == other


def group_rows(table: Table, key: str) -> dict[str, list[Row]]:
    """Rows by the number of what they belong to, in the order of first appearance."""
    groups: dict[str, list[Row]] = {}
    for row in table.rows:
        number = row.get(key)
        if number is not None:
            groups.setdefault(name_key(number), []).append(row)
    return groups
