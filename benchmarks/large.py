"""Time and memory of a workbook of many batches, written and read back: python benchmarks/large.py [BATCHES].

The demo's batches are repeated under new names. Each run is a process of its own, so that its memory is its own. The
exit status is 1 when one of them takes over 600 MB.
"""

from __future__ import annotations

import dataclasses
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import scaler
from scaler.output import DEMO_FILES, copy_to
from scaler.write.finished import inputs

MOST_MB = 600


def many_batches(count: int, folder: Path) -> Path:
    """Write an input workbook of the demo with so many batches, and return its path."""
    copy_to(folder)
    shop = scaler.load(*(folder / name for name in DEMO_FILES))
    batches = tuple(
        dataclasses.replace(shop.batches[number % len(shop.batches)], batch=f"B-{number:05d}")
        for number in range(count)
    )
    path = folder / "many.xlsx"
    path.write_bytes(inputs(dataclasses.replace(shop, batches=batches, market=())))
    return path


def main(count: int) -> int:
    """Print a line a command, and return the exit status."""
    worst = 0
    with tempfile.TemporaryDirectory() as folder:
        many = many_batches(count, Path(folder))
        finished = many.with_name("finished.xlsx")
        for words in (["batch", many, "-o", finished], ["check", finished]):
            began = time.perf_counter()
            subprocess.run([sys.executable, "-m", "scaler", *map(str, words)], check=True, stdout=subprocess.DEVNULL)
            worst = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024
            print(f"{words[0]}: {time.perf_counter() - began:.0f} s, at most {worst} MB so far")
        print(f"{count} batches: {finished.stat().st_size / 1e6:.1f} MB")
    return int(worst > MOST_MB)


if __name__ == "__main__":
    raise SystemExit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000))
