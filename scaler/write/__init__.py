"""Records and results become a workbook: input sheets, result tabs, workings."""
