"""What holds for every test."""

import gc

collect_ignore = ["look_at_extension.py"]  # run in a copy of the project, by test_extension

# A workbook is many small objects, none of them in circles: looking for those takes a fifth of the time.
gc.set_threshold(300_000, 50, 50)
