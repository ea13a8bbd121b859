"""Estimating the next build from earlier ones, and judging the estimate afterwards.

``calc/estimate.py`` brings each earlier build to today's prices (``calc/price_rise.py``; the time
of a build is the day by which half of its money was spent), takes components by name and unit at
what one cost in the building, and spreads them by what was paid for one, following conversions.
What the new build states a quantity of goes by it, the rest by area; quantities that came from
another build or an estimate (``Component.required_from``) make no estimate better. What becomes a
requirement leaves out the component's own waste allowance, since what was built in had its waste
in it. ``calc/accuracy.py`` is the table of AACE 18R-97.

An ``Estimate`` keeps figures as text, rounded when kept, and counts earlier builds without naming
them. Using it writes budgets and requirements through the usual services, so each stands in the
history by itself. ``calc/check.py`` reads a kept one and sets it beside the cost sheet.
"""
