"""Result tabs, one module each, in the order of the finished workbook."""
