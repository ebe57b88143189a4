"""Files that a command writes where it is told to: looked at before the work, and told of in one way."""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path

from sternwatch.cli.common.exits import InputError
from sternwatch.printable import printable
from sternwatch.reading import is_folder, is_there
from sternwatch.system_words import reason

OUTPUT = "-"  # the name of standard output, where a command's text may go there


def to_write(given: str) -> Path:
    """An argparse type: a file to write. What is refused is refused before minutes of work. Raises InputError."""
    path, folder = Path(given), Path(given).parent
    if is_folder(path):
        fault = errno.EISDIR
    elif not is_folder(folder):
        fault = errno.ENOTDIR if is_there(folder) else errno.ENOENT
    elif not os.access(path if is_there(path) else folder, os.W_OK):
        fault = errno.EACCES
    else:
        return path
    raise unwritten(path, OSError(fault, os.strerror(fault)))


def to_write_or_print(given: str) -> Path:
    """The same, but ``-`` is standard output."""
    return Path(OUTPUT) if given == OUTPUT else to_write(given)


def write(path: Path, text: str, newline: str = "\n") -> None:
    """Write text that prints as it stands, with these line ends (as ``open`` takes them)."""
    try:
        path.write_text(printable(text), encoding="utf-8", newline=newline)
    except OSError as fault:
        raise unwritten(path, fault) from fault


def write_page(path: Path, text: str) -> None:
    """Write text to a file, or to standard output. Standard error names the file."""
    if path == Path(OUTPUT):
        sys.stdout.write(text)
        return
    write(path, text)
    print(f"written: {path}", file=sys.stderr)


def unwritten(path: Path, fault: OSError) -> InputError:
    """What is said of a file that could not be written."""
    return InputError(f"{path} cannot be written: {reason(fault)}")
