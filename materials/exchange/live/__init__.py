"""Workings of a workbook: formulas that calculate from its sheets as the program does.

``calc`` counts in exact fractions, a spreadsheet in binary ones. Where the program rounds, the
formulas first round the same figure to a few more places (four to six), which takes the noise of
binary fractions away; where it splits an amount, they count in minor units, which are whole.

``grids`` lists the sheets of workings; ``typed`` follows the first number of a quantity;
``splits`` is the largest remainder in formulas; ``prices``, ``purchases``, ``stock``,
``components`` and ``totals`` mirror the costing rules; ``cost_sheet`` rounds and shows. A change
of a costing rule belongs here too: ``tests/exchange/test_live_workbook.py`` fails until it is
made.

Rows are written in passing, so no sheet is held as a whole. Above ``MOST_LINES`` purchase lines
enter as sums. Use only functions that spreadsheet programs and the ``formulas`` library share,
and remember that in a spreadsheet TRUE > 0 and FALSE > 0 are both true. A formula that cannot
follow a change gives #N/A.
"""
