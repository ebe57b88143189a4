"""Why the operating system refused, in one wording: each system has its own, and Windows has its user's language."""

from __future__ import annotations

import errno
import sys

_WORDS = {
    errno.ENOENT: "no such file or folder",
    errno.EACCES: "permission denied",
    errno.EPERM: "permission denied",
    errno.EISDIR: "it is a folder",
    errno.ENOTDIR: "a part of its path is no folder",
    errno.EEXIST: "it is there already",
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


def reason(fault: Exception) -> str:
    """Why, as the end of a sentence: ``no such file or folder``; else what the system, or the fault itself, says."""
    if isinstance(fault, getattr(sys.modules.get("socket"), "gaierror", ())):  # many a command needs no network
        return "no computer of that name is known"
    ours = (_WORDS.get(fault.errno or 0) or fault.strerror) if isinstance(fault, OSError) else None
    return ours or str(fault) or type(fault).__name__
