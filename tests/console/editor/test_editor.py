"""The spread editor by keys and by mouse; what it computes and what it keeps."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from textual.geometry import Offset
from textual.pilot import Pilot
from textual.widgets import Input

from sternwatch import places
from sternwatch.answers.checks.depths_and_check import Worked
from sternwatch.config import Preferences
from sternwatch.console.ashore.base import AnswerLine, KeyBar, Page, Pick, Rows
from sternwatch.console.editor.drafts import Draft
from sternwatch.console.editor.edited_spread import EditedSpread
from sternwatch.console.editor.parts import Depths, Findings
from sternwatch.console.editor.screen import EditorApp, EditorScreen
from sternwatch.console.editor.stern_view import SternView
from sternwatch.console.paint.canvas import ink_id
from sternwatch.files import earlier
from sternwatch.gear.editing.document import SpreadDocument
from sternwatch.gear.editing.rows import Row
from sternwatch.gear.shelf.pieces import parse_shelf
from sternwatch.gear.spread_file.load import load_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS, DisplaySystem

FT = 0.3048
US = SYSTEMS["us"]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    made = tmp_path / "boat.toml"
    made.write_bytes((places.shipped("demo_logs") / "evening.toml").read_bytes())
    return made


def nothing(question: tuple[Spread, DisplaySystem]) -> Worked:  # noqa: ARG001
    """For tests that look at no depth."""
    raise RuntimeError("not computed in this test")


def answers(question: tuple[Spread, DisplaySystem]) -> Worked:
    from sternwatch.answers.checks.depths_and_check import work_out

    return work_out(*question)


def app_for(path: Path) -> EditorApp:
    return EditorApp(Preferences(), SpreadDocument.open(path), parse_shelf(""), nothing)


def screen_of(app: EditorApp) -> EditorScreen:
    screen = app.screen_stack[0]
    assert isinstance(screen, EditorScreen)
    return screen


def said(app: EditorApp) -> str:
    return screen_of(app).query_one(AnswerLine).words


async def press(pilot: Pilot[None], keys: str) -> None:
    await pilot.press(*keys.split())


async def to_row(pilot: Pilot[None], app: EditorApp, label: str) -> None:
    screen = screen_of(app)
    at = next(i for i, row in enumerate(screen._rows) if row.label == label)
    screen.query_one(Rows).highlighted = at
    await pilot.pause()


async def worked(pilot: Pilot[None], app: EditorApp) -> None:
    for _ in range(600):
        if app.edited.is_current:
            break
        await pilot.pause(0.1)
    assert app.edited.is_current, app.edited.beside.trouble
    await pilot.pause(0.3)


async def test_a_depth_changes_as_a_length_is_typed_and_esc_puts_all_back(path: Path) -> None:
    app = EditorApp(Preferences(), SpreadDocument.open(path), parse_shelf(""), answers)
    async with app.run_test(size=(80, 24)) as pilot:
        await worked(pilot, app)
        assert app.edited.worked is not None
        before = app.edited.worked.depths.rods[0].depth_m
        text = app.edited.document.text
        await to_row(pilot, app, "  out")
        await pilot.press("enter")
        field = screen_of(app).query_one(Input)
        assert field.value == "90 ft"
        await press(pilot, "4 0")  # a bare number is in the unit that stood there
        assert app.edited.document.spread is not None
        assert app.edited.document.spread.rods[0].line_out_m == pytest.approx(40 * FT)
        await worked(pilot, app)
        assert app.edited.worked.depths.rods[0].depth_m != before
        await press(pilot, "x")
        assert "not a unit known here" in said(app)
        await pilot.press("enter")
        assert screen_of(app).typing is not None  # what is wrong is not taken
        await pilot.press("escape")
        assert app.edited.document.text == text
        assert screen_of(app).typing is None


async def test_values_stand_in_the_users_units_and_the_file_keeps_its_own_until_another_is_typed(path: Path) -> None:
    app = app_for(path)
    async with app.run_test(size=(120, 36)) as pilot:
        text = app.edited.document.text
        await press(pilot, "left")  # the boat
        await to_row(pilot, app, "line")
        row = screen_of(app).row
        assert row is not None
        assert row.written == "0.3 m"
        assert row.value == "0.984 ft"
        await press(pilot, "enter")
        assert screen_of(app).query_one(Input).value == "0.984 ft"
        await press(pilot, "enter")
        assert app.edited.document.text == text
        await press(pilot, "enter 2 enter")
        assert app.edited.tables["boat"]["required"]["line"] == "2 ft"
        await press(pilot, "right")
        await to_row(pilot, app, "lure speeds")
        await press(pilot, "enter 1 . 8 space t o space 2 . 6 enter")
        assert app.edited.tables["rod"][0]["speeds"] == ["1.8 mph", "2.6 mph"]
        app.edited.piece = ("line", "wire")
        screen_of(app).renew(at=0)
        await to_row(pilot, app, "strength")
        await press(pilot, "enter 3 5 space l b enter")
        assert app.edited.tables["line"]["wire"]["strength"] == "35 lbf"


async def test_typing_is_one_change(path: Path) -> None:
    app = app_for(path)
    async with app.run_test(size=(80, 24)) as pilot:
        text = app.edited.document.text
        await to_row(pilot, app, "  out")
        await press(pilot, "enter 1 2 5 enter u")
        assert app.edited.document.text == text
        assert "taken back" in said(app)
        await press(pilot, "y")
        assert app.edited.tables["rod"][0]["chain"][0]["out"] == "125 ft"


async def test_saving_keeps_comments_and_the_version_before(path: Path) -> None:
    before = path.read_text(encoding="utf-8")
    app = app_for(path)
    async with app.run_test(size=(80, 24)) as pilot:
        await to_row(pilot, app, "name")
        await press(pilot, "enter P O R T enter s")
        assert said(app).startswith("saved: ")
    after = path.read_text(encoding="utf-8")
    assert load_spread(path).rods[0].name == "PORT"
    assert [line for line in before.splitlines() if "#" in line] == [
        line for line in after.splitlines() if "#" in line
    ]  # fmt: skip
    assert [kept.read_text(encoding="utf-8") for kept in earlier(path)] == [before]
    assert not app.edited.draft.path.exists()


async def test_what_is_not_saved_is_taken_up_the_next_time(path: Path) -> None:
    app = app_for(path)
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "right right d")
        assert len(app.edited.rods) == 7
        await press(pilot, "escape")
    assert not app.is_running
    assert len(load_spread(path).rods) == 8
    again = app_for(path)
    async with again.run_test(size=(80, 24)) as pilot:
        assert "Taken up" in said(again)
        assert len(again.edited.rods) == 7
        await press(pilot, "u")
        assert len(again.edited.rods) == 8
        await press(pilot, "escape")
    assert not again.edited.draft.path.exists()  # nothing differs from the file any more


def test_a_draft_without_a_rod_opens_on_the_boat_and_is_taken_back(path: Path) -> None:
    draft = Draft(path).path
    draft.parent.mkdir(parents=True, exist_ok=True)
    draft.write_text("")
    edited = EditedSpread(SpreadDocument.open(path), parse_shelf(""), US, nothing)
    assert "Taken up" in edited.said
    assert edited.chosen is None
    assert edited.rows()[0].label == "BOAT"
    edited.undo()
    assert len(edited.rods) == 8


async def test_a_tip_is_moved_by_arrows_and_put_back_by_esc(path: Path) -> None:
    app = app_for(path)
    async with app.run_test(size=(80, 24)) as pilot:
        text = app.edited.document.text
        await press(pilot, "right g down down left escape")
        assert app.edited.document.text == text
        await press(pilot, "g down left enter")
        assert app.edited.tables["rod"][1]["tip"] == {"astern": "0.5 ft", "abeam": "9.5 ft", "height": "4 ft"}
        await press(pilot, "u")
        assert app.edited.document.text == text


async def test_while_a_tip_is_moved_or_a_row_typed_on_nothing_else_is_done(path: Path) -> None:
    app = app_for(path)
    async with app.run_test(size=(120, 48)) as pilot:
        await press(pilot, "g d a m u")
        assert isinstance(app.screen, EditorScreen)
        assert len(app.edited.rods) == 8
        await press(pilot, "escape enter")
        assert screen_of(app).typing is not None
        await pilot.click(Depths, offset=Offset(3, 6))
        assert app.edited.chosen == 0
        await press(pilot, "escape d")
        assert len(app.edited.rods) == 7


async def test_a_rig_goes_on_a_board_in_and_items_come_and_go(path: Path) -> None:
    app = app_for(path)
    async with app.run_test(size=(100, 40)) as pilot:
        await press(pilot, "right r 3")
        assert isinstance(app.screen, EditorScreen)
        assert app.edited.tables["rod"][1]["chain"][1] == {"line": "lead-core 27 lb", "length": "7 colours"}
        await press(pilot, "b")
        assert app.edited.tables["rod"][1]["chain"][1] == {"tackle": "side board"}
        await press(pilot, "b")
        assert app.edited.tables["rod"][1]["chain"][0] == {"line": "braid 30 lb", "out": "50 ft"}
        await to_row(pilot, app, "2 line")
        await press(pilot, "i")
        assert isinstance(app.screen, Pick)
        await press(pilot, "1 ")
        chain = app.edited.tables["rod"][1]["chain"]
        assert "tackle" in chain[2]
        await to_row(pilot, app, next(r.label for r in screen_of(app)._rows if r.item == 2))
        await press(pilot, "x")
        assert len(app.edited.tables["rod"][1]["chain"]) == len(chain) - 1


async def test_a_note_that_is_too_long_goes_on_beneath_itself(path: Path) -> None:
    app = app_for(path)
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, "right")
        await to_row(pilot, app, "2 diver")
        await press(pilot, "i")
        assert isinstance(app.screen, Pick)
        prompts = [str(option.prompt).splitlines() for option in app.screen.query_one(Rows).options]
        long = [lines for lines in prompts if len(lines) > 1]
        assert long
        for first, *rest in long:
            begin = len(rest[0]) - len(rest[0].lstrip())
            assert first[begin - 2 : begin] == "  "
            assert first[begin] != " "
            assert all(len(line) - len(line.lstrip()) == begin for line in rest)
            assert max(map(len, (first, *rest))) <= 74


async def test_a_piece_is_changed_for_every_rod_that_has_it(path: Path) -> None:
    app = app_for(path)
    async with app.run_test(size=(100, 40)) as pilot:
        await press(pilot, "right")
        await to_row(pilot, app, "disc")
        await pilot.press("enter")
        assert screen_of(app)._rows[0].label == "TACKLE “disc”, ON P HIGH, P LOW, S LOW, S HIGH"
        await to_row(pilot, app, "diameter")
        await press(pilot, "enter 1 0 0 enter escape")
        assert app.edited.tables["tackle"]["disc"]["diameter"] == "100 mm"
        assert app.edited.piece is None


async def test_by_mouse_a_rod_is_added_where_one_clicks_and_a_tip_is_dragged(path: Path) -> None:
    app = app_for(path)
    async with app.run_test(size=(120, 48)) as pilot:
        view = screen_of(app).query_one(SternView)
        spot = view.scale.cell(-0.9, 2.6)
        await pilot.click(SternView, offset=spot)
        assert isinstance(app.screen, Pick)
        await pilot.click("#pick", offset=Offset(4, 1))  # the second rig
        assert len(app.edited.rods) == 9
        rod = app.edited.rods[-1]
        assert (rod["side"], rod["name"]) == ("starboard", "S DOWN 2")
        tip = app.edited.tips()[-1]
        assert (tip.forward_m, tip.starboard_m) == (pytest.approx(-0.9, abs=0.3), pytest.approx(2.6, abs=0.3))
        start = view.scale.cell(tip.forward_m, tip.starboard_m)
        end = view.scale.cell(0.6, 1.9)
        await pilot.mouse_down(SternView, offset=start)
        await pilot.hover(SternView, offset=end)
        await pilot.mouse_up(SternView, offset=end)
        moved = app.edited.tips()[-1]
        assert (moved.forward_m, moved.starboard_m) == (pytest.approx(0.6, abs=0.3), pytest.approx(1.9, abs=0.3))
        await pilot.press("u")  # a drag is one change
        assert app.edited.tips()[-1] == tip


async def test_trouble_in_computing_is_said(path: Path) -> None:
    app = app_for(path)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause(0.4)
        assert "It cannot be computed: RuntimeError" in screen_of(app).query_one(Findings)._grid.text()


async def test_a_click_chooses_a_rod_and_keys_of_the_bar_are_pressed_by_mouse(path: Path) -> None:
    app = app_for(path)
    async with app.run_test(size=(120, 48)) as pilot:
        await pilot.click(Depths, offset=Offset(3, 4))
        assert app.edited.chosen == 2
        view = screen_of(app).query_one(SternView)
        tip = app.edited.tips()[4]
        await pilot.click(SternView, offset=view.scale.cell(tip.forward_m, tip.starboard_m))
        assert app.edited.chosen == 4
        await pilot.click(KeyBar, offset=Offset(10, 0))  # a add
        assert isinstance(app.screen, Pick)


async def test_help_and_themes(path: Path) -> None:
    app = app_for(path)
    async with app.run_test(size=(80, 24)) as pilot:
        theme = app.theme
        await press(pilot, "n")
        assert app.theme != theme
        assert app.remembered.theme == app.theme
        await press(pilot, "?")
        assert isinstance(app.screen, Page)
        await press(pilot, "escape")
        assert isinstance(app.screen, EditorScreen)


def test_what_is_chosen_on_the_shelf_comes_into_the_file(path: Path) -> None:
    edited = EditedSpread(SpreadDocument.open(path), parse_shelf(""), US, nothing)
    edited.choose(1)
    row = next(row for row in edited.rows() if row.label == "2 diver")
    assert "disc 100 mm" in edited.choices(row)
    assert edited.set(row, "disc 100 mm") == ""
    assert edited.tables["rod"][1]["chain"][1] == {"tackle": "disc 100 mm", "setting": "high"}
    assert edited.set(next(row for row in edited.rows() if row.label == "2 diver"), "ball 10 lb") == ""
    assert edited.tables["rod"][1]["chain"][1] == {"tackle": "ball 10 lb"}
    edited.stop()


def test_passes_are_typed_once_a_pass_is_known(path: Path) -> None:
    edited = EditedSpread(SpreadDocument.open(path), parse_shelf(""), US, nothing)

    def row(label: str) -> Row:
        return next(row for row in edited.rows() if row.label == label)

    assert "how much line a pass lays on" in edited.set(row("  out"), "14 passes")
    assert edited.set(row("counter per pass"), "11") == ""
    assert edited.set(row("  out"), "14 passes") == ""
    assert edited.tables["rod"][0]["chain"][0]["out"] == "154 ft"
    edited.stop()


def test_two_speeds_are_typed_on_one_row(path: Path) -> None:
    edited = EditedSpread(SpreadDocument.open(path), parse_shelf(""), US, nothing)

    def speeds() -> Row:
        return next(row for row in edited.rows() if row.label == "lure speeds")

    assert edited.set(speeds(), "1.8 to 2.6 mph") == ""
    assert edited.tables["rod"][0]["speeds"] == ["1.8 mph", "2.6 mph"]
    assert speeds().value == "1.8 mph to 2.6 mph"
    assert "the slower one comes first" in edited.set(speeds(), "2.8 mph to 2.6 mph")
    assert edited.set(speeds(), "fast") == "two are wanted, as 1.8 to 2.6 mph"
    assert edited.set(speeds(), "") == ""
    assert "speeds" not in edited.tables["rod"][0]
    edited.stop()


def test_what_cannot_be_saved_says_why_and_nothing_is_lost(tmp_path: Path) -> None:
    folder = tmp_path / "no"
    folder.write_text("a file where a folder should be", encoding="utf-8")
    edited = EditedSpread(SpreadDocument.open(folder / "boat.toml"), parse_shelf(""), US, nothing)
    assert edited.save() == "there is no rod yet: nothing is saved"
    assert edited.add("flat line", "port") == ""
    assert edited.save().startswith("not saved: ")
    assert edited.draft.path.read_text(encoding="utf-8") == edited.document.text
    edited.stop()


def test_a_draft_that_cannot_be_used_is_put_aside(path: Path) -> None:
    edited = EditedSpread(SpreadDocument.open(path), parse_shelf(""), US, nothing)
    edited.draft.path.parent.mkdir(parents=True)
    edited.draft.path.write_text("[boat]\nbeem = 1\n", encoding="utf-8")
    again = EditedSpread(SpreadDocument.open(path), parse_shelf(""), US, nothing)
    assert "could not be taken up" in again.said
    assert again.draft.path.with_suffix(".left").read_text(encoding="utf-8") == "[boat]\nbeem = 1\n"
    for one in (edited, again):
        one.stop()


def test_a_file_changed_since_is_not_covered_by_an_older_draft(path: Path) -> None:
    edited = EditedSpread(SpreadDocument.open(path), parse_shelf(""), US, nothing)
    assert edited.mirror() == ""
    left = edited.draft.path.read_text(encoding="utf-8")
    path.write_text(path.read_text(encoding="utf-8") + "# by hand\n", encoding="utf-8", newline="\n")
    os.utime(path, (path.stat().st_atime, edited.draft.path.stat().st_mtime + 5.0))
    again = EditedSpread(SpreadDocument.open(path), parse_shelf(""), US, nothing)
    assert "the file was changed since" in again.said
    assert again.document.text.endswith("# by hand\n")
    assert again.draft.path.with_suffix(".left").read_text(encoding="utf-8") == left
    for one in (edited, again):
        one.stop()


@pytest.mark.parametrize("size", [(80, 24), (100, 30), (120, 48), (200, 60)])
async def test_every_tip_can_be_seen_and_clicked_at_every_size(path: Path, size: tuple[int, int]) -> None:
    app = app_for(path)
    async with app.run_test(size=size):
        view = screen_of(app).query_one(SternView)
        for tip in view.tips:
            x, y = view.scale.cell(tip.forward_m, tip.starboard_m)
            assert 0 <= x < view.size.width
            assert 0 <= y < view.size.height
            assert view.tip_at(x, y) == tip.index
            forward, starboard = view.scale.place(x, y)
            assert forward == pytest.approx(tip.forward_m, abs=view.scale.row_m)
            assert starboard == pytest.approx(tip.starboard_m, abs=view.scale.cell_m)


async def test_the_row_being_edited_is_told_from_the_others_by_more_than_its_ground(path: Path) -> None:
    """At night that ground has a contrast of 1.1 to the one around it."""
    app = app_for(path)
    async with app.run_test(size=(100, 40)) as pilot:
        rows = screen_of(app).query(Rows).first()
        styles = ("option-list--option", "option-list--option-highlighted")
        assert not rows.get_visual_style(*styles).underline
        await pilot.press("down", "down", "down", "down", "enter")
        await pilot.pause()
        assert not rows.has_focus
        assert rows.get_visual_style(*styles).underline


async def test_the_scale_of_the_stern_is_written_as_words_are(path: Path) -> None:
    """The ink of rules is too faint to be read."""
    app = app_for(path)
    async with app.run_test(size=(100, 40)):
        grid = screen_of(app).query_one(SternView)._grid
        row = next(y for y, line in enumerate(grid.text().splitlines()) if "5 ft" in line)
        at = grid.text().splitlines()[row].index("5 ft")
        assert set(grid.inks[row, at : at + 4].tolist()) == {ink_id("label")}


async def test_a_piece_and_a_rig_go_on_the_shelf(path: Path) -> None:
    from sternwatch.gear.shelf.pieces import load_shelf

    app = app_for(path)
    async with app.run_test(size=(100, 40)) as pilot:
        await press(pilot, "right h")
        assert said(app) == "on the shelf: rig P HIGH"
        assert "P HIGH" in load_shelf().rigs
        await to_row(pilot, app, "2 diver")
        await press(pilot, "h")
        assert said(app) == "on the shelf: tackle disc"
        await press(pilot, "a")
        assert isinstance(app.screen, Pick)
        assert app.screen._choices[0] == "P HIGH"  # one's own before the shipped ones
