"""Cutting plans: which boards to cut into which pieces, and logging what was cut."""
