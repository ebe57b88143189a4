"""Controls access: each session's new token, and the file in which a killed session finds its token again."""

from __future__ import annotations

import hmac
import json
import os
import secrets
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from sternwatch.files import remove, write_whole
from sternwatch.reading import json_of, read_text

NAME = "deck.json"
LASTS_S = 18 * 3600.0  # as long as a trip can be resumed
_SIGNS = "abcdefghjkmnpqrstuvwxyz23456789"  # without characters that look alike
_MOST_PID = 1 << 31
_LENGTH = 16


def new_token() -> str:
    """Sixteen characters out of thirty-one: 79 bits."""
    return "".join(secrets.choice(_SIGNS) for _ in range(_LENGTH))


def same_token(given: str, token: str) -> bool:
    """Whether two tokens are equal, in a time that does not reveal how much of one is right."""
    return hmac.compare_digest(given.encode("utf-8", "replace"), token.encode())


@dataclass(frozen=True, slots=True)
class Kept:
    """A running session's record, by which phones find the session again after it was killed."""

    token: str
    session: str
    pid: int
    begun_s: float  # Unix time
    taken_s: float  # when this process took it over


def take_up(folder: Path, session: str, now_s: float, *, anew: bool = False) -> str:
    """The token of a killed session of this kind, else a new one. The file keeps it, readable by its owner alone.

    A session whose process still runs keeps its token. ``anew``: make a new one in any case. If the file cannot be
    read or written, phones must only scan again.
    """
    left = _left(folder / NAME)
    resumed = left is not None and not anew and left.session == session and 0.0 <= now_s - left.begun_s < LASTS_S
    kept = Kept(new_token(), session, os.getpid(), now_s, now_s)
    if left is not None and resumed and not _runs(left):
        kept = replace(left, pid=kept.pid, taken_s=now_s)
    try:
        # A new file belongs to its owner alone; an overwritten one would keep the permissions of others.
        remove(folder / NAME)
        write_whole(folder / NAME, json.dumps(asdict(kept)))
    except OSError:
        return kept.token
    return kept.token


def forget(folder: Path, token: str) -> None:
    """Remove the token after an orderly end, so that it lets nobody in again."""
    left = _left(folder / NAME)
    if left is not None and same_token(left.token, token):
        remove(folder / NAME)


def _left(path: Path) -> Kept | None:
    try:
        given = json_of(read_text(path))
        times = float(given["begun_s"]), float(given["taken_s"])
        kept = Kept(str(given["token"]), str(given["session"]), int(given["pid"]), *times)
    except (OSError, ValueError, KeyError, TypeError, OverflowError):
        return None
    if not 0 < kept.pid < _MOST_PID:
        return None
    return kept if len(kept.token) == _LENGTH and set(kept.token) <= set(_SIGNS) else None


def _runs(left: Kept) -> bool:
    """Whether its process still runs, and is not another one that has the same number now."""
    import psutil

    if left.pid == os.getpid():
        return False
    try:
        process = psutil.Process(left.pid)
        return process.status() != psutil.STATUS_ZOMBIE and process.create_time() <= left.taken_s
    except psutil.NoSuchProcess:
        return False
    except psutil.Error:
        return True
