"""``table``, ``check`` and the further answers of ``depth`` as a script and a person meet them."""

from __future__ import annotations

import csv
import io
import json
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.exits import Exit
from sternwatch.cli.main import main
from sternwatch.places import shipped

EVENING = str(shipped("demo_logs") / "evening.toml")
FT = 0.3048


@pytest.fixture(autouse=True)
def _no_preferences(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path / "none"))


def _out(capsys: pytest.CaptureFixture[str], *argv: str) -> str:
    assert main(list(argv)) == Exit.DONE
    return capsys.readouterr().out


def _fails(capsys: pytest.CaptureFixture[str], *argv: str) -> str:
    assert main(list(argv)) == Exit.WRONG_INPUT
    found = capsys.readouterr()
    assert found.out == ""
    assert found.err.count("\n") == 1
    return found.err


def _json(capsys: pytest.CaptureFixture[str], *argv: str) -> dict[str, Any]:
    document: dict[str, Any] = json.loads(_out(capsys, *argv, "--json"))
    return document


ROWS = ("--from", "60 ft", "--to", "120 ft", "--step", "30 ft")
TABLE = ("table", EVENING, "--rod", "3", "--speed", "2.0 mph", "--speed", "2.4 mph", *ROWS)


def test_a_card_to_read(capsys: pytest.CaptureFixture[str]) -> None:
    out = _out(capsys, *TABLE)
    assert "computed, not measured" in out
    assert "Depths are computed, not measured. Not for navigation." in out
    assert "no wraps round a hand" in out
    for setting in ("straight", "low", "high"):
        assert f"3 P LOW, {setting}: wire – disc" in out
    row = next(line for line in out.splitlines() if line.startswith(" 90 "))
    assert row.count("±") == 2
    assert "–" not in row


def test_whoever_counts_passes_reads_them_on_the_card(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    counted = tmp_path / "counted.toml"
    text = Path(EVENING).read_text(encoding="utf-8")
    name = 'name = "P LOW"\n'
    counted.write_text(text.replace(name, f'{name}counter = {{ per_pass = "12 ft" }}\n'), encoding="utf-8")
    page = tmp_path / "card.html"
    out = _out(capsys, "table", str(counted), *TABLE[2:])
    assert " 90 (7.5 passes)  " in out
    _out(capsys, "table", str(counted), *TABLE[2:], "--html", str(page))
    assert "<th>120 (10.0 passes)</th>" in page.read_text(encoding="utf-8")


def test_a_card_as_json_agrees_with_depth(capsys: pytest.CaptureFixture[str]) -> None:
    rows = _json(capsys, "table", EVENING, "--rod", "3", "--speed", "2.3 mph", "--from", "185 ft", "--to", "185 ft",
                 "--setting", "low")["cards"][0]["rows"]  # fmt: skip
    assert len(rows) == 1
    rod = _json(capsys, "depth", EVENING, "--speed", "2.3 mph")["rods"][2]
    assert rows[0]["depth_m"] == pytest.approx(rod["depth_m"], abs=2e-3)
    low, high = rod["depth_interval_m"]
    wider = max(high - rod["depth_m"], rod["depth_m"] - low)
    assert rows[0]["plus_minus_m"] == pytest.approx(wider, abs=0.02)


def test_a_card_as_csv_in_the_units_chosen(capsys: pytest.CaptureFixture[str]) -> None:
    feet = list(csv.DictReader(io.StringIO(_out(capsys, *TABLE, "--csv", "-"))))
    metres = list(csv.DictReader(io.StringIO(_out(capsys, *TABLE, "--csv", "-", "--units", "metric"))))
    assert len(feet) == len(metres) == 3 * 3 * 2
    for a, b in zip(feet, metres, strict=True):
        assert float(a["depth_ft"]) * FT == pytest.approx(float(b["depth_m"]), abs=0.08)
        assert a["setting"] == b["setting"]
        assert float(a["plus_minus_ft"]) > 0


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.counts: dict[str, int] = {}

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        assert not any(name in ("src", "href") for name, _ in attrs)  # nothing from elsewhere
        self.counts[tag] = self.counts.get(tag, 0) + 1
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_a_card_as_one_page_to_print(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    target = tmp_path / "card.html"
    assert main([*TABLE, "--html", str(target)]) == Exit.DONE
    assert "written" in capsys.readouterr().err
    text = target.read_text(encoding="utf-8")
    assert COMPUTED in text
    assert "Not for navigation." in text
    assert "no wraps round a hand" in text
    assert "This is not a guarantee." in text
    page = _Page()
    page.feed(text)
    assert page.open == []
    assert page.counts["table"] == 1
    assert [text.index(f">{setting}<") for setting in ("straight", "low", "high")] == sorted(
        text.index(f">{setting}<") for setting in ("straight", "low", "high")
    )
    assert page.counts["td"] == 18
    assert text.count("±") == 18 + 1
    assert "script" not in page.counts


def test_rods_that_are_alike_share_a_card_and_scripts_get_one_each(capsys: pytest.CaptureFixture[str]) -> None:
    argv = ("table", EVENING, "--speed", "2.3 mph", "--setting", "low", "--rod", "1", "--rod", "3", "--rod", "6")
    people = _out(capsys, *argv)
    assert "3 6 P LOW, S LOW, low:" in people
    assert "1 P BOARD" in people
    assert "\n 5 colours (counter 90 ft)" in people  # line before a board does not set the depth
    assert [card["key"] for card in _json(capsys, *argv)["cards"]] == ["1", "3", "6"]


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (("--rod", "9"), '--rod "9": the spread has no such rod; accepted: 1, 2, 3, 4, 5, 6, 7, 8'),
        (("--setting", "steep"), '--setting "steep": no such setting; accepted: straight, low, high'),
        (("--from", "90 ft", "--to", "30 ft"), "--to must not be less than --from"),
        (("--from", "1 ft", "--to", "3000 ft", "--step", "1 ft"), "at most 200 are accepted"),
        (("--rod", "3", *ROWS, "--csv", "/no/such/folder/card.csv"), "cannot be written"),
    ],
)
def test_a_card_that_cannot_be_made_is_one_sentence(
    capsys: pytest.CaptureFixture[str], argv: tuple[str, ...], words: str
) -> None:
    assert words in _fails(capsys, "table", EVENING, "--speed", "2 mph", *argv)


