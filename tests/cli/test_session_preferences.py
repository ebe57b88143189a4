"""Preferences that cannot be used stop the console before anything is opened, in one sentence."""

import pytest

from sternwatch.cli.main import main


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ('[keys]\nundoo = "z"\n', ["config.toml: keys", "'undoo'", "did you mean 'undo'"]),
        ('[keys]\nundo = "y"\n', ["config.toml: keys", "y would mean both"]),
        ('unit = "us"\n', ["config.toml", "'unit'", "did you mean 'units'"]),
        ("units = us\n", ["config.toml", "not valid TOML"]),
    ],
)
def test_wrong_preferences_are_one_sentence_and_exit_code_1(tmp_path, monkeypatch, capsys, text, parts):
    for name in ("CONFIG", "DATA", "CACHE", "LOG"):
        monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(tmp_path))
    (tmp_path / "config.toml").write_text(text)
    assert main(["demo"]) == 1
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert "Traceback" not in error
    for part in parts:
        assert part in error
    assert [path.name for path in tmp_path.iterdir()] == ["config.toml"]
