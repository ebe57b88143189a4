"""Cautions of what is printed for the deck, and of what machines read."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path

import pytest

from sternwatch.cautions import COMPUTED, NO_GUARANTEE, WIRE
from sternwatch.cli.main import main

EVENING = str(Path(__file__).parents[2] / "demo_logs" / "evening.toml")
PLAN = ["plan", EVENING, "--from", "40 ft", "--to", "60 ft", "--speed", "2.3 mph", "--rods", "4"]
CARDS = ["table", EVENING, "--rod", "3", "--speed", "2.3 mph", "--from", "60 ft", "--to", "90 ft", "--step", "30 ft"]
DEPTH = ["depth", EVENING, "--speed", "2.3 mph"]


@pytest.mark.parametrize("asked", [PLAN, CARDS, ["tags", EVENING]], ids=["plan", "cards", "tags"])
def test_a_page_for_the_deck_ends_with_the_wire_and_no_guarantee(asked: list[str], tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    assert main([*asked, "--html", str(page)]) == 0
    text = page.read_text(encoding="utf-8")
    for caution in (WIRE, "omputed, not measured. Not for navigation.", NO_GUARANTEE):
        assert caution in text
    after = text[text.rindex(NO_GUARANTEE) + len(NO_GUARANTEE) :]
    assert not re.sub(r"<[^>]*>", "", after).strip()


@pytest.mark.parametrize("asked", [PLAN, CARDS, DEPTH], ids=["plan", "cards", "depth"])
def test_json_carries_the_caution(asked: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*asked, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["caution"] == COMPUTED


def test_every_row_of_the_cards_as_csv_carries_the_caution(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*CARDS, "--csv", "-"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert rows
    assert {row["caution"] for row in rows} == {COMPUTED}
