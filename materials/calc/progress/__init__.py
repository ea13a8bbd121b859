"""How the work goes: hours against plan, earned value, money against budgets."""
