"""What is said where a package of an extra is missing can be done as it stands."""

from __future__ import annotations

import re
import sys
import tomllib
from importlib import metadata, util
from pathlib import Path

import pytest

from sternwatch.extras import missing, packages

EXTRAS = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text(encoding="utf-8"))["project"][
    "optional-dependencies"
]


@pytest.mark.parametrize("extra", ["report", "n2k", "deck", "geotiff", "signalk"])
def test_an_extra_names_its_packages(extra: str) -> None:
    asked = {re.split(r"[<>=]", one)[0] for one in EXTRAS[extra]}
    assert set(packages(extra)) == asked
    for name in packages(extra):
        assert metadata.version(name)


def test_the_command_installs_them_into_the_python_that_runs_this(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(util, "find_spec", lambda name: name == "pip" or None)
    monkeypatch.setattr(sys, "executable", "/boat/bin/python")
    assert missing("NMEA 2000", "n2k") == (
        "NMEA 2000 needs the package nmea2000, which is not installed here; this installs it: "
        "/boat/bin/python -m pip install nmea2000"
    )
    monkeypatch.setattr(sys, "executable", "/my boat/bin/python")
    assert missing("a page", "report").endswith(
        'not all installed here; this installs them: "/my boat/bin/python" -m pip install jinja2 matplotlib'
    )
    monkeypatch.setattr(util, "find_spec", lambda _name: None)
    assert missing("a page", "report").endswith('uv pip install --python "/my boat/bin/python" jinja2 matplotlib')
