"""Cutting plans: which boards to cut into which pieces, and logging what was cut.

``calc/types.py`` says what counts as saw cut, trim, off-cut and waste. ``calc/plan.py`` settles
cost, then waste, then the longest off-cut. ``calc/cheapest_boards.py`` puts all full patterns into
one program where they are few; else it generates columns, proves a bound from prices of pieces in
whole numbers, and adds every column a better plan could use. Clocks are handed in (milliseconds
left). Saw marks follow ``calc/marks.py``: the blade begins at the mark, the cut lies behind it;
trim is 0 or at least the kerf.

Sheets, and boards that are ripped before they are cut to length, are in ``calc/flat``: straight
cuts from edge to edge, kerf both ways, pieces turned where they may be. Fillings are trees of cuts.
Where few are possible, all are looked at (``layouts.AllFillings``) and all three aims are proved;
else columns are generated with the same ``cheapest_boards.cover``, from a table without limits on
pieces (``solver``), and a search with them (``search``). Triangles lie in strips (``triangles``).
``queries/uses.py`` says what taking a plan of any kind uses, makes and keeps.

The result is stored as ``calc/store.py`` writes it. It counts as derived, and ``check_ledger`` does
not compare it, since a time limit may change it. ``CuttingTaken`` names what taking a plan made, so
that undoing the change “taken” removes it as one.
"""
