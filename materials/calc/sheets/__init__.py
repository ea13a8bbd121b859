"""Sheets for others: cost basis, replacement cost new, weight kept from landfill.

Small readings of the cost sheet. Weights come from a component's contents, else from ``loads`` by
``Component.load_kind`` for what is measured in a heap; every published weight stays with its
source, and where sources differ the sheet gives a range. Salvaged shares follow material through
conversions.
"""
