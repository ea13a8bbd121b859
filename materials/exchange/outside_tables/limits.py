"""How much of somebody's file is looked at (OWASP ASVS 5.0.0, 5.2.1 and 5.2.3)."""

MAX_SHEETS = 60
HEAD_ROWS = 40
MAX_COLUMNS_READ = 200
MAX_ROWS_READ = 200_000
# All text of one table together.
MAX_TABLE_TEXT = 150_000_000
# Cells of a workbook whose marks are looked at, and of which a marked copy is made.
MAX_MARKED_CELLS = 120_000
# The process that opens workbooks. A sheet of 12 million cells takes about a gigabyte.
CHILD_MEMORY = 3 * 1024**3
CHILD_SECONDS = 60
# Two at a time, so that uploads cannot take all of a machine's memory.
CHILDREN = 2
