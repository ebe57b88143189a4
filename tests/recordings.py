"""Real recordings by what they are. Where each came from stands in the corpus's own list.

A file is found by its content. The corpus lies beside the repository (../shared/corpus) and is never copied into it.
"""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from pathlib import Path

import pytest

CORPUS = Path(__file__).resolve().parents[2] / "shared" / "corpus"
BUSES = "n2k"  # the folder of NMEA 2000, as gateways print it

SEA = "sea, three hours"

# Neutral id: the first sixteen digits of the file's SHA-256.
RECORDINGS = {
    "two depths disagree, temperature sensor broken": "dcba2e4c43e43b50",
    "wrong checksums on good data": "44ef23a5d0bc0f6d",
    SEA: "6d3f2d4813b98a11",
    "binary in mid-stream": "310432f2c628948e",
    "a depth cut off": "634da6cd39cd79fb",
    "host clock, dates of another epoch": "7879a74d18fc21bf",
    "host clock, no checksums": "eeb70e8a7161c52c",
    "host clock, depths alone": "ffc3e13a62b2863b",
    "lake boat, bottom lost and speed spikes": "fba44b5b90092f6f",
    "lake boat, no paddle wheel": "315beda78a21bd90",
    "moored, sentences run together": "d0b6f38b9b3b0866",
    "receiver without a fix": "d4f35907e955700e",
    "bus of a sailing boat": "9323e2317a9f72b4",
    "bus of a motor boat, twice": "e58fbd2954ede05a",
    "bus, speed, depth and rudder": "68fd8352a8f51be4",
    "bus without a depth": "3431ba34788af556",
    "bus with an autopilot": "83ad7ad56fe36f19",
    "bus, frames with a time": "667a4ecf8a7ecf53",
    "bus, the same as plain lines": "77c4213ddff382db",
    "bus, simulated": "d653510957e6f07b",
    "bus, in sentences": "889ec31a61273d90",
    "many buses shuffled": "802eab572f150295",
}


@cache
def _found() -> dict[str, Path]:
    """Every file of the corpus by the first sixteen digits of its SHA-256."""
    files = sorted(path for path in CORPUS.glob("*/*") if path.is_file())
    return {sha256(path.read_bytes()).hexdigest()[:16]: path for path in files}


def file_of(name: str) -> Path:
    """The file of a recording; a test skips where the corpus is absent, and fails where one of its files is."""
    if not CORPUS.is_dir():
        pytest.skip("the real recordings are not beside the repository (../shared/corpus)")
    digest = RECORDINGS[name]
    found = _found().get(digest)
    if found is None:
        raise FileNotFoundError(f'the corpus has no recording "{name}" (SHA-256 {digest}…)')
    return found
