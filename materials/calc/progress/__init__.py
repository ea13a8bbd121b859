"""How the work goes: hours against plan, earned value, money against budgets.

What an element will come to is what is in it, ordered and still needed, and what is on hand as far
as the building still asks for it. Earned value is counted in hours.
"""
