"""Records whose name differs from a typed one by plural, case, spaces or marks only."""

from ..calc.names import loose_key
from ..models import Build, Component


def list_similar_names(build: Build, name: str, most: int = 2) -> list[str]:
    """Names of components that a typed name could stand for, when none is called just so."""
    wanted = loose_key(name)
    names = Component.objects.filter(build=build).values_list("name", flat=True)
    return [known for known in names if wanted and loose_key(known) == wanted][:most]
