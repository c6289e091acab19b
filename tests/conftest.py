"""What holds for every test."""

import gc

gc.set_threshold(
    300_000, 50, 50
)  # a workbook is many small objects, none of them in circles: looking for those is a fifth of the time
