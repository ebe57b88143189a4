"""Why the operating system refused, in one wording: each system has its own, and Windows has its user's language."""

from __future__ import annotations

import errno
import os
import sys

_WORDS = {
    errno.ENOENT: "no such file or folder",
    errno.EACCES: "permission denied",
    errno.EPERM: "permission denied",
    errno.EISDIR: "it is a folder",
    errno.ENOTDIR: "a part of its path is no folder",
    errno.EEXIST: "it is there already",
    errno.ENOLINK: "its folder is a link that leads nowhere",
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your share of the disk is full",
    errno.EROFS: "the disk is read-only",
    errno.EIO: "the disk or the device reports an error",
    errno.ELOOP: "it is a link that leads back to itself",
    errno.ENAMETOOLONG: "its name is too long",
    errno.EMFILE: "too many files are open",
    errno.EADDRINUSE: "the port is already in use",
    errno.EADDRNOTAVAIL: "this computer does not have that address",
    errno.ECONNREFUSED: "the connection is refused; nothing listens there",
    errno.ECONNRESET: "the other side ended the connection",
    errno.ETIMEDOUT: "no answer in time",
    errno.ENETUNREACH: "this computer has no way there",
    errno.EHOSTUNREACH: "this computer has no way there",
}

# Windows has many more reasons than it has such numbers: these it gives a number that says less, or another thing.
_WINDOWS = {
    19: "the disk is read-only",
    21: "the disk or the device is not ready",
    23: "the disk or the device reports an error",
    32: "another program has it open",
    33: "another program has it open",
    39: "the disk is full",
    112: "the disk is full",
    123: "its name has a sign that is not allowed in one",
    206: "its name is too long",
    1117: "the disk or the device reports an error",
}
_SHARES = os.name != "nt"  # elsewhere a file that another program has open may be written


def reason(fault: Exception) -> str:
    """Why, as the end of a sentence: ``no such file or folder``; else what the system, or the fault itself, says."""
    if isinstance(fault, getattr(sys.modules.get("socket"), "gaierror", ())):  # many a command needs no network
        return "no computer of that name is known"
    ours = _ours(fault) if isinstance(fault, OSError) else None
    return ours or str(fault) or type(fault).__name__


def _ours(fault: OSError) -> str | None:
    """What is said of a refusal. Windows may not tell a file that another program has open from one that is shut."""
    ours = _WINDOWS.get(getattr(fault, "winerror", None) or 0) or _WORDS.get(fault.errno or 0) or fault.strerror
    unsure = fault.errno == errno.EACCES and not _SHARES and not getattr(fault, "winerror", None)
    return f"{ours}, or another program has it open" if unsure else ours
