"""Theme files: what they must give the eye, and what happens when one is wrong.

Contrast is the ratio of relative luminances of WCAG 2.2 (W3C), success criterion 1.4.3's definition.
"""

from __future__ import annotations

import re
from pathlib import Path

import fake_picture
import pytest
from fake_runner import FakeRunner
from painted import look, settled
from rich.style import Style
from textual.app import App
from textual.theme import BUILTIN_THEMES

from sternwatch import places
from sternwatch.config import Preferences
from sternwatch.console.app import SternwatchApp
from sternwatch.console.paint import themes
from sternwatch.console.paint.look import INKS, Look

SHIPPED = ("day", "dusk", "night", "plain")
GROUNDS = ("", "zone", "bed", "depth a", "depth b", "depth c", "depth d")
# Night: the most that may be emitted in the short wavelengths, of 255.
MOST_BLUE = 24
MOST_GREEN = 140


def colours(style: Style) -> tuple[tuple[int, int, int], tuple[int, int, int]]:
    """Foreground and background as they reach the eye."""
    assert style.color is not None
    assert style.bgcolor is not None
    front, back = style.color.get_truecolor(), style.bgcolor.get_truecolor()
    return (back, front) if style.reverse else (front, back)  # type: ignore[return-value]


def luminance(colour: tuple[int, int, int]) -> float:
    parts = [c / 255.0 for c in colour]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast_of(one: tuple[int, int, int], other: tuple[int, int, int]) -> float:
    lights = sorted((luminance(one), luminance(other)), reverse=True)
    return (lights[0] + 0.05) / (lights[1] + 0.05)


def contrast(style: Style) -> float:
    return contrast_of(*colours(style))


def test_the_measure_itself() -> None:
    assert contrast(Style.parse("#ffffff on #000000")) == pytest.approx(21.0)
    assert contrast(Style.parse("#777777 on #ffffff")) == pytest.approx(4.48, abs=0.01)  # W3C's own example


def test_four_themes_are_shipped_in_walking_order_without_notices() -> None:
    loaded = themes.load([places.shipped("themes")])
    assert loaded.names == SHIPPED
    assert loaded.notices == ()


@pytest.mark.parametrize("name", SHIPPED)
def test_every_ink_is_given(name: str) -> None:
    assert set(look(name).inks) == set(INKS)


NUMBERS = ("number", "text", "state", "chosen", "name", "lure", "lure chosen", "lure fight", "fight", "session")
BANDS = ("caution band", "warning band", "alarm band")


@pytest.mark.parametrize("ink", [*NUMBERS, *BANDS])
@pytest.mark.parametrize("ground", GROUNDS)
def test_day_numbers_stand_seven_to_one(ink: str, ground: str) -> None:
    assert contrast(look("day").style(ink, ground)) >= 7.0


@pytest.mark.parametrize("ink", ["caution", "warning", "alarm", "label", "key", "act", "old", "unknown"])
def test_day_words_stand_seven_to_one(ink: str) -> None:
    assert contrast(look("day").style(ink)) >= 7.0


@pytest.mark.parametrize("ink", [*NUMBERS, *BANDS])
@pytest.mark.parametrize("ground", GROUNDS)
def test_dusk_numbers_stand_four_and_a_half_to_one(ink: str, ground: str) -> None:
    assert contrast(look("dusk").style(ink, ground)) >= 4.5


@pytest.mark.parametrize("ink", ["caution", "warning", "alarm", "label", "key", "act", "old", "unknown"])
def test_dusk_words_stand_four_and_a_half_to_one(ink: str) -> None:
    assert contrast(look("dusk").style(ink)) >= 4.5


# Inks that draw and never write; the words beside a line name it. Success criterion 1.4.11 asks for three to one.
DRAWN = ("water", "boat", "bottom", "line a", "line b", "line c", "line d", "line chosen")


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("ground", GROUNDS)
def test_every_word_can_be_read_on_every_ground_and_every_line_seen(name: str, ground: str) -> None:
    """Any ink may come to stand on any ground of a view: a scale's numbers on the zone, a depth on the bed."""
    ratios = {ink: contrast(look(name).style(ink, ground)) for ink in INKS if ink not in (*GROUNDS, "rule")}
    hard_to_read = {ink: ratio for ink, ratio in ratios.items() if ratio < (3.0 if ink in DRAWN else 4.5)}
    assert hard_to_read == {}


def test_dusk_is_dim_and_night_is_dark() -> None:
    assert luminance(colours(look("dusk").style("text"))[1]) < 0.02
    assert max(luminance(colours(look("dusk").style(ink))[0]) for ink in ("text", "number")) < 0.7
    assert colours(look("night").style("text"))[1] == (0, 0, 0)
    assert luminance(colours(look("day").style("text"))[1]) > 0.9


def warm(colour: tuple[int, int, int]) -> bool:
    red, green, blue = colour
    return blue <= MOST_BLUE and green <= MOST_GREEN and green <= 0.62 * red + 1


@pytest.mark.parametrize("ink", INKS)
def test_night_inks_emit_no_white_and_next_to_no_blue(ink: str) -> None:
    for ground in GROUNDS:
        for colour in colours(look("night").style(ink, ground)):
            assert warm(colour), f"{ink}: {colour}"


