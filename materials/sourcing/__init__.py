"""The sourcing plan: which offers to take, what to buy new and what to make, for the least."""
