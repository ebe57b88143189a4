"""What anybody may have made of a file ends in a text or one reason, at once."""

import os
import time

import pytest

from sternwatch.reading import DEEPEST, UnreadableError, json_of, read_text, toml_of

POSIX = pytest.mark.skipif(os.name != "posix", reason="such files are of POSIX")


def test_a_file_is_read_with_or_without_its_mark(tmp_path):
    for data in (b"a = 1\r\n", b"\xef\xbb\xbfa = 1\r\n"):
        (tmp_path / "a.toml").write_bytes(data)
        assert read_text(tmp_path / "a.toml") == "a = 1\r\n"


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda p: p.mkdir(), "is a folder; a file is wanted"),
        pytest.param(lambda p: os.mkfifo(p), "is not a plain file", marks=POSIX),
        pytest.param(lambda p: p.symlink_to("/dev/zero"), "is not a plain file", marks=POSIX),
        pytest.param(
            lambda p: p.symlink_to(p.name), "cannot be read: it is a link that leads back to itself", marks=POSIX
        ),
        (lambda p: p.write_bytes(b"a\nb\xff\n"), "line 2 is not UTF-8 text"),
        (lambda p: p.write_bytes(b"a" * 2001), "is larger than 0.002 MB"),
    ],
)
def test_what_is_no_text_has_its_reason(tmp_path, make, said):
    make(tmp_path / "a")
    with pytest.raises(UnreadableError, match=said):
        read_text(tmp_path / "a", 2000)


def test_a_missing_file_is_not_a_damaged_one(tmp_path):
    with pytest.raises(FileNotFoundError):
        read_text(tmp_path / "a")
    with pytest.raises(UnreadableError, match="a zero byte in it"):
        read_text(tmp_path / "a\0b")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[" * 100_000, f"more than {DEEPEST} deep"),
        ("[" * 70 + "]" * 70, f"more than {DEEPEST} deep"),
        ('{"a":' * 70 + "1" + "}" * 70, f"more than {DEEPEST} deep"),
        ("1" * 5000, "4300 digits"),
        ("{", "Expecting"),
        ("", "Expecting value"),
    ],
)
def test_json_that_is_none(text, said):
    with pytest.raises(UnreadableError, match=said):
        json_of(text)
    assert json_of("[" * DEEPEST + "]" * DEEPEST) is not None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a = " + "[" * 100_000, f"more than {DEEPEST} deep"),
        ("a = " + "[" * 70 + "]" * 70, f"more than {DEEPEST} deep"),
        ("a." * 400_000 + "b = 1", f"more than {DEEPEST} parts"),
        ("['a' . " + '"b c" . ' * 80 + "b]", f"more than {DEEPEST} parts"),
        ("a = " + "1" * 5000, "4300 digits"),
        ("a = 2026-02-30", "Invalid date"),
        ('a = "\0"', "Illegal character"),
    ],
)
def test_toml_that_is_none(text, said):
    with pytest.raises(UnreadableError, match=said):
        toml_of(text)


@pytest.mark.parametrize(
    "text", ["a" * 900_000, '"' * 900_000, "a b " * 200_000, "a" + " " * 900_000, "a.\n" * 300_000]
)
def test_no_text_takes_the_search_for_long_keys_long(text):
    began = time.process_time()
    with pytest.raises(UnreadableError):
        toml_of(text)
    assert time.process_time() - began < 2.0