def emitted(app: App[None]) -> set[tuple[int, int, int]]:
    """Every colour on the screen as shown, with what Textual's own widgets mix: cells' fronts and backgrounds."""
    svg = app.export_screenshot()
    found = re.findall(r'<rect fill="#(\w{6})"[^>]*crispEdges', svg)
    for name, colour in re.findall(r"-(r\d+) \{ fill: #(\w{6})", svg):
        # Blanks and line ends have a style too, but nothing of it is seen.
        if any(text.replace("&#160;", "").strip() for text in re.findall(rf'-{name}"[^>]*>([^<]*)<', svg)):
            found.append(colour)
    return {(int(c[:2], 16), int(c[2:4], 16), int(c[4:], 16)) for c in found}


@pytest.mark.parametrize("keys", [(), ("question_mark",), ("v",), ("ctrl+p",), ("enter",), ("6", "w")])
async def test_no_screen_at_night_emits_white_or_blue(
    keys: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("CONFIG", "DATA"):
        monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(tmp_path))
    picture = fake_picture.troubled()
    app = SternwatchApp(FakeRunner(picture.session, picture), Preferences(theme="night"))
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause(0.3)
        for key in keys:
            await pilot.press(key)
        await pilot.pause(0.2)
        shown = emitted(app)
    assert len(shown) > 5
    assert [colour for colour in shown if not warm(colour)] == []


@pytest.mark.parametrize("name", SHIPPED)
def test_red_is_for_alarms_alone(name: str) -> None:
    """At night everything is warm, so there the alarm's red must be the only one without green."""

    def red(colour: tuple[int, int, int]) -> bool:
        r, g, b = colour
        return r > 120 and g < 0.38 * r and b < 0.45 * r

    reds = {ink for ink in INKS if any(red(c) for c in colours(look(name).style(ink)))}
    if name == "night":
        reds = {ink for ink in INKS if any(c[0] > 120 and c[1] < 0.15 * c[0] for c in colours(look(name).style(ink)))}
    assert reds <= {"alarm", "alarm band"}


def test_plain_needs_no_colour() -> None:
    for ink in INKS:
        for colour in colours(look("plain").style(ink)):
            assert len(set(colour)) == 1, f"{ink} is not grey"
    assert look("plain").style("chosen").reverse
    assert look("plain").glyphs == "plain"
    assert {look(name).glyphs for name in ("day", "dusk", "night")} == {"braille"}


# -- files ---------------------------------------------------------------------------------------------------


GOOD = (places.shipped("themes") / "dusk.toml").read_text(encoding="utf-8")


def own(folder: Path, name: str, text: str) -> themes.Loaded:
    (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return themes.load([places.shipped("themes"), folder])


def test_the_users_own_theme_joins_at_the_end(tmp_path: Path) -> None:
    loaded = own(tmp_path, "harbour", GOOD.replace('title = "Dusk"', 'title = "Harbour"'))
    assert loaded.names == (*SHIPPED, "harbour")
    assert loaded.themes[-1].look.title == "Harbour"


def test_the_users_own_file_takes_the_place_of_a_shipped_one(tmp_path: Path) -> None:
    loaded = own(tmp_path, "day", GOOD.replace('ink = "#c9c2ae"', 'ink = "#123456"'))
    day = next(theme for theme in loaded.themes if theme.name == "day")
    assert day.look.style("text").color == Style.parse("#123456").color
    assert loaded.names == SHIPPED


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("dark = true", "dark ="), "cannot be read"),
        (("#c9c2ae", "c9c2ae"), 'paint.ink is "c9c2ae"; a colour is written "#rrggbb"'),
        (('number = "bold lamp"', 'numbr = "bold lamp"'), 'no ink "numbr"; did you mean "number"?'),
        (('number = "bold lamp"', 'number = "bold lmap"'), 'did you mean "lamp"?'),
        (('text = "ink on paper"', 'text = "ink"'), "ink.text must give both colours"),
        (('glyphs = "braille"', 'glyphs = "dots"'), "glyphs"),
        (("[screen]", '[screen]\nsurfac = "paper"'), "screen.surfac"),
        (('warning = "amber"\nalarm', "alarm"), "screen.warning: field required"),
    ],
)
def test_a_wrong_file_is_left_out_with_a_notice_that_names_it(
    tmp_path: Path, change: tuple[str, str], says: str
) -> None:
    assert change[0] in GOOD
    loaded = own(tmp_path, "mine", GOOD.replace(*change))
    assert loaded.names == SHIPPED
    (notice,) = loaded.notices
    assert notice.startswith("Theme file mine.toml")
    assert says in notice
    assert notice.endswith("It is left out.")


def test_a_wrong_file_in_place_of_a_shipped_one_falls_back_to_it(tmp_path: Path) -> None:
    loaded = own(tmp_path, "day", "title = 3")
    assert loaded.names == SHIPPED
    assert loaded.notices[0].endswith("The shipped one is used.")


def test_without_any_theme_the_screen_still_starts(tmp_path: Path) -> None:
    loaded = themes.load([tmp_path])
    assert loaded.names == ("fallback",)
    assert "No theme file could be read" in loaded.notices[0]


def test_bytes_that_are_no_text_are_a_notice_too(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_bytes(b"\xff\xfe\x00")
    assert "cannot be read" in themes.load([places.shipped("themes"), tmp_path]).notices[0]


async def test_a_theme_of_another_kind_is_shown_plainly() -> None:
    async with settled(fake_picture.straight(), (80, 24)) as pilot:
        pilot.app.register_theme(BUILTIN_THEMES["nord"])
        pilot.app.theme = "nord"
        await pilot.pause()
        assert isinstance(pilot.app.query_one("TopStrip").look, Look)  # type: ignore[attr-defined]
        assert pilot.app.query_one("TopStrip").look.name == "fallback"  # type: ignore[attr-defined]
