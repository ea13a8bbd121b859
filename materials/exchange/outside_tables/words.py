"""Words people write for sources, states and kinds of work, and over the sum of a table."""

from typing import Any

from ...choices import LabourKind, ObtainedBy, Source, State
from .trade_words import SOURCES as IN_OTHER_LANGUAGES


def _words(groups: dict[Any, str]) -> dict[str, Any]:
    return {word: value for value, words in groups.items() for word in words.split("|")}


_S, _O, _T, _L = Source, ObtainedBy, State, LabourKind
SOURCES = _words(
    {
        (_S.SALVAGE, ""): (
            "salvage|salvaged|reclaimed|recycled|reused|re-used|scavenged|demolition|demo|s|found"
        ),
        (_S.SALVAGE, _O.DISMANTLED): "dismantled|deconstructed|torn down|teardown",
        (
            _S.SALVAGE,
            _O.SECOND_HAND,
        ): "used|second-hand|second hand|secondhand|2nd hand|pre-owned|u",
        (_S.SALVAGE, _O.GIVEN): "given|gift|gifted|free|donated|donation",
        (_S.SALVAGE, _O.AUCTION_LOT): "auction|auction lot",
        (_S.SALVAGE, _O.OWN_STOCK): "own stock|own|had it|on hand|stash|mine",
        (_S.SECONDS, ""): "seconds|second|2nds|imperfect|blemished|damaged|clearance",
        (_S.SECONDS, _O.FACTORY_SECONDS): "factory seconds|factory second",
        (_S.SECONDS, _O.MIS_TINT): "mis-tint|mistint|mis tint|oops",
        (_S.SECONDS, _O.OVERSTOCK): "overstock|surplus|liquidation|closeout",
        (_S.RETAIL, ""): "retail|store|shop|bought|r",
        (_S.RETAIL, _O.NEW): "new|brand new|bought new|n",
    }
)
_OF_SOURCE = {how: (source, how) for word, (source, how) in SOURCES.items() if how}
_OF_SOURCE |= {
    _S.SALVAGE: (_S.SALVAGE, ""),
    _S.SECONDS: (_S.SECONDS, ""),
    _S.RETAIL: (_S.RETAIL, ""),
}
SOURCES |= {
    word: _OF_SOURCE[said]
    for said, words in IN_OTHER_LANGUAGES.items()
    for word in words.split("|")
    if word not in SOURCES
}
OBTAINED = _words(
    {value: "|".join(word for word, (_, how) in SOURCES.items() if how == value) for value in _O}
) | {value.value: value for value in _O}
STATES = _words(
    {
        _T.RECEIVED: (
            "received|got|got it|yes|y|x|delivered|arrived|done|here|complete|completed|"
            "paid|have|in hand|picked up|bought|✓|✔"
        ),
        _T.ORDERED: (
            "ordered|on order|pending|back-ordered|backordered|paid for|waiting|coming|"
            "order placed|shipped|in transit"
        ),
        _T.OFFER: "offer|offered|quote|quoted|maybe|considering|wish|wanted|planned|to buy",
        _T.DECLINED: "declined|no|n|passed|rejected|cancelled|canceled|not taken|returned",
    }
)
LABOUR = _words(
    {
        _L.SOURCING: (
            "sourcing|hunting|buying|shopping|fetching|pickup|picking up|collecting|"
            "driving|hauling|dismantling|salvaging|looking"
        ),
        _L.PREPARING: (
            "preparing|prep|denailing|de-nailing|cleaning|planing|sorting|ripping|cutting|"
            "milling|sanding|refinishing"
        ),
        _L.INSTALLING: (
            "installing|install|installation|building|build|framing|construction|working|"
            "work|fitting|labor|labour|painting"
        ),
        _L.REWORKING: "reworking|rework|redo|redoing|fixing|repair|correcting|mistake",
        _L.UPKEEP: "upkeep|maintenance|maintaining|tidying|cleanup|clean up|clean-up",
    }
)
CHOICES = {
    "source": (SOURCES, "salvage, seconds or retail"),
    "obtained": (OBTAINED, "one of " + ", ".join(ObtainedBy.values)),
    "state": (STATES, "offer, ordered, received or declined"),
    "labour": (LABOUR, "one of " + ", ".join(LabourKind.values)),
}
TOTAL_WORDS = frozenset(
    (
        "total|totals|grand total|subtotal|sub total|sub-total|sum|balance|total spent|total cost|"
        "total to date|running total|total hours|overall|overall total|carried forward|"
        "brought forward|average|avg|count|total so far|page total|monthly total|total due|"
        "total paid|net total|gesamt|summe|totaal|total général|gran total|totale"
    ).split("|")
)
