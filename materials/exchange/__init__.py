"""The workbook in and out, JSON, text, and backups: a whole build as files.

``schema`` is the one list of sheets and columns; the others read it. Import turns cells into rows
(``reader``), checks all of them into a plan or a list of every fault (``importer``), and only
then writes, in one transaction (``services.imports``). Formulas without a saved value, merged
cells and dates that could be read two ways are faults, not guesses.

What a new column must know:

- ``Shares``, ``Handed over`` and the Build row ``Own hours count`` hold the settling up. ``Moved
  in`` and ``Value`` on Left over hold transfers between builds, each read back as one side. Other
  builds of the ledger are not named, since a workbook may go to anybody.
- ``For cautions`` on Components, ``Built in`` and ``Through fire`` on Purchases are kept for the
  cautions alone. ``Price breaks``, ``At most`` and ``Sold by`` are for the sourcing plan.
- ``Ways to make`` holds what is stated; what conversions have shown is worked out again.
- Takeoffs, lifetime comparisons, estimates and cutting plans are not in it: backups and build
  files carry those (``backup_file``).
- ``History`` is for reading; an import passes over it, ``About``, ``Cost sheet`` and the workings.
"""
