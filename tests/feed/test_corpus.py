"""Golden summaries of the boats' recordings: what is accepted, what is refused and why, and what each quantity spans.

The counts of right, wrong and missing checksums and the raw ranges agree with those published beside the recordings.
In the ordinary run each recording is cut to its first 20 minutes; the campaign plays it whole.
"""

import itertools
import json
from collections import Counter
from pathlib import Path

import pytest

from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.sentences.decoding import Decoder

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
def test_the_first_twenty_minutes(corpus, name):
    assert summary(corpus / "boats" / name, CUT_S) == GOLDEN[name]["first_20_minutes"]


@pytest.mark.campaign
@pytest.mark.parametrize("name", GOLDEN)
def test_the_whole_recording(corpus, name):
    assert summary(corpus / "boats" / name, float("inf")) == GOLDEN[name]["whole"]


# As published beside the recordings: sentences with a right, a wrong and no checksum, counted by somebody else.
PUBLISHED = {
    "psaros33_2014-08-05_lake_2h40.nmea": (84511, 0, 0),
    "psaros33_2014-08-05_nostw_mtw0.nmea": (30829, 0, 0),
    "irene_2014-06-29_sea_3h07.nmea": (99550, 0, 0),
    "irene_2013-07-31_bad_checksums_a.nmea": (1930, 37550, 0),
    "irene_2015-04-29_NMEA0060_binary.nmea": (527, 1, 0),
    "irene_2015-04-29_NMEA0062_trunc.nmea": (610, 0, 0),
    "avnav_20160815_mtw39.nmea": (69989, 0, 0),
    "signalk_gofree-merrimac.log": (6182, 142, 994),
    "openrvdas_NBP1406_PCOD_timestamped.raw": (5000, 0, 0),
    "openrvdas_NBP1406_mbdp_depth.raw": (5000, 0, 0),
    "openrvdas_NBP1406_gp02_nochecksum.raw": (5000, 0, 5000),
}


@pytest.mark.parametrize("name", PUBLISHED)
def test_golden_counts_agree_with_the_published_ones(name):
    whole = GOLDEN[name]["whole"]
    right, wrong, missing = PUBLISHED[name]
    used = sum(whole["accepted"].values()) + sum(whole["unused"].values())
    not_text = whole["rejected"].get("bytes that are no text", 0)
    if name == "irene_2015-04-29_NMEA0060_binary.nmea":
        # Sentences with binary in them were counted as such only where they could be recognised: 24 were not.
        assert used + not_text == right + 24
    else:
        assert used + not_text == right
    assert whole["rejected"].get("checksum wrong", 0) == wrong
    if used != missing:
        assert whole["rejected"].get("cut off", 0) + whole["rejected"].get("checksum missing", 0) == missing


# Ranges of the raw fields as published beside the recordings (kn, m, degC), with a depth's offset where it is added.
KNOT = 1852 / 3600
RANGES = [
    ("psaros33_2014-08-05_lake_2h40.nmea", "sog", 0.0, 20 * KNOT),
    ("psaros33_2014-08-05_lake_2h40.nmea", "stw", 0.0, 8.4 * KNOT),
    ("psaros33_2014-08-05_lake_2h40.nmea", "bottom", 1.0 + 0.7, 85.6 + 0.7),
    ("psaros33_2014-08-05_lake_2h40.nmea", "water_temperature", 20.5, 21.5),
    ("psaros33_2014-08-05_nostw_mtw0.nmea", "sog", 0.0, 5 * KNOT),
    ("psaros33_2014-08-05_nostw_mtw0.nmea", "bottom", 2.2 + 0.7, 56.4 + 0.7),
    ("psaros33_2014-08-05_nostw_mtw0.nmea", "water_temperature", 0.0, 18.5),
    ("irene_2014-06-29_sea_3h07.nmea", "sog", 0.0, 6.5 * KNOT),
    ("irene_2014-06-29_sea_3h07.nmea", "stw", 0.0, 6.1 * KNOT),
    ("irene_2014-06-29_sea_3h07.nmea", "bottom", 5.2, 77.0),
    ("irene_2014-06-29_sea_3h07.nmea", "water_temperature", 12.5, 16.0),
    ("avnav_20160815_mtw39.nmea", "sog", 3.3 * KNOT, 5.7 * KNOT),
    ("avnav_20160815_mtw39.nmea", "stw", 3.6 * KNOT, 6.2 * KNOT),
    ("avnav_20160815_mtw39.nmea", "water_temperature", 39.0, 39.2),
    ("openrvdas_NBP1406_PCOD_timestamped.raw", "sog", 5 * KNOT, 13.7 * KNOT),
]


@pytest.mark.parametrize(("name", "quantity", "low", "high"), RANGES)
def test_golden_ranges_agree_with_the_published_ones(name, quantity, low, high):
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
