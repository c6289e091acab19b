"""What may not be, and what is asked about: each rule once, read by the engine and by the workbook."""
