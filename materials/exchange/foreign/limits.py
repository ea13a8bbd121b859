"""How much of somebody's file is looked at (OWASP ASVS 5.0.0, 5.2.1 and 5.2.3)."""

# The uploaded file; a pasted table is limited by DATA_UPLOAD_MAX_MEMORY_SIZE.
MAX_UPLOAD = 50 * 1024 * 1024
MAX_PASTE = 1_500_000
MAX_SHEETS = 60
HEAD_ROWS = 40
MAX_COLUMNS_READ = 200
MAX_ROWS_READ = 200_000
# All text of one table together.
MAX_TABLE_TEXT = 150_000_000
# The process that opens workbooks. A sheet of 12 million cells takes about a gigabyte.
CHILD_MEMORY = 3 * 1024**3
CHILD_SECONDS = 60
# Two at a time, so that uploads cannot take all of a machine's memory.
CHILDREN = 2
