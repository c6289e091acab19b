"""A finished workbook is put on the disk whole, keeps what it must, and leaves nothing behind."""

from __future__ import annotations

import contextlib
import os
import random
import signal
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

import openpyxl
import pytest
from typing_in import type_in

from scaler import output
from scaler.output import NotReplaced, is_ours, is_unchanged, save
from scaler.read import archive
from scaler.write.example import example


@pytest.fixture
def content() -> bytes:
    """Return a workbook of ours."""
    return example("metric")


def mode(path: Path) -> int:
    """Return who may read and write a file."""
    return stat.S_IMODE(path.stat().st_mode)


def test_saved_workbook_is_ours_and_unchanged(tmp_path: Path, content: bytes) -> None:
    """A file carries the mark of its maker and a seal that fits it."""
    save(content, tmp_path / "out.xlsx")
    assert (is_ours(tmp_path / "out.xlsx"), is_unchanged(tmp_path / "out.xlsx")) == (True, True)


def test_edit_breaks_the_seal(tmp_path: Path, content: bytes) -> None:
    """One cell edited, and the file is still ours but no longer as it was written."""
    save(content, tmp_path / "out.xlsx")
    type_in(tmp_path / "out.xlsx", "Costs", "Value", "$")
    assert (is_ours(tmp_path / "out.xlsx"), is_unchanged(tmp_path / "out.xlsx")) == (True, False)


def test_own_sheets_are_not_lost(tmp_path: Path, content: bytes) -> None:
    """A workbook of ours to which somebody added a sheet is not replaced unasked, though it was read."""
    save(content, tmp_path / "out.xlsx")
    book = openpyxl.load_workbook(tmp_path / "out.xlsx")
    book.create_sheet("My notes")
    book.save(tmp_path / "out.xlsx")
    with pytest.raises(NotReplaced, match="My notes"):
        save(content, tmp_path / "out.xlsx", read_from=[tmp_path / "out.xlsx"])
    save(content, tmp_path / "out.xlsx", force=True)


def test_same_workbook_gives_same_bytes(content: bytes) -> None:
    """Nothing of the clock is in the file."""
    assert content == example("metric")


@pytest.mark.parametrize("data", [b"", b"PK", b"not a workbook"])
def test_anything_else_is_not_ours(tmp_path: Path, data: bytes) -> None:
    """A file that is no workbook is neither ours nor unchanged, and is not replaced."""
    path = tmp_path / "out.xlsx"
    path.write_bytes(data)
    assert (is_ours(path), is_unchanged(path)) == (False, False)
    with pytest.raises(NotReplaced, match="did not make it"):
        save(example("us"), path)
    assert path.read_bytes() == data


def test_new_file_is_readable_as_others_are(tmp_path: Path, content: bytes) -> None:
    """A new file gets the permissions of any new file, not those of a temporary one."""
    (tmp_path / "any").touch()
    save(content, tmp_path / "out.xlsx")
    assert mode(tmp_path / "out.xlsx") == mode(tmp_path / "any")


def test_permissions_are_kept(tmp_path: Path, content: bytes) -> None:
    """A replaced file keeps the permissions that it had."""
    path = tmp_path / "out.xlsx"
    save(content, path)
    path.chmod(0o640)
    save(example("us"), path)
    assert (mode(path), is_unchanged(path)) == (0o640, True)


def full_disk(*_: object) -> NoReturn:
    """Fail as a full disk does."""
    raise OSError(28, "No space left on device")


def held_open(*_: object, **__: object) -> NoReturn:
    """Fail as a file held open by another program does on Windows."""
    raise PermissionError(13, "Permission denied")


def stopped(*_: object) -> NoReturn:
    """Fail as a stopped program does."""
    raise KeyboardInterrupt


FAILURES = [("fsync", full_disk, "No space left"), ("replace", held_open, "Close it in other programs")]


@pytest.mark.parametrize(("call", "failure", "reason"), FAILURES, ids=["full disk", "held open"])
@pytest.mark.parametrize("there", [True, False], ids=["there", "new"])
def test_failure_leaves_the_old_file(
    tmp_path: Path,
    content: bytes,
    monkeypatch: pytest.MonkeyPatch,
    call: str,
    failure: Callable[..., NoReturn],
    reason: str,
    there: bool,
) -> None:
    """Whatever fails on the way, the old file is whole and no half-written one lies beside it."""
    path = tmp_path / "out.xlsx"
    if there:
        save(content, path)
    before = {file.name: file.read_bytes() for file in tmp_path.iterdir()}
    monkeypatch.setattr(os, call, failure)
    with pytest.raises(NotReplaced, match=reason):
        save(example("us"), path)
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == before


