"""What a workshop is: sheets, columns, units, published values."""
