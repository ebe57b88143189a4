"""The one HTML file and its headers, which forbid loading anything from outside the file."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from sternwatch.deck.shown import Face

MOST_BYTES = 30_000
FILE = Path(__file__).with_name("page.html")

# Headers of every answer.
HEADERS = (
    (b"cache-control", b"no-store"),
    (b"referrer-policy", b"no-referrer"),  # the path contains the token
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
)


@dataclass(frozen=True, slots=True)
class Page:
    """The file's bytes and its Content-Security-Policy."""

    body: bytes
    policy: bytes

    def with_face(self, face: Face) -> bytes:
        """The page with its first colours set, against a white flash at night."""
        return self.body.replace(b'data-face="sun"', b'data-face="%s"' % face.encode(), 1)


@cache
def page() -> Page:
    """The page, read once. Its policy allows its style and script by their digests, and no others."""
    body = FILE.read_bytes()
    style, script = (
        _hashed(re.search(rb"<%s>(.*?)</%s>" % (tag, tag), body, re.DOTALL)) for tag in (b"style", b"script")
    )
    policy = (
        f"default-src 'none'; style-src {style}; script-src {script}; connect-src 'self'; img-src data:; "
        "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )
    return Page(body, policy.encode())


def _hashed(found: re.Match[bytes] | None) -> str:
    assert found is not None
    return f"'sha256-{base64.b64encode(hashlib.sha256(found[1]).digest()).decode()}'"
