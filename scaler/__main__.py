"""Run the command line as a program: `scaler`, or `python -m scaler`; stopped at any moment, it says so in a sentence."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
from types import FrameType
from typing import NoReturn

NOT_WRITTEN = 3
"""Exit status when the answer cannot be written."""


def _stop(number: int, _frame: FrameType | None) -> NoReturn:
    """Leave at once, whatever is being done: an exception could be lost in code that is not ours."""
    output = sys.modules.get("scaler.output")
    if output is not None and hasattr(output, "remove_unfinished"):
        output.remove_unfinished()
    _last_words("Stopped. Files that were there are as they were, or whole.")
    os._exit(128 + number)


def main() -> NoReturn:
    """Run a command and leave with its exit status; 128 + the signal's number when it was stopped."""
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, _stop)
    try:
        status = _command()
    except OSError as error:
        what = error.filename or "The answer"
        _last_words(f"{what} could not be written or read: {error.strerror or error}.")
        status = NOT_WRITTEN
    sys.stderr.flush()
    os._exit(status)  # nothing is left to tidy, and a stream that is full cannot be flushed once more


def _command() -> int:
    from scaler.cli import main as command

    try:
        command()
    except SystemExit as done:
        status = done.code if isinstance(done.code, int) else int(bool(done.code))
    else:
        status = 0
    sys.stdout.flush()
    return status


def _last_words(text: str) -> None:
    with contextlib.suppress(OSError):
        os.write(2, f"{text}\n".encode())


if __name__ == "__main__":
    main()
