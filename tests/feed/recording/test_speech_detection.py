"""A recording played as what it is not: what it holds is said, and how it is played."""

import gzip
import json

import pytest

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.errors import FeedError
from sternwatch.feed.readings import SENTENCES, Line, Speech, Tongue
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.recording.rewriting import write_anew
from sternwatch.feed.recording.speech_detection import spelled
from sternwatch.feed.sources.specs import recorded

CANDUMP = b"can0  09F50323   [8]  00 7B 00 FF FF 00 FF FF\n"
GATEWAY = b"10:00:00.000 R 09F50323 00 7B 00 FF FF 00 FF FF\r\n"
PLAIN = b"2020-08-22T13:52:36.955Z,2,128259,35,255,8,00,7b,00,ff,ff,00,ff,ff\n"
OBJECT = b'{"pgn":128259,"src":35,"fields":{"Speed Water Referenced":1.23}}\n'
BASE64 = b"!PDGY,128259,2,35,255,12.345,AHsA//8A//8=\n"
DELTA = (
    json.dumps({"updates": [{"values": [{"path": "navigation.speedThroughWater", "value": 1.0}]}]}).encode() + b"\n"
)
SENTENCE = b"$IIMTW,9.5,C*21\r\n"


@pytest.mark.parametrize("line", [CANDUMP, GATEWAY, PLAIN, OBJECT, BASE64, DELTA])
@pytest.mark.parametrize("pack", [bytes, gzip.compress], ids=["plain", "gzipped"])
def test_what_it_holds_is_said_and_how_it_is_played(line, pack, tmp_path):
    path = tmp_path / "bus.log"
    path.write_bytes(pack(b"# a remark\n" * 40 + line * 30))
    tongue, holds = ("signalk", "Signal K deltas") if line is DELTA else ("n2k", "NMEA 2000 frames")
    with pytest.raises(FeedError, match=rf"bus\.log: holds {holds}, not sentences: {tongue}:.*bus\.log plays it"):
        open_recording(path)
    assert spelled(path) == f"{tongue}:{path}"
    told, speech = recorded(spelled(path))
    with open_recording(told, speech=speech) as recording:
        assert sum(1 for _ in recording.lines()) == 70


@pytest.mark.parametrize(
    "text",
    [SENTENCE * 30, GATEWAY * 30 + SENTENCE, b"what?\n" * 30 + GATEWAY, b"\x00\xff" * 200, b"\n", b"{\n"],
)
def test_what_may_be_sentences_is_played_as_such(text, tmp_path):
    path = tmp_path / "feed.log"
    path.write_bytes(text)
    assert spelled(path) == str(path)
    open_recording(path).close()
    assert spelled(tmp_path / "none.log") == str(tmp_path / "none.log")


def test_written_anew_it_says_itself_what_it_holds(tmp_path):
    path, ours = tmp_path / "bus.log", tmp_path / "ours.nmea"
    path.write_bytes(PLAIN * 30)
    speech = Speech(Tongue.N2K, combined=True)
    with open_recording(path, speech=speech) as recording:
        lines = list(recording.lines())
        write_anew(recording, ours)
    with open_recording(ours) as again:
        assert list(again.lines()) == lines
        assert [source.speech for source in again.sources] == [speech]
    assert spelled(ours) == str(ours)


@pytest.mark.parametrize(("line", "said"), [(GATEWAY, "NMEA 2000 frames"), (DELTA, "Signal K deltas"), (b"\x8f", "")])
def test_a_live_source_of_another_tongue_is_told_apart(line, said):
    decoder = Decoder(speech={"net": SENTENCES})
    for i in range(30):
        decoder.decode(Line(float(i), None, "net", line.strip()))
    (report,) = decoder.reports()
    wanted = f"net: {said} arrive here, not sentences: write {'n2k' if line is GATEWAY else 'signalk'}: before"
    assert report.complaint.startswith(wanted if said else "net: nothing that arrives is a sentence")
