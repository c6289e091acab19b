"""Time, memory, gap and sameness of a large market run: python benchmarks/large_market.py [SEED] [LIMITED].

1,000 rows of demand, 50 recipes, 20 moulds, 10 market days, made up from a seed; with LIMITED a first make day too.
It is planned twice by the command line, the second time beside two programs that keep the machine busy. The exit status
is 1 when a run takes over 120 s or 600 MB, states no gap, or the two plans differ.
"""

from __future__ import annotations

import json
import random
import resource
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))

from market_runs import MARKET_DAY, market_run

from scaler.model.records import Demand, Workshop
from scaler.write.finished import inputs

RECIPES, MOULDS, DAYS, STALLS = 50, 20, 10, 2
MOST_SECONDS, MOST_MB = 120, 600
BUSY = 2
FIRST = 75
"""Days from the first make day to the first market, where there is one."""


def large_run(seed: int, limited: bool) -> Workshop:
    """Return the workshop: each recipe on each day at two stalls, at a price each."""
    draw = random.Random(seed)
    more = {"first_make_day": MARKET_DAY - timedelta(days=FIRST)} if limited else {}
    drawn = market_run(seed, RECIPES, MOULDS, 1, owned=4, hours_per_day=16.0, days_off="Sunday", **more)
    market = tuple(
        Demand(recipe=recipe.recipe, bars=draw.randint(3, 20), needed_by=MARKET_DAY + timedelta(days=7 * day), day=stall,
               price=draw.choice((6.0, 6.5, 7.5)))
        for recipe in drawn.recipes for day in range(DAYS) for stall in ("square", "harbour")[:STALLS]
    )  # fmt: skip
    return replace(drawn, market=market, batches=())


def planned(book: Path) -> tuple[dict[str, Any], float]:
    """Return the JSON of a market run by the command line, the workbook written too, and the seconds it took."""
    began = time.perf_counter()
    words = [
        sys.executable,
        "-m",
        "scaler",
        "market",
        str(book),
        "-o",
        str(book.with_name("out.xlsx")),
        "--json",
        "--force",
    ]
    done = subprocess.run(words, check=True, stdout=subprocess.PIPE)
    return json.loads(done.stdout), time.perf_counter() - began


def main(seed: int, limited: bool) -> int:
    """Print a line a run, and return the exit status."""
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "large.xlsx"
        workshop = large_run(seed, limited)
        book.write_bytes(inputs(workshop))
        print(f"{len(workshop.market)} rows, {RECIPES} recipes, {MOULDS} moulds, {DAYS} days")
        first, seconds = planned(book)
        most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024
        print(f"alone: {seconds:.0f} s, at most {most} MB, {len(first['plan'])} batches, {first['solver']}", flush=True)
        busy = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(BUSY)]
        try:
            second, loaded = planned(book)
        finally:
            for process in busy:
                process.kill()
        same = first == second
        print(f"under load: {loaded:.0f} s, {'the same plan' if same else 'ANOTHER PLAN'}")
    return int(seconds > MOST_SECONDS or most > MOST_MB or first["solver"]["gap"] is None or not same)


if __name__ == "__main__":
    raise SystemExit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 1, len(sys.argv) > 2))
