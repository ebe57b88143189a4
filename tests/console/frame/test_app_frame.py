"""The console as a whole: what stands around a screen's body, its themes, cautions, keys and pages."""

import json
from dataclasses import replace

import fake_picture
import pytest
from fake_runner import FakeRunner
from textual import events
from textual.command import CommandPalette

from console.frame.test_app import console, settled, turns, words
from sternwatch import __version__
from sternwatch.cautions import ALL
from sternwatch.config import Preferences
from sternwatch.console import state
from sternwatch.console.acts import alerting
from sternwatch.console.app import SternwatchApp
from sternwatch.console.controls.controls import TRIP_ACTS
from sternwatch.console.frame.bars import KeyFooter, NoticeLines, SaidLine
from sternwatch.console.frame.notices import TRIP_START_S
from sternwatch.console.frame.overlays import Cautions, NoPicture
from sternwatch.console.helm.screen import PlanView, RodBoard
from sternwatch.console.pages.help import HelpText
from sternwatch.watch.picture.model import Session
from sternwatch.watch.sessions import prepare


@pytest.mark.parametrize("session", [Session.DEMO, Session.REPLAY, Session.PRACTICE])
async def test_the_kind_of_session_stands_in_the_frame_of_every_screen(session):
    app = console(session=session)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for key in ("v", "v", "v", "?"):
            assert words(app).splitlines()[0].count(session.value.upper()) == 2
            await pilot.press(key)
            await settled(pilot)
        assert words(app).splitlines()[0].count(session.value.upper()) == 2


async def test_a_live_session_has_no_such_word():
    app = console(session=Session.LIVE)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        first = words(app).splitlines()[0]
        assert "sternwatch" in first
        assert not any(word.value.upper() in first for word in (Session.DEMO, Session.REPLAY, Session.PRACTICE))


async def test_themes_are_walked_and_the_last_one_is_the_first_painted(own_folders):
    app = console()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert app.theme == "dusk"
        await pilot.press("n")
        await settled(pilot)
        last = app.theme
        assert last != "dusk"
    assert json.loads((own_folders / "data" / "state.json").read_text())["theme"] == last
    again = SternwatchApp(FakeRunner(), Preferences())
    assert again.theme == last


async def test_no_ansi_theme_and_none_of_the_librarys_is_left():
    app = console()
    assert set(app.available_themes) == set(app.loaded_themes.names)
    assert not any(name.startswith("ansi") for name in app.available_themes)


async def test_a_theme_that_does_not_exist_is_said():
    app = console(theme="noon")
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        assert "no theme 'noon'" in words(app)


async def test_preparing_is_said_before_there_is_a_picture():
    app = console(session=Session.LIVE)
    app.runner.first = None
    app.runner.preparing = "Preparing the solver, once: about a minute"
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "Preparing the solver" in words(app)
        assert "Meanwhile hits are kept" in words(app)
        assert app.screen.query_one(NoPicture).size.height >= 15
        await pilot.press("3", "space", "v", "?")  # no key fails while there is nothing to show
        await settled(pilot)
        assert "Preparing the solver" not in words(app), "help is help"
        await pilot.press("escape")
        assert app.runner.did()[0] == ("hit", "3"), "kept though nobody knows the rods yet"
        for busy in ("", f"{prepare.REST} 70 %"):
            app.runner.preparing = busy
            await settled(pilot)
            assert "Computing the first depths." in words(app)
        app.runner.show(fake_picture.straight())
        await settled(pilot)
        assert "Preparing" not in words(app)
        assert not app.screen.query_one(NoPicture).display


async def test_the_cautions_are_read_once_and_are_not_in_the_way():
    app = console(read=False)
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        assert app.screen.query_one(Cautions).display
        await pilot.press("3")
        assert app.runner.did() == [("hit", "3")]
        for number, caution in enumerate(ALL):
            shown = app.screen.query_one(Cautions)
            assert " ".join(shown.lines(120, 4, 0.0)).endswith(caution)
            assert app.helm_screen.query_one(PlanView).region.bottom <= shown.region.y  # no drawing is covered
            assert f"READ ONCE, {number + 1} of {len(ALL)}" in words(app)
            assert state.load().cautions_read != __version__
            await pilot.press("escape")
            await settled(pilot)
        assert not app.screen.query_one(Cautions).display
        assert app.controls.typing is None
    assert state.load().cautions_read == __version__


