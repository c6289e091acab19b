"""Ctrl-C while a plan is looked for: the search ends with the best that was found; a second one ends the program."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from types import FrameType


@dataclass
class _Search:
    """Whether a search has begun, and whether the maker asked for its end."""

    begun: bool = False
    ended: bool = False


_search = _Search()


def begin() -> None:
    """Say that a search begins: from now on Ctrl-C ends it."""
    _search.begun = True


def interrupted() -> bool:
    """Return whether the maker asked for an end of the search."""
    return _search.ended


@contextmanager
def watched(say: Callable[[str], None]) -> Iterator[None]:
    """Take Ctrl-C for the wish to end a search, as long as this lasts; before one begins, and a second time, it is what it was.

    Args:
        say: told that the search ends.
    """
    try:
        before = signal.getsignal(signal.SIGINT)
        _search.begun = _search.ended = False

        def ask(number: int, frame: FrameType | None) -> None:
            if _search.begun and not _search.ended:
                _search.ended = True
                say("Ending the search with the best plan so far. Ctrl-C again stops at once.")
            elif callable(before):
                before(number, frame)
            else:
                raise KeyboardInterrupt

        signal.signal(signal.SIGINT, ask)
    except ValueError:  # not the main thread, which alone is told of signals
        yield
        return
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
        _search.begun = _search.ended = False
