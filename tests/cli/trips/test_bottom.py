"""``sternwatch bottom``: taken in, listed, removed; and what is wrong ends in one sentence."""

from __future__ import annotations

import io
import json

import pytest

from sternwatch.cli.main import main

GRID = (
    "ncols 4\nnrows 3\nxllcenter -89.6\nyllcenter 47.0\ncellsize 0.01\nNODATA_value -9999\n"
    "150.0 151.0 152.0 190.0\n140.0 141.0 142.0 185.0\n130.0 131.0 132.0 -9999\n"
)
ALL = ["--values", "heights", "--datum", "low water datum", "--datum-at", "183.2 m", "--level=-0.2 m"]


@pytest.fixture
def lake(tmp_path, monkeypatch):
    monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path / "data"))
    file = tmp_path / "made lake.asc"
    file.write_text(GRID)
    return file


def test_a_grid_is_taken_in_listed_with_its_datum_and_removed(lake, capsys):
    assert main(["bottom", "import", str(lake), *ALL]) == 0
    assert "made lake: 3 by 4 cells" in capsys.readouterr().out
    assert main(["bottom", "list", "--json"]) == 0
    row = json.loads(capsys.readouterr().out)
    assert (row["name"], row["datum"], row["level_m"], row["file"]) == (
        "made lake", "low water datum", -0.2, "made lake.asc",
    )  # fmt: skip
    assert (row["south_deg"], row["north_step_deg"]) == (47.0, 0.01)
    assert main(["bottom", "list"]) == 0
    assert "low water datum, lake -0.7 ft" in capsys.readouterr().out
    assert main(["bottom", "list", "--units", "metric"]) == 0
    assert "low water datum, lake -0.20 m" in capsys.readouterr().out
    assert main(["bottom", "import", str(lake), *ALL]) == 1
    assert "accepted: another --name, or --replace" in capsys.readouterr().err
    assert main(["bottom", "import", str(lake), *ALL, "--replace"]) == 0
    assert main(["bottom", "remove", "made lake"]) == 0
    capsys.readouterr()
    assert main(["bottom", "list", "--json"]) == 0
    assert capsys.readouterr().out == ""


@pytest.mark.parametrize("missing", [0, 2, 4, 6])
def test_where_nobody_can_be_asked_the_missing_option_is_named(lake, capsys, missing):
    given = ALL[:missing] + ALL[missing + (1 if missing == 6 else 2) :]
    assert main(["bottom", "import", str(lake), *given]) == 1
    assert f"{ALL[missing].split('=')[0]} is missing" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["import", "there-is-none.asc", *ALL], "there-is-none.asc: no such file"),
        (["import", "README.md", *ALL], "accepted are ASCII grid (.asc), XYZ"),
        (["remove", "none"], 'there is no grid "none"; there are: none'),
        (["remove", "../data"], "is no name for a grid"),
    ],
)
def test_what_is_wrong_ends_in_a_sentence(lake, capsys, monkeypatch, arguments, said):
    monkeypatch.chdir(lake.parent)
    assert main(["bottom", *arguments]) == 1
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1


def test_heights_taken_for_depths_a_level_that_no_lake_has_and_another_name(lake, capsys):
    assert main(["bottom", "import", str(lake), *ALL[:4], "--datum-at", "0 m", "--level", "0 m"]) == 1
    assert "perhaps they are depths, or the datum's height is wrong" in capsys.readouterr().err
    assert main(["bottom", "import", str(lake), *ALL[:6], "--level", "183 m"]) == 1
    assert "--level: 600.4 ft; accepted are up to 65 ft above or below the datum" in capsys.readouterr().err
    assert main(["bottom", "import", str(lake), *ALL, "--name", "a/b"]) == 1
    assert "is no name for a grid" in capsys.readouterr().err


def test_a_kept_file_that_is_damaged_is_said_beside_the_others(lake, capsys, tmp_path):
    assert main(["bottom", "import", str(lake), *ALL]) == 0
    (tmp_path / "data" / "bottom" / "old.bottom.npz").write_bytes(b"half")
    capsys.readouterr()
    assert main(["bottom", "list"]) == 1
    out, error = capsys.readouterr()
    assert "made lake" in out
    assert "old.bottom.npz: it is not a grid as it was kept" in error


class Terminal(io.StringIO):
    def isatty(self):
        return True


def test_in_a_terminal_what_is_missing_is_asked_until_the_answer_serves(lake, capsys, monkeypatch):
    monkeypatch.setattr("sys.stdin", Terminal("up\nheights\nlow water datum\n183.2 m\n0.3 furlong\n0.3 m\n"))
    monkeypatch.setattr("sys.stderr", said := Terminal())
    assert main(["bottom", "import", str(lake)]) == 0
    assert '"up": accepted are depths and heights' in said.getvalue()
    assert "furlong" in said.getvalue()
    capsys.readouterr()
    assert main(["bottom", "list", "--json"]) == 0
    row = json.loads(capsys.readouterr().out)
    assert (row["datum"], row["level_m"]) == ("low water datum", 0.3)


def test_the_error_that_its_maker_states_is_kept_and_listed(lake, capsys):
    assert main(["bottom", "import", str(lake), *ALL, "--error", "-1 m"]) == 1
    assert "--error: -3.3 ft; accepted are lengths above 0" in capsys.readouterr().err
    assert main(["bottom", "import", str(lake), *ALL, "--error", "0.5 m"]) == 0
    assert main(["bottom", "list"]) == 0
    assert "±1.6 ft as stated" in capsys.readouterr().out
