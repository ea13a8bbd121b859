"""What estimates add to the ledger."""

from ..queries.records import add_kind
from ..services.history import add_record_type
from ..views.records import add_list
from .models import Estimate

add_record_type("estimate", Estimate)
add_kind("estimate", Estimate)
add_list("estimate", "estimates", "estimates")
