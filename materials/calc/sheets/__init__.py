"""Sheets for others: cost basis, replacement cost new, weight kept from landfill."""
