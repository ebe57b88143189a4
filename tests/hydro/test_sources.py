"""The one bibliography: whatever is cited is in it, and whatever is in it is cited."""

from __future__ import annotations

import re
from calendar import month_name
from pathlib import Path

import pytest

from sternwatch.hydro.sources import REFERENCES

ROOT = Path(__file__).parents[2]
CITING = [
    path for top in ("src", "tests") for path in sorted((ROOT / top).rglob("*.py"))
    if path.name not in ("sources.py", "test_sources.py")
]  # fmt: skip
TEXT = {path: re.sub(r"\s+", " ", path.read_text(encoding="utf-8")) for path in CITING}
# A surname, perhaps others with it, and a year of print: "Tukey 1960", "Clift, Grace & Weber (1978)".
WORK = re.compile(r"\b([A-Z][a-z]{2,})(?: et al\.?)?,? \(?((?:19[0-9]|20[01])[0-9])\b")
NO_WORKS = {month for month in month_name if month}  # a month before a year is a date


@pytest.mark.parametrize("key", REFERENCES)
def test_what_is_in_it_is_cited(key: str) -> None:
    first, last = key.split()[0].rstrip(","), key.split()[-1]
    cited = re.compile(rf"{re.escape(first)}.{{0,80}}?{re.escape(last)}|{re.escape(key)}")
    assert any(cited.search(text) for text in TEXT.values()), f"{key} is cited nowhere"


def test_what_is_cited_is_in_it() -> None:
    missing = set()
    for path, text in TEXT.items():
        for name, year in WORK.findall(text):
            known = any(name in f"{key} {work}" and year in f"{key} {work}" for key, work in REFERENCES.items())
            if not known and name not in NO_WORKS:
                missing.add(f"{path.relative_to(ROOT)}: {name} {year}")
    assert not missing