BOTH = ("--rod", "1", "--rod", "3")


def test_target_gives_line_out(capsys: pytest.CaptureFixture[str]) -> None:
    rods = {
        r["key"]: r for r in _json(capsys, "depth", EVENING, "--speed", "2.3 mph", *BOTH, "--target", "60 ft")["rods"]
    }
    assert rods["3"]["target_depth_m"] == pytest.approx(60 * FT)
    assert 95 < rods["3"]["line_out_for_target_m"] / FT < 125
    assert rods["3"]["target_why"] == ""
    assert rods["1"]["line_out_for_target_m"] is None
    assert rods["3"]["lead_core_for_target_m"] is None
    assert 9.0 < rods["1"]["lead_core_for_target_m"] / (30 * FT) < 15.0
    assert rods["1"]["target_why"] == "no length of line reaches it"
    assert rods["1"]["deepest_m"] == pytest.approx(rods["1"]["depth_m"], abs=0.2)
    text = _out(capsys, "depth", EVENING, "--speed", "2.3 mph", *BOTH, "--target", "60 ft")
    assert "1 P BOARD: 1" in text
    assert "colours out for 60 ft, the counter at 90 ft as filed" in text
    assert "out for 60 ft" in text


def test_target_without_a_depth_is_each_rods_own(capsys: pytest.CaptureFixture[str]) -> None:
    rods = _json(capsys, "depth", EVENING, "--speed", "2.3 mph", "--rod", "3", "--target")["rods"]
    assert rods[0]["target_depth_m"] == pytest.approx(90 * FT)
    assert 185 * FT < rods[0]["line_out_for_target_m"] < 215 * FT  # 185 ft bring it to 83 ft


