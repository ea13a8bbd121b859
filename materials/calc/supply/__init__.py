"""What to get, what to buy new and what to make, so that needs are met for the least.

``program.py`` writes a ``Problem`` as a whole-number program in minor units; a rounding is a
variable forced by two rows, so that a plan costs what ``calc.costing`` books (``costs.py`` sums
the same from the pieces). A new costing rule belongs in ``_write_offer`` too:
``tests/sourcing/calc/test_plan.py`` fails until it is there. A row goes to the solver in its
smallest whole numbers, which is exact only because every variable is whole.

``plan.py`` searches and breaks ties, ``blocks.py`` takes apart what nothing binds, ``reach.py``
says how much of what can be had without end is of use.
"""
