"""Reading tables that other people made: nothing about them is taken for granted.

In layers: ``sniff`` and ``child`` say what the file is and give its rows as tagged cells that JSON
holds; ``guess`` and ``mapping`` are what a person confirms; ``read`` turns one row into plain
values, without the build; ``resolve`` and ``check`` set them against it (names, quantities,
doubles, purchases); ``steps`` has the steps, ``trade_words`` the words of other languages.
Workbooks are opened only in ``child``, a process of its own with bounded memory and time, which
must import neither Django nor settings. There ``marks`` looks at what an .xlsx shows beside its
values, and ``marked`` writes the copy that ``became`` gives back; ``questions`` asks once about
quantities alike.

An ``ImportJob`` holds everything between pages. ``services.import_runs`` writes chunks; the state
of a row changes only in the transaction that writes its record, so a run goes on after a closed
tab or a killed server. ``ImportedRecord`` lists what an import made, for our own workbook too,
and ``services.import_undo`` takes it back.

A new kind of table needs fields in ``fields``, a method in ``resolve``, a writer in
``services.import_write``, columns in ``shown_rows`` and options in ``mapping``.
"""
