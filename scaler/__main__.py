"""Run the command line as a program: `scaler`, or `python -m scaler`; stopped at any moment, it says so in a sentence."""

from __future__ import annotations

import os
import signal
import sys
from types import FrameType
from typing import NoReturn

NOT_WRITTEN = 3
"""Exit status when the answer cannot be written."""


class _Stopped(BaseException):
    """Somebody ended the program."""


def _stop(number: int, _frame: FrameType | None) -> NoReturn:
    signal.signal(number, signal.SIG_IGN)
    raise _Stopped(number)


def main() -> NoReturn:
    """Run a command and leave with its exit status; 128 + the signal's number when it was stopped."""
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, _stop)
    try:
        status = _command()
    except _Stopped as stopped:
        _last_words("Stopped. Files that were there are as they were, or whole.")
        status = 128 + int(stopped.args[0])
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
    try:
        print(text, file=sys.stderr)
    except OSError:
        return


if __name__ == "__main__":
    main()
