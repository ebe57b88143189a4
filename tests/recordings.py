"""Real recordings by what they are. Where each came from stands in the corpus's own list.

A file is found by its content. The corpus lies beside the repository (../shared/corpus) and is never copied into it.
"""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from pathlib import Path

import pytest

CORPUS = Path(__file__).resolve().parents[2] / "shared" / "corpus"
BOATS = "boats"  # whole boats
RECEIVERS = "gpsd"  # single receivers
BUSES = "n2k"  # NMEA 2000, as gateways print it

SEA = "sea, three hours"

# Neutral id: the folder, and the first sixteen digits of the file's SHA-256.
RECORDINGS = {
    "two depths disagree, temperature sensor broken": (BOATS, "dcba2e4c43e43b50"),
    "wrong checksums on good data": (BOATS, "44ef23a5d0bc0f6d"),
    SEA: (BOATS, "6d3f2d4813b98a11"),
    "binary in mid-stream": (BOATS, "310432f2c628948e"),
    "a depth cut off": (BOATS, "634da6cd39cd79fb"),
    "host clock, dates of another epoch": (BOATS, "7879a74d18fc21bf"),
    "host clock, no checksums": (BOATS, "eeb70e8a7161c52c"),
    "host clock, depths alone": (BOATS, "ffc3e13a62b2863b"),
    "lake boat, bottom lost and speed spikes": (BOATS, "fba44b5b90092f6f"),
    "lake boat, no paddle wheel": (BOATS, "315beda78a21bd90"),
    "moored, sentences run together": (BOATS, "d0b6f38b9b3b0866"),
    "receiver without a fix": (RECEIVERS, "d4f35907e955700e"),
    "bus of a sailing boat": (BUSES, "9323e2317a9f72b4"),
    "bus of a motor boat, twice": (BUSES, "e58fbd2954ede05a"),
    "bus, speed, depth and rudder": (BUSES, "68fd8352a8f51be4"),
    "bus without a depth": (BUSES, "3431ba34788af556"),
    "bus with an autopilot": (BUSES, "83ad7ad56fe36f19"),
    "bus, frames with a time": (BUSES, "667a4ecf8a7ecf53"),
    "bus, the same as plain lines": (BUSES, "77c4213ddff382db"),
    "bus, simulated": (BUSES, "d653510957e6f07b"),
    "bus, in sentences": (BUSES, "889ec31a61273d90"),
    "many buses shuffled": (BUSES, "802eab572f150295"),
}


@cache
def _found(folder: str) -> dict[str, Path]:
    """Every file of a folder by the first sixteen digits of its SHA-256."""
    if not (CORPUS / folder).is_dir():
        return {}
    files = sorted(path for path in (CORPUS / folder).iterdir() if path.is_file())
    return {sha256(path.read_bytes()).hexdigest()[:16]: path for path in files}


def file_of(name: str) -> Path:
    """The file of a recording; a test skips where the corpus is absent, and fails where one of its files is."""
    if not CORPUS.is_dir():
        pytest.skip("the real recordings are not beside the repository (../shared/corpus)")
    folder, digest = RECORDINGS[name]
    found = _found(folder).get(digest)
    if found is None:
        raise FileNotFoundError(f'the corpus has no recording "{name}" (SHA-256 {digest}…)')
    return found
