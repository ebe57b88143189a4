"""Why the system refused is said alike on every system, and never in the language of another."""

import errno
import socket

import pytest

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
