"""The sourcing plan: which offers to take, what to buy new and what to make, for the least.

``calc/program.py`` writes a ``Problem`` as a whole-number program in minor units; a rounding is a
variable forced by two rows, so that a plan costs what ``calc.costing`` books (``calc/costs.py``
sums the same from the pieces). A new costing rule belongs in ``_write_offer`` too:
``tests/sourcing/calc/test_plan.py`` fails until it is there. A row goes to the solver in its
smallest whole numbers, which is exact only because every variable is whole.

``calc/plan.py`` searches and breaks ties, ``calc/frontier.py`` goes along money against hours,
``calc/sensitivity.py`` forces each part in or out and finds its break-even, ``calc/blocks.py``
takes apart what nothing binds, ``calc/answer.py`` shares the time out, ``queries/plan.py`` owns
the clock.

Price breaks, “at most” and “sold by” of an offer's line are typed text and change no cost of a
purchase. Fixed charges and hours count in full once anything of an offer is taken; offers of one
supplier share one journey; what is left over of whole packs counts as nothing.
"""
