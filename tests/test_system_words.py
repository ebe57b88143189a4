"""Why the system refused is said alike on every system, and never in the language of another."""

import errno
import os
import socket

import pytest

from sternwatch import system_words
from sternwatch.system_words import reason


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (FileNotFoundError(errno.ENOENT, "Das System kann die Datei nicht finden"), "no such file or folder"),
        (OSError(errno.EADDRINUSE, "Windows Error 0x2740"), "the port is already in use"),
        (socket.gaierror(11001, "getaddrinfo failed"), "no computer of that name is known"),
        (OSError(errno.ENOTTY, "Inappropriate ioctl"), "Inappropriate ioctl"),
        (OSError("words alone"), "words alone"),
        (OSError(), "OSError"),
        (ValueError("odd"), "odd"),
    ],
)
def test_a_reason_ends_a_sentence(fault: Exception, said: str) -> None:
    assert reason(fault) == said


@pytest.mark.parametrize(
    ("number", "winerror", "said"),
    [
        (errno.EACCES, 32, "another program has it open"), (errno.EACCES, 19, "the disk is read-only"),
        (errno.EINVAL, 39, "the disk is full"), (errno.ENOENT, 206, "its name is too long"),
        (errno.EACCES, 5, "permission denied"), (errno.ENOENT, None, "no such file or folder"),
        (errno.EACCES, None, "permission denied, or another program has it open"),
        (errno.EINVAL, 123, "its name has a sign that is not allowed in one"),
    ],
)  # fmt: skip
def test_what_windows_tells_apart_is_told_apart(
    monkeypatch: pytest.MonkeyPatch, number: int, winerror: int | None, said: str
) -> None:
    monkeypatch.setattr(system_words, "_SHARES", False)
    fault = OSError(number, "Zugriff verweigert")
    if os.name == "nt":
        fault = OSError(number, "Zugriff verweigert", "a file", winerror)
    else:
        fault.winerror = winerror  # type: ignore[attr-defined]
    assert reason(fault) == said


def test_elsewhere_a_file_that_is_open_may_be_written(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(system_words, "_SHARES", True)
    assert reason(PermissionError(errno.EACCES, "x")) == "permission denied"