def test_target_and_no_rod_with_one(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    bare = tmp_path / "bare.toml"
    lines = Path(EVENING).read_text(encoding="utf-8").splitlines()
    bare.write_text("\n".join(line for line in lines if not line.startswith("target_depth")), encoding="utf-8")
    assert "no rod of the spread has a target_depth" in _fails(
        capsys, "depth", str(bare), "--speed", "2 mph", "--target"
    )


def test_sensitivity_in_si_and_in_the_steps_of_the_trade(capsys: pytest.CaptureFixture[str]) -> None:
    rod = _json(capsys, "depth", EVENING, "--speed", "2.3 mph", "--rod", "3", "--sensitivity")["rods"][0]
    assert 0.3 < rod["depth_per_line_out_m_per_m"] < 0.5
    assert rod["depth_per_speed_m_per_m_s"] < 0
    assert list(rod["depth_by_setting_m"]) == ["straight", "low", "high"]
    low, high = rod["depth_interval_m"]
    assert 0.7 < rod["depth_off_m"] / (0.5 * (high - low)) < 1.3
    assert sum(part["share"] for part in rod["depth_off_parts"]) == pytest.approx(1.0)
    text = _out(capsys, "depth", EVENING, "--speed", "2.3 mph", "--rod", "3", "--sensitivity")
    row = next(line for line in text.splitlines() if line.startswith("3 P LOW") and "straight" in line)
    assert f"{rod['depth_per_line_out_m_per_m'] * 10:+.1f}" in row
    assert "10 ft more" in text
    made_of = next(line for line in text.splitlines() if line.startswith("    3 P LOW: ±"))
    assert f": {rod['depth_off_parts'][0]['what']}; " in made_of  # the largest comes first, with its share
    assert "5 m more" in _out(
        capsys, "depth", EVENING, "--speed", "2.3 mph", "--rod", "3", "--sensitivity", "--units", "metric"
    )


def test_depth_alone_is_as_contracted(capsys: pytest.CaptureFixture[str]) -> None:
    rod = _json(capsys, "depth", EVENING, "--speed", "2.3 mph")["rods"][0]
    assert "target_depth_m" not in rod
    assert "depth_by_setting_m" not in rod


def test_check_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    document = _json(capsys, "check", EVENING, "--speed", "2.3 mph", "--bottom", "80 ft")
    assert [(f["kind"], f["keys"]) for f in document["findings"]] == [("bottom", ["3"])]
    assert document["findings"][0]["bottom_m"] == pytest.approx(80 * FT)
    shown = _json(capsys, "depth", EVENING, "--speed", "2.3 mph")["rods"][2]["depth_m"]
    assert document["findings"][0]["depth_m"] == pytest.approx(shown, rel=1e-6)
    rod = document["rods"][1]
    assert rod["weakest"] == "wire"
    assert rod["margin"] > 5
    assert rod["strike_peak_N"] < rod["strike_without_snubber_N"]
    assert all(set(f) >= {"kind", "keys", "where", "what", "why", "cure"} for f in document["findings"])


def test_check_for_people_never_says_safe(capsys: pytest.CaptureFixture[str]) -> None:
    text = _out(capsys, "check", EVENING)
    assert "These checks found nothing. This is not a guarantee." in text
    assert "not looked at:" in text
    assert "Wire and cable under load cut" in text
    assert not any(word in text.lower().split() for word in ("safe", "ok", "clear"))
    found = _out(capsys, "check", EVENING, "--bottom", "80 ft", "--units", "metric")
    assert "rod 3 (P LOW): fly at 25.1 m, the water is 24.4 m deep" in found
    assert "cure  less line" in found


def test_check_of_a_wrong_file_is_one_sentence(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert "none.toml" in _fails(capsys, "check", str(tmp_path / "none.toml"))
    assert "none.toml" in _fails(capsys, "table", str(tmp_path / "none.toml"))


def test_lead_core_is_told_in_colours_with_what_the_counter_reads(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["depth", EVENING, "--speed", "2.3 mph", "--rod", "1", "--target", "40 ft"]) == Exit.DONE
    out = capsys.readouterr().out
    assert "1 P BOARD: 5 colours out; line out is what its counter reads" in out
    told = re.search(r"1 P BOARD: ([0-9.]+) colours out for 40 ft, the counter at 90 ft as filed", out)
    assert told is not None
    # The card gives the same: the row of that many colours is 40 ft deep.
    rows = _json(capsys, "table", EVENING, "--rod", "1", "--speed", "2.3 mph")["cards"][0]["rows"]
    cores = [row["lead_core_m"] / (30 * FT) for row in rows]
    depths = [row["depth_m"] / FT for row in rows]
    assert cores == pytest.approx(range(1, 11))
    assert {round(row["line_out_m"] / FT) for row in rows} == {90}
    assert np.interp(float(told[1]), cores, depths) == pytest.approx(40.0, abs=1.0)
    assert main([*TABLE[:2], "--rod", "1", "--speed", "2.3 mph"]) == Exit.DONE
    assert "5 colours (counter 90 ft)" in capsys.readouterr().out
