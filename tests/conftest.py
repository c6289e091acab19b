"""What holds for every test."""

import gc

# A workbook is many small objects, none of them in circles: looking for those takes a fifth of the time.
gc.set_threshold(300_000, 50, 50)
