"""Time the cold demo run beside the least that any program would do: python benchmarks/cold.py [ROUNDS].

Both start a fresh Python. "demo" is `scaler demo` on folders that hold the demo workbooks. "plain" imports openpyxl and
xlsxwriter, reads the same cells, and writes the same cells as constants: no formula, no format, no engine. The rounds
take turns, so that a busy machine slows both. The ratio of the medians is to stay under 2.5, else the exit status is 1.
"""

from __future__ import annotations

import marshal
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from scaler.output import DEMO_FILES, copy_to

MOST = 2.5

PLAIN = """
import marshal, sys
import openpyxl, xlsxwriter
*sources, cells, target = sys.argv[1:]
for source in sources:
    for sheet in openpyxl.load_workbook(source).worksheets:
        for row in sheet.iter_rows(values_only=True):
            for value in row:
                pass
book = xlsxwriter.Workbook(target, {"in_memory": True})
with open(cells, "rb") as held:
    for name, values in marshal.load(held):
        sheet = book.add_worksheet(name)
        for row, column, value in values:
            if isinstance(value, str):
                sheet.write_string(row, column, value)
            else:
                sheet.write_number(row, column, value)
book.close()
"""

DEMO = "import sys; sys.argv = ['scaler', 'demo', sys.argv[1]]; from scaler.cli import main; main()"


def cells_of(book: Path) -> list[tuple[str, list[tuple[int, int, str | float]]]]:
    """Return every filled cell of a workbook as a constant, by sheet."""
    import openpyxl
    from openpyxl.utils.datetime import to_excel

    found = []
    for sheet in openpyxl.load_workbook(book, data_only=True).worksheets:
        values: list[tuple[int, int, str | float]] = []
        for cell in (cell for row in sheet.iter_rows() for cell in row if cell.value is not None):
            value: Any = to_excel(cell.value) if cell.is_date else cell.value  # type: ignore[no-untyped-call]
            values.append((cell.row - 1, cell.column - 1, value if isinstance(value, str) else float(value)))
        found.append((sheet.title, values))
    return found


def seconds(*command: str) -> float:
    """Return how long a fresh Python takes for this."""
    started = time.perf_counter()
    subprocess.run([sys.executable, "-c", *command], check=True, capture_output=True)
    return time.perf_counter() - started


def measured(rounds: int) -> tuple[list[float], list[float], int]:
    """Return the seconds of every demo run and of every plain run, and how many cells were written."""
    with tempfile.TemporaryDirectory() as held:
        folder = Path(held)
        copy_to(folder)
        seconds(DEMO, held)
        cells = cells_of(folder / "finished.xlsx")
        (folder / "cells").write_bytes(marshal.dumps(cells))
        plain = (PLAIN, *(str(folder / name) for name in DEMO_FILES), str(folder / "cells"), str(folder / "plain.xlsx"))
        seconds(*plain)
        times = [(seconds(DEMO, held), seconds(*plain)) for _ in range(rounds)]
    return [demo for demo, _ in times], [plain for _, plain in times], sum(len(values) for _, values in cells)


def main(rounds: int) -> bool:
    """Print both times side by side, and their ratio; return whether it is small enough."""
    demo, plain, cells = measured(rounds)
    print(f"{rounds} cold runs each, taking turns; {cells} cells written")
    print(f"demo   median {statistics.median(demo) * 1000:5.0f} ms   fastest {min(demo) * 1000:5.0f} ms")
    print(f"plain  median {statistics.median(plain) * 1000:5.0f} ms   fastest {min(plain) * 1000:5.0f} ms")
    ratio = statistics.median(demo) / statistics.median(plain)
    print(f"ratio  {ratio:.2f} (to stay under {MOST})")
    return ratio < MOST


if __name__ == "__main__":
    sys.exit(0 if main(int(sys.argv[1]) if len(sys.argv) > 1 else 9) else 1)
