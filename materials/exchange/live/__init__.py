"""Workings of a workbook: formulas that reckon from its sheets as the program does.

``calc`` reckons in exact fractions, a spreadsheet in binary ones. Where the program rounds, the
formulas first round the same figure to six further places, which takes the noise of binary
fractions away; where it splits an amount, they count in minor units, which are whole.
"""
