"""The arithmetic of the sourcing plan."""
