"""The workbook: reading, checking, importing and writing a whole build."""
