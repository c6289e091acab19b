"""The arithmetic of the trade on plain numbers: rules, steps, dangers; it knows no spreadsheet."""
