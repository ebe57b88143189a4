"""Golden summaries of the boats' recordings: what is accepted, what is refused and why, and what each quantity spans.

The counts of right, wrong and missing checksums and the raw ranges agree with those of the corpus's own list.
In the ordinary run each recording is cut to its first 20 minutes; the campaign plays it whole.
"""

import itertools
import json
from collections import Counter
from pathlib import Path

import pytest

from recordings import file_of
from sternwatch.feed.decoding import Decoder
from sternwatch.feed.recording.reader import open_recording

GOLDEN = json.loads((Path(__file__).parent / "golden_boats.json").read_text(encoding="utf-8"))
CUT_S = 1200.0


def summary(path, until_s):
    """Counts and ranges of a recording up to a feed time."""
    decoder = Decoder()
    ranges, none, suspect = {}, Counter(), Counter()
    with open_recording(path) as recording:
        for line in itertools.takewhile(lambda line: line.t_s <= until_s, recording.lines()):
            for reading in decoder.decode(line):
                name = str(reading.quantity)
                if reading.value is None:
                    none[name] += 1
                    continue
                if reading.suspect:
                    suspect[name] += 1
                values = reading.value if isinstance(reading.value, tuple) else (reading.value,)
                low, high = ranges.get(name, (values, values))
                ranges[name] = (tuple(map(min, low, values)), tuple(map(max, high, values)))
    report = decoder.reports()[0]
    return {
        "lines": report.lines,
        "accepted": dict(sorted(report.accepted.items())),
        "unused": dict(sorted(report.unused.items())),
        "rejected": {str(cause): n for cause, n in sorted(report.rejected.items())},
        "bad_fields": report.bad_fields,
        "ranges": {
            name: [[round(v, 3) for v in low], [round(v, 3) for v in high]]
            for name, (low, high) in sorted(ranges.items())
        },
        "none": dict(sorted(none.items())),
        "suspect": dict(sorted(suspect.items())),
    }


@pytest.mark.parametrize("name", GOLDEN)
def test_the_first_twenty_minutes(name):
    assert summary(file_of(name), CUT_S) == GOLDEN[name]["first_20_minutes"]


@pytest.mark.campaign
@pytest.mark.parametrize("name", GOLDEN)
def test_the_whole_recording(name):
    assert summary(file_of(name), float("inf")) == GOLDEN[name]["whole"]


# As the corpus's own list counts them: sentences with a right, a wrong and no checksum, by another parser than ours.
LISTED = {
    "lake boat, bottom lost and speed spikes": (84511, 0, 0),
    "lake boat, no paddle wheel": (30829, 0, 0),
    "sea, three hours": (99550, 0, 0),
    "wrong checksums on good data": (1930, 37550, 0),
    "binary in mid-stream": (527, 1, 0),
    "a depth cut off": (610, 0, 0),
    "two depths disagree, temperature sensor broken": (69989, 0, 0),
    "moored, sentences run together": (6182, 142, 994),
    "host clock, dates of another epoch": (5000, 0, 0),
    "host clock, depths alone": (5000, 0, 0),
    "host clock, no checksums": (5000, 0, 5000),
}


@pytest.mark.parametrize("name", LISTED)
def test_golden_counts_agree_with_the_corpus_list(name):
    whole = GOLDEN[name]["whole"]
    right, wrong, missing = LISTED[name]
    used = sum(whole["accepted"].values()) + sum(whole["unused"].values())
    not_text = whole["rejected"].get("bytes that are no text", 0)
    if name == "binary in mid-stream":
        # Sentences with binary in them were counted as such only where they could be recognised: 24 were not.
        assert used + not_text == right + 24
    else:
        assert used + not_text == right
    assert whole["rejected"].get("checksum wrong", 0) == wrong
    if used != missing:
        assert whole["rejected"].get("cut off", 0) + whole["rejected"].get("checksum missing", 0) == missing


# Ranges of the raw fields as the corpus's own list has them (kn, m, degC), with a depth's offset where it is added.
KNOT = 1852 / 3600
RANGES = [
    ("lake boat, bottom lost and speed spikes", "sog", 0.0, 20 * KNOT),
    ("lake boat, bottom lost and speed spikes", "stw", 0.0, 8.4 * KNOT),
    ("lake boat, bottom lost and speed spikes", "bottom", 1.0 + 0.7, 85.6 + 0.7),
    ("lake boat, bottom lost and speed spikes", "water_temperature", 20.5, 21.5),
    ("lake boat, no paddle wheel", "sog", 0.0, 5 * KNOT),
    ("lake boat, no paddle wheel", "bottom", 2.2 + 0.7, 56.4 + 0.7),
    ("lake boat, no paddle wheel", "water_temperature", 0.0, 18.5),
    ("sea, three hours", "sog", 0.0, 6.5 * KNOT),
    ("sea, three hours", "stw", 0.0, 6.1 * KNOT),
    ("sea, three hours", "bottom", 5.2, 77.0),
    ("sea, three hours", "water_temperature", 12.5, 16.0),
    ("two depths disagree, temperature sensor broken", "sog", 3.3 * KNOT, 5.7 * KNOT),
    ("two depths disagree, temperature sensor broken", "stw", 3.6 * KNOT, 6.2 * KNOT),
    ("two depths disagree, temperature sensor broken", "water_temperature", 39.0, 39.2),
    ("host clock, dates of another epoch", "sog", 5 * KNOT, 13.7 * KNOT),
]


@pytest.mark.parametrize(("name", "quantity", "low", "high"), RANGES)
def test_golden_ranges_agree_with_the_corpus_list(name, quantity, low, high):
    found = GOLDEN[name]["whole"]["ranges"][quantity]
    assert found == [[pytest.approx(low, abs=1e-3)], [pytest.approx(high, abs=1e-3)]]


def test_every_receiver_recording_decodes_without_a_value_out_of_range(corpus):
    limits = {"sog": (0, 62), "cog": (0, 360), "heading": (0, 360), "stw": (0, 62), "bottom": (0, 11100)}
    decoded = 0
    for path in sorted((corpus / "gpsd").glob("*.log")):
        decoder = Decoder()
        for line in open_recording(path).lines():
            for reading in decoder.decode(line):
                decoded += 1
                low, high = limits.get(str(reading.quantity), (None, None))
                if low is not None and reading.value is not None:
                    assert low <= reading.value <= high
                if str(reading.quantity) == "position" and reading.value is not None:
                    assert reading.value != (0.0, 0.0)
    assert decoded > 15_000
