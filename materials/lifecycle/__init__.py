"""Comparing lifetime cost of alternatives, and the cost indexes that bring prices to a day."""
