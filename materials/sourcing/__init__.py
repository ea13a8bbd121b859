"""The sourcing plan: which offers to take, what to buy new and what to make, for the least.

``calc.supply`` of the ledger finds a plan; here ``calc/frontier.py`` goes along money against
hours, ``calc/sensitivity.py`` forces each part in or out and finds its break-even,
``calc/answer.py`` shares the time out, ``queries/plan.py`` owns the clock.

Price breaks, “at most” and “sold by” of an offer's line are typed text and change no cost of a
purchase. Fixed charges and hours count in full once anything of an offer is taken; offers of one
supplier share one journey; what is left over of whole packs counts as nothing.
"""