def test_stop_leaves_nothing(tmp_path: Path, content: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    """A program stopped while it writes leaves nothing half-written."""
    monkeypatch.setattr(os, "replace", stopped)
    with pytest.raises(KeyboardInterrupt):
        save(content, tmp_path / "out.xlsx")
    assert list(tmp_path.iterdir()) == []


def test_folder_that_takes_no_file(tmp_path: Path, content: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder that may not be written to is said in words."""
    monkeypatch.setattr(Path, "open", held_open)
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(NotReplaced, match="could not be written: you may not write in the folder"):
        save(content, tmp_path / "out.xlsx")


def test_old_file_is_never_seen_half(tmp_path: Path, content: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    """The new file is whole, and on the disk, before it takes the old one's place."""
    path = tmp_path / "out.xlsx"
    seen: list[bytes] = []
    swap = os.replace

    def watched(new: str, old: Path) -> None:
        seen.append(Path(new).read_bytes())
        swap(new, old)

    monkeypatch.setattr(os, "replace", watched)
    save(content, path)
    assert seen == [path.read_bytes()] == [content]


# --- links, pipes, litter, signals ---


def test_link_is_written_through(tmp_path: Path, content: bytes) -> None:
    """A link stays a link, and the file behind it is the new workbook."""
    (tmp_path / "real").mkdir()
    link = tmp_path / "out.xlsx"
    link.symlink_to(tmp_path / "real" / "book.xlsx")
    save(content, link)
    save(example("us"), link)
    assert link.is_symlink()
    assert (tmp_path / "real" / "book.xlsx").read_bytes() == example("us")


def test_link_to_itself_and_a_pipe_are_refused(tmp_path: Path, content: bytes) -> None:
    """What is no file is refused in words."""
    (tmp_path / "loop.xlsx").symlink_to(tmp_path / "loop.xlsx")
    with pytest.raises(NotReplaced, match="leads back to itself"):
        save(content, tmp_path / "loop.xlsx")
    os.mkfifo(tmp_path / "pipe.xlsx")
    with pytest.raises(NotReplaced, match="is not a file"):
        save(content, tmp_path / "pipe.xlsx", force=True)


def test_litter_of_a_killed_run_is_removed(tmp_path: Path, content: bytes) -> None:
    """What a run that is no more left beside the file goes; what a running one writes stays."""
    gone = subprocess.Popen(["true"])
    gone.wait()
    (tmp_path / f".out-{gone.pid}.tmp").write_bytes(b"half")
    (tmp_path / f".out-{os.getppid()}.tmp").write_bytes(b"being written")
    save(content, tmp_path / "out.xlsx")
    assert {path.name for path in tmp_path.iterdir()} == {"out.xlsx", f".out-{os.getppid()}.tmp"}


def test_workbook_that_cannot_be_read_back_is_not_written(
    tmp_path: Path, content: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A workbook beyond the reader's limits is refused before anything is written."""
    monkeypatch.setattr(archive, "LARGEST_UNPACKED", 1000)
    with pytest.raises(NotReplaced, match="more than scaler reads back"):
        save(content, tmp_path / "out.xlsx")
    assert list(tmp_path.iterdir()) == []


KILLS = int(os.environ.get("KILLS", "4"))
"""Moments at which each signal comes; KILLS=67 tries two hundred in all."""


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL], ids=lambda number: number.name)
def test_killed_while_writing(tmp_path: Path, number: signal.Signals) -> None:
    """Stopped at any moment of writing over a file, the old or the new one is whole; a sentence says so."""
    path = tmp_path / "new.xlsx"
    command = [sys.executable, "-m", "scaler", "new", str(path)]
    environment = os.environ | {"PYTHONPATH": str(Path(output.__file__).parent.parent)}
    subprocess.run(command, check=True, capture_output=True, env=environment)
    whole = {path.read_bytes()}
    draw = random.Random(number)
    for delay in [draw.uniform(0.1, 0.7) for _ in range(KILLS)]:
        with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment) as run:
            with contextlib.suppress(subprocess.TimeoutExpired):
                run.wait(delay)
            run.send_signal(number)
            _, said = run.communicate(timeout=60)
        assert b"Traceback" not in said or delay < 0.3  # Python itself may still be starting
        whole.add(path.read_bytes())
        assert is_unchanged(path)
        left = {file.name for file in tmp_path.iterdir()} - {"new.xlsx"}
        assert number == signal.SIGKILL or left == set()
    subprocess.run(command, check=True, capture_output=True, env=environment)
    assert {file.name for file in tmp_path.iterdir()} == {"new.xlsx"}


def test_full_disk_behind_the_answer(tmp_path: Path) -> None:
    """An answer that cannot be written is one sentence, and the status says that something was not written."""
    if not Path("/dev/full").exists():
        return
    environment = os.environ | {"PYTHONPATH": str(Path(output.__file__).parent.parent)}
    with open("/dev/full", "w") as full:
        command = [sys.executable, "-m", "scaler", "new", str(tmp_path / "new.xlsx")]
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, env=environment, check=False)
    assert done.returncode == 3
    assert done.stderr == "The answer could not be written or read: No space left on device.\n"
