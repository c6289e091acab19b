"""The market run: from bars wanted on a day, back through the cure, to what to make, what to buy and what it earns."""
