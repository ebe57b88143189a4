"""Who may come in: the token, new with each session, and where a session that was killed finds its own again."""

from __future__ import annotations

import hmac
import json
import os
import secrets
from dataclasses import asdict, dataclass
from pathlib import Path

from sternwatch.files import write_whole

NAME = "deck.json"
LASTS_S = 18 * 3600.0  # as long as a trip that is taken up again
_SIGNS = "abcdefghjkmnpqrstuvwxyz23456789"  # none that are taken for one another
_LENGTH = 16


def new_token() -> str:
    """Sixteen signs of thirty-one: 79 bits."""
    return "".join(secrets.choice(_SIGNS) for _ in range(_LENGTH))


def same_token(given: str, token: str) -> bool:
    """Whether they are the same, in a time that does not tell how much of it is right."""
    return hmac.compare_digest(given.encode("utf-8", "replace"), token.encode())


@dataclass(frozen=True, slots=True)
class Kept:
    """What a session leaves behind as long as it runs, so that phones find it again when it was killed."""

    token: str
    session: str
    pid: int
    begun_s: float  # Unix time


def take_up(folder: Path, session: str, now_s: float) -> str:
    """The token of a session of this kind that did not end in order, else a new one; kept from now on.

    A session whose process still runs keeps its own. A file that cannot be read or written costs the phones a new
    scan and nothing else.
    """
    left = _left(folder / NAME)
    mine = left is not None and left.session == session and now_s - left.begun_s < LASTS_S and not _runs(left.pid)
    token = left.token if mine and left is not None else new_token()
    begun_s = left.begun_s if mine and left is not None else now_s
    try:
        write_whole(folder / NAME, json.dumps(asdict(Kept(token, session, os.getpid(), begun_s))))
        (folder / NAME).chmod(0o600)
    except OSError:
        return token
    return token


def forget(folder: Path, token: str) -> None:
    """The session ended in order: its token lets nobody in again."""
    left = _left(folder / NAME)
    if left is not None and same_token(left.token, token):
        (folder / NAME).unlink(missing_ok=True)


def _left(path: Path) -> Kept | None:
    try:
        given = json.loads(path.read_text(encoding="utf-8"))
        kept = Kept(str(given["token"]), str(given["session"]), int(given["pid"]), float(given["begun_s"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return kept if len(kept.token) == _LENGTH and set(kept.token) <= set(_SIGNS) else None


def _runs(pid: int) -> bool:
    import psutil

    return pid != os.getpid() and psutil.pid_exists(pid)
