"""One arithmetic for numbers and for spreadsheet cells; steps that order themselves."""
