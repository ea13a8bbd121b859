"""Whether a plan of sheets can be cut as it says."""

from fractions import Fraction as F

from materials.cutting.calc.flat.types import ACROSS


def follows_from(order, plan):
    """Each piece as often as needed, from no more than there is, by cuts from edge to edge."""
    for at, part in enumerate(order.parts):
        assert sum(c.count * dict(c.pieces).get(at, 0) for c in plan.cuts) == part.count
    for at, sheet in enumerate(order.sheets):
        assert (
            sheet.count is None or sum(c.count for c in plan.cuts if c.sheet == at) <= sheet.count
        )
    for cut in plan.cuts:
        sheet = order.sheets[cut.sheet]
        lies_within(order, sheet, cut)
        cuts_free(order, sheet, cut)
    used = sum(order.sheets[c.sheet].area * c.count for c in plan.cuts)
    assert plan.used == used
    assert plan.waste == used - sum(p.area * p.count for p in order.parts)
    assert plan.largest == max(c.largest for c in plan.cuts)


def lies_within(order, sheet, cut):
    """No two boxes overlap, and each piece has its size."""
    low = F(0) if order.is_ripped else sheet.trim
    counted = {}
    for box in cut.boxes:
        # What is no wider than the saw cut goes with it.
        assert min(box.wide, box.tall) > 0
        assert box.left >= sheet.trim
        assert box.low >= low
        assert box.left + box.wide <= sheet.length - sheet.trim
        assert box.low + box.tall <= sheet.width - low
        if box.kind == "piece":
            counted[box.need] = counted.get(box.need, 0) + box.count
            part = order.parts[box.need]
            size = part.length, part.width
            if not part.is_triangle:
                assert (box.wide, box.tall) == (size[::-1] if box.turned else size)
            assert part.may_turn or not box.turned
        else:
            is_kept = min(box.wide, box.tall) >= order.keep
            assert box.kind == ("remnant" if is_kept else "waste")
    assert counted == dict(cut.pieces)
    for at, one in enumerate(cut.boxes):
        for other in cut.boxes[at + 1 :]:
            assert (
                one.left + one.wide + order.kerf <= other.left
                or other.left + other.wide + order.kerf <= one.left
                or one.low + one.tall + order.kerf <= other.low
                or other.low + other.tall + order.kerf <= one.low
            )


def cuts_free(order, sheet, cut):
    """Following the cuts from the whole sheet ends in exactly the boxes."""
    low = F(0) if order.is_ripped else sheet.trim
    waiting = [(sheet.trim, low, sheet.length - 2 * sheet.trim, sheet.width - 2 * low)]
    ends = []
    for saw in cut.saws:
        whole = saw.left, saw.low, saw.wide, saw.tall
        assert whole in waiting
        waiting.remove(whole)
        if saw.axis == ACROSS:
            first = saw.left, saw.low, saw.at, saw.tall
            over = saw.at + order.kerf
            second = saw.left + over, saw.low, saw.wide - over, saw.tall
        else:
            first = saw.left, saw.low, saw.wide, saw.at
            over = saw.at + order.kerf
            second = saw.left, saw.low + over, saw.wide, saw.tall - over
        for part, place in ((first, saw.first), (second, saw.second)):
            if place is not None:
                box = cut.boxes[place]
                assert (box.left, box.low, box.wide, box.tall) == part
                ends.append(place)
            elif min(part[2:]) > 0:
                waiting.append(part)
    if cut.saws:
        assert not waiting
        assert sorted(ends) == list(range(len(cut.boxes)))
