"""Comparing lifetime cost of alternatives, and the cost indexes that bring prices to a day.

``calc/factors.py`` holds the formulas (ASTM E917, NIST Handbook 135), ``calc/present_cost.py`` the
account by year and the same sum by kind over whole powers (a property test holds the two
together), ``calc/break_even.py`` what changes a choice. All money is in the prices of one day and
the rate is real; ``queries/comparisons.py`` turns a nominal one into it. A break-even price is
solved, a break-even life is looked for among all whole lives, since upkeep begins anew with a
replacement and longer need not be cheaper. Combinations of everybody's lows and highs are counted,
not listed. ``calc/escalation.py`` never reaches beyond what was published, and notes what a reader
must know; ``calc/index_text.py`` reads and writes pasted months.
"""
