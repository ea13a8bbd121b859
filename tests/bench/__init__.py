"""Measurements, printed as ratios to a bare reference taken in the same run.

Each case runs in turn with its reference; figures and the machine they are of stand in README.md
beside this file. ``--quick`` is a trial of the bench, not a figure. Give it a quiet machine: it
takes about an hour, most of it for the lists. What keeps the figures where they are:

- Cost sheet: lines come as running totals; hours and what each person paid are summed within
  covering indexes (``labour_sums``, ``purchase_paid``); sums leave the database as Fractions
  (``ExactSum``), not by way of Decimal; many fractions are added over one common denominator
  (``calc.exact.add_up``); a conversion's input is valued once for each pair of materials; new
  prices are read only where a conversion has to be split by them. Its text is kept until
  something of the build changes (``queries.kept``).
- Lists read one page: keys first, from the nearer end, within an index that holds all they sort
  and filter by, then the rows of those keys and nothing else beside them. A new sort or filter of
  a long list needs its column in that list's index.
- Workbook out: lines are plain tuples, since a record of the database costs more than all else of
  a row; what they share is read once for each thousand; the writer looks at a text only as far as
  it must, and at the names of its own cells not at all.
- Workbook in: one pass, facts in bulk, figures derived in memory.
- Tried and left: running totals of hours and conversions (no fewer rows to read than the sums
  within an index give), openpyxl for writing (slower than XlsxWriter, at more memory).
"""