async def test_a_length_is_typed_while_cautions_are_still_to_be_read():
    """Enter, digits, Enter: the digits must not become hits because a caution took the Enter."""
    app = console(read=False)
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await pilot.press("left", "enter")
        assert app.controls.typing is not None
        await pilot.press("1", "5", "0", "escape")
        assert (app.runner.did(), app.cautions_read) == ([], 0)
        await pilot.press("p", "right", "escape")  # a plan is dropped first
        assert app.cautions_read == 0
        await pilot.press("v", "escape")  # and a view left
        assert app.cautions_read == 0
        await pilot.press("escape")
        assert app.cautions_read == 1


async def test_fish_on_brings_its_cautions():
    app = console("troubled")
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        seen = await turns(pilot)
        assert "FISH ON. Neutral before clearing a line near the propeller." in seen
        assert "FISH ON. Wire and cable under load cut: gloves, cutters at hand, no wraps round a hand." in seen


async def test_quitting_takes_the_key_twice_and_no_letter_leaves():
    app = console()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("q", "ctrl+q", "x", "ctrl+q")
        await settled(pilot)
        assert app.is_running
        assert "Ctrl+Q once more" in words(app)
        await pilot.press("ctrl+q")
        await settled(pilot)
    assert app.runner.stopped


async def test_doubtful_entries_stand_in_one_line():
    app = console(session=Session.LIVE, step=0.1)
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        app.started_s -= TRIP_START_S  # no other line takes turns with it, and this is its first
        await pilot.press("1", "2", "3")
        await settled(pilot)
        kinds = [a.kind for a in app.runner.actions]
        assert kinds.count("hit") == 3
        assert "DOUBTFUL. Not counted: 1 P BOARD, 2 P HIGH, 3 P LOW." in words(app)


async def test_every_act_is_in_the_palette():
    app = console()
    async with app.run_test(size=(200, 60)) as pilot:
        await settled(pilot)
        await pilot.press("ctrl+p")
        await settled(pilot)
        from sternwatch.console.frame.palette import FIRST, Acts
        from sternwatch.console.keys.acting import BOAT, RECORDING, Keyboard
        from sternwatch.console.keys.registry import ACTS

        entries = [act for _, act in Acts(app.helm_screen).entries()]
        wanted = [a for a in ACTS if Keyboard.HELM in a.on and (a.station is None or app.controls.rod(a.station))]
        wanted = [a for a in wanted if a.group not in (BOAT, RECORDING)]  # no practice, and no recording
        wanted = [a for a in wanted if a.id not in TRIP_ACTS]  # the demo is one trip
        assert sorted(a.id for a in entries) == sorted(a.id for a in wanted)
        assert [a.id for a in entries][: len(FIRST) - 2] == [one for one in FIRST if one not in TRIP_ACTS]
        assert all(a.station for a in entries[-8:])
        told = [hit async for hit in Acts(app.helm_screen).search("weed release")]  # words of its help alone
        assert [hit.text.split(" ·")[0] for hit in told] == ["no fish"]
        await pilot.press(*"wiping")
        await pilot.pause(0.4)
        await pilot.press("enter")
        await settled(pilot)
        assert app.lock.on


async def test_the_footer_shows_only_keys_that_exist():
    app = console(keys={"undo": "F9"})
    async with app.run_test(size=(200, 60)) as pilot:
        await settled(pilot)
        footer = app.screen.query_one(KeyFooter)._grid.text()
        assert "F9 undo" in footer
        assert "u undo" not in footer


async def test_help_lists_every_key_of_the_session():
    from sternwatch.console.keys.acting import BOAT, RECORDING, Keyboard
    from sternwatch.console.keys.registry import ACTS
    from sternwatch.console.pages.help import rows

    app = console()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("?")
        await settled(pilot)
        made = rows(app.controls, app.keymap, "helm")
        assert made[0][1] == "the ten keys to begin with"
        assert len({key for key, _, _ in made[1:11]} - {"palette", ""}) == 10
        assert made[11] == ("", "", "")
        assert all(task in words(app) for _, _, task in made[1:11])  # all ten at once, at 80×24
        told = {words for _, words, _ in made}
        offered = [a for a in ACTS if Keyboard.HELM in a.on and a.station is None and a.id not in TRIP_ACTS]
        assert {a.words for a in offered if a.group not in (BOAT, RECORDING)} <= told
        assert "helm to port" not in told
        assert "play, pause" not in told
        text = app.screen.query_one(HelpText)
        top = text.first
        await pilot.press("pagedown")
        assert text.first > top
        await pilot.press("home")
        assert text.first == 0


