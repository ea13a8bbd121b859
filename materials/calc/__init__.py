"""Exact arithmetic of the ledger: no framework, no clock, no files, no binary fractions."""
