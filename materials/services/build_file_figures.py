"""Whether a build that came from elsewhere can be calculated."""

from django.utils import timezone

from ..models import Build, Component
from ..queries.checks import find_differences
from ..queries.reports import get_cost_sheet
from ..queries.safety import list_cautions
from ..tools import DERIVATIONS
from .components import convert_again
from .errors import LedgerError
from .ledger import check_stock, cost_purchases
from .totals import rebuild_totals


def derive_figures(build: Build) -> None:
    """Work derived figures out again where they are not what the facts give, and try them.

    Raises LedgerError when they cannot be worked out.
    """
    try:
        if any(True for _ in find_differences(build)):
            for component in Component.objects.filter(build=build):
                convert_again(build, component)
            cost_purchases(build)
            rebuild_totals(build)
            for derive in DERIVATIONS:
                derive(build)
        check_stock(build)
        wrong = next(find_differences(build), None)
        # What its pages would work out must not fail there.
        get_cost_sheet(build, timezone.localdate())
        list_cautions(build)
    except LedgerError:
        raise
    except Exception as error:
        # A file may hold any text where a unit, a currency or a quantity should stand.
        wrong = str(error) or type(error).__name__
    if wrong:
        raise LedgerError(f"The build in this file has faults: {wrong}")
