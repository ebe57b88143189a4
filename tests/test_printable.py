"""The filter of every text from outside: nothing acts, everything can be read, JSON stays the same."""

import io
import json
import sys
import unicodedata

import pytest

from hostile import NASTY, obeyed
from sternwatch.printable import PrintableStream, filtered_output, one_line, printable, without_hidden


@pytest.mark.parametrize("beyond", [97, pytest.param(1, marks=pytest.mark.campaign)])
def test_every_character_there_is(beyond):
    """What remains is no control, no format, no surrogate, no private or unassigned one.

    All of the basic plane, and of the planes beyond every so many; in the campaign all 1,114,112.
    """
    every = "".join(map(chr, (*range(0x10000), *range(0x10000, 0x110000, beyond), *range(0xE0000, 0xE0100))))
    for made in (printable(every), one_line(every), without_hidden(every)):
        assert obeyed(made) == []
    assert "\n" not in one_line(every)
    shown = [c for c in every if unicodedata.category(c) not in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")]
    assert printable("".join(shown)) == "".join(shown)


def test_what_is_written_out_can_be_read():
    assert printable("a\x1b[2J") == r"a\u001b[2J"
    assert one_line("two\nlines") == r"two\u000alines"
    assert printable("two\r\nlines\rover") == "two\r\nlines\\u000dover"
    assert printable("\U000e0041") == r"\udb40\udc41"


def test_json_says_the_same_as_before():
    given = {"name": NASTY, "é ° –": "日本"}
    text = json.dumps(given, ensure_ascii=False)
    assert json.loads(printable(text)) == given
    assert obeyed(printable(text)) == []


def test_what_is_printed_passes(monkeypatch):
    out, err = io.StringIO(), io.StringIO()
    monkeypatch.setattr(sys, "stdout", out)
    monkeypatch.setattr(sys, "stderr", err)
    with filtered_output():
        print(NASTY)
        sys.stdout.writelines([NASTY])
        print(NASTY, file=sys.stderr)
        with filtered_output():
            assert isinstance(sys.stdout, PrintableStream)
            assert sys.stdout.plain is out
    assert sys.stdout is out
    assert obeyed(out.getvalue() + err.getvalue()) == []
    assert out.getvalue().count(r"\u001b[2J") == 2


@pytest.mark.parametrize("chosen", ["", "cp1252"])
def test_a_code_page_of_256_characters_refuses_nothing(monkeypatch, chosen):
    """As output has it that goes to a file on Windows."""
    monkeypatch.setenv("PYTHONIOENCODING", chosen)
    files = io.BytesIO(), io.BytesIO()
    for name, file in zip(("stdout", "stderr"), files, strict=True):
        monkeypatch.setattr(sys, name, io.TextIOWrapper(file, encoding="cp1252", newline="\r\n"))
    with filtered_output():
        print("12 °C ▂▅█", flush=True)
        print("„5 – 6“ 日本", file=sys.stderr, flush=True)
    said = [file.getvalue().decode(chosen or "utf-8") for file in files]
    assert said == (["12 °C ???\n", "„5 – 6“ ??\n"] if chosen else ["12 °C ▂▅█\n", "„5 – 6“ 日本\n"])


@pytest.mark.parametrize("text", ["", "plain", "▶ ❚❚ ┇ 52° 12.3′ – “x”", "a\tb\nc\r\n"])
def test_what_is_ours_is_let_be(text):
    assert printable(text) == text
