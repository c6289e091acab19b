"""Workbooks become records: every problem with its file, sheet and cell, none of them raised."""