async def test_over_a_recording_keys_play_and_the_timeline_shows():
    app = console(session=Session.REPLAY)
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await pilot.press("space", "up", "right", "]", "3")
        await settled(pilot)
        status = app.runner.replay.status()
        assert (status.playing, status.rate, status.t_s) == (True, 2.0, 900.0)
        assert app.runner.actions == []
        assert app.controls.chosen == "3"
        assert "2×" in words(app)
        assert "0:15:00 of 1:00:00" in words(app)


async def test_pictures_replace_their_predecessors_and_are_painted_four_times_a_second_at_most():
    app = console(session=Session.LIVE)
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        painted = []
        board = app.screen.query_one(RodBoard)
        show = board.show
        board.show = lambda picture: (painted.append(picture.t_s), show(picture))
        base = fake_picture.straight(Session.LIVE)
        for number in range(400):
            app.runner.show(replace(base, t_s=base.t_s + number))
        await pilot.pause(0.6)
        assert painted[-1] == base.t_s + 399
        assert len(painted) <= 4


async def test_a_name_is_never_read_as_markup():
    app = console()
    app.runner.first = fake_picture.changed(app.runner.first, "3", name="[red]X")
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await pilot.press("3")
        await settled(pilot)
        assert "HIT  3 [red]X" in app.screen.query_one(SaidLine)._grid.text()
        await pilot.press("ctrl+p", *"red")
        await pilot.pause(0.4)
        assert "[red]X" in words(app)


async def test_a_window_made_smaller_and_larger_goes_on():
    app = console("turning")
    async with app.run_test(size=(200, 60)) as pilot:
        for size in [(80, 24), (40, 10), (20, 5), (79, 24), (80, 23), (120, 36), (99, 30), (100, 30)]:
            await pilot.resize_terminal(*size)
            await settled(pilot)
            await pilot.press("v")
            await settled(pilot)
            assert ("needs 80×24" in words(app)) == (size[0] < 80 or size[1] < 24)
        assert app.is_running


async def test_a_window_too_small_says_so_and_the_worst_alert_and_a_hit_is_a_hit():
    app = console("troubled")
    async with app.run_test(size=(60, 20)) as pilot:
        for _ in range(40):  # the first paint may take longer than everything posted
            await settled(pilot)
            if words(app).strip():
                break
        worst = alerting.standing(app.controls)[0]
        assert worst.text[:30] in words(app)
        assert "P LOW" not in words(app).replace(worst.text, "")
        await pilot.press("3")
        assert app.runner.did() == [("hit", "3")]


async def test_notices_take_turns_where_there_is_no_room_for_all():
    app = console("troubled")
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        notices = app.screen.query_one(NoticeLines)
        pages = {" ".join(n.text for n in notices.lines(80, 2, app.started_s + 6.0 * turn)) for turn in range(1, 12)}
        assert any("Neutral before clearing" in page for page in pages)
        assert any("no wraps round a hand" in page for page in pages)
        assert all(len(notices.lines(80, 2, app.started_s + 6.0 * turn)) <= 2 for turn in range(12))


@pytest.mark.parametrize("mouse", [False, True])
def test_the_mouse_is_off_unless_switched_on(monkeypatch, mouse):
    app = console(mouse=mouse)
    asked = {}
    monkeypatch.setattr(app, "run", lambda **how: asked.update(how))
    app.run_session()
    assert asked == {"mouse": mouse}


async def test_a_page_key_in_the_palette_before_its_list_is_there_ends_nothing():
    app = console()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for key in ("ctrl+p", "pageup", "pagedown", "z", "pageup"):
            app.post_message(events.Key(key, key if len(key) == 1 else None))
        await settled(pilot)
        assert isinstance(app.screen, CommandPalette)
