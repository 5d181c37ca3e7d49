"""Light, dark, sixteen colours and plain consoles: readable, kept, and nothing lost."""

import ast
import unicodedata
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.theme import Theme

from composer.errors import ComposerError
from composer.files.screen_file import load_light, save_light
from tui.app import PetalbarApp
from tui.appearance import DARK, LIGHT, THEMES, PlainSigns, terminal_is_light, theme_name
from tui.widgets.roles import LOOKS, look

ROOT = Path(__file__).parents[2]
TEXT_CONTRAST, RULE_CONTRAST = 4.5, 3.0
"""WCAG 2.2, SC 1.4.3 for text and SC 1.4.11 for what is not text."""
GROUNDS = ("background", "surface", "panel")

Opened = Callable[..., PetalbarApp]


def luminance(colour: Color) -> float:
    """Relative luminance as WCAG 2.2 defines it."""

    def linear(value: int) -> float:
        share = value / 255
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    return 0.2126 * linear(colour.r) + 0.7152 * linear(colour.g) + 0.0722 * linear(colour.b)


def contrast(one: Color, other: Color) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_measure_of_contrast_is_that_of_the_guideline() -> None:
    """Black on white is 21:1; #767676 is the lightest grey that reaches 4.5:1 on white."""
    white = Color.parse("#ffffff")
    assert contrast(Color.parse("#000000"), white) == pytest.approx(21.0)
    assert contrast(Color.parse("#767676"), white) > 4.5 > contrast(Color.parse("#777777"), white)


@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=lambda theme: theme.name)
@pytest.mark.parametrize("ground", GROUNDS)
def test_text_of_every_role_stands_out_from_every_ground(theme: Theme, ground: str) -> None:
    variables = {**theme.to_color_system().generate(), **theme.variables}
    back = Color.parse(variables[ground])
    plain = Style(color=Color.parse(variables["foreground"]).rich_color, bgcolor=back.rich_color)
    for role in LOOKS:
        style = look(role, variables, plain)
        assert style.color is not None
        wanted = RULE_CONTRAST if "rule" in role.split() else TEXT_CONTRAST
        assert contrast(Color.from_rich_color(style.color), back) >= wanted, role


@pytest.mark.parametrize(
    ("says", "light"), [("0;15", True), ("0;default;15", True), ("15;0", False), (None, False)]
)
def test_what_a_terminal_says_of_its_ground_is_heeded(says: str | None, light: bool) -> None:
    """COLORFGBG as rxvt and Konsole set it: foreground, then background, by number of colour."""
    assert terminal_is_light({} if says is None else {"COLORFGBG": says}) is light
    assert theme_name(True, few_colours=False) == LIGHT.name


async def test_light_is_turned_on_with_one_key_and_kept(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    app = opened(piece.routine_of())
    async with app.run_test(size=(80, 24)) as pilot:
        assert not app.current_theme.name.endswith("light")
        await pilot.press("ctrl+l")
        assert app.current_theme.name.endswith("light")
        await pilot.press("q")
    assert load_light(tmp_path / "config" / "petalbar" / "screen.toml") is True
    again = opened(piece.routine_of())
    async with again.run_test(size=(80, 24)):
        assert again.current_theme.name.endswith("light")


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
async def test_every_theme_draws_the_sheet_with_its_panes(
    piece: SimpleNamespace, opened: Opened, theme: Theme
) -> None:
    """A terminal's own colours cannot be mixed: every role must do without."""
    app = opened(piece.routine_of(piece.placed(0, 7, "triquetra")))
    async with app.run_test(size=(200, 50)) as pilot:
        app.theme = theme.name
        await pilot.pause()
        strips = app.screen._compositor.render_strips()
        text = "\n".join("".join(segment.text for segment in strip) for strip in strips)
        assert "triquetra" in text
        if theme.ansi:
            colours = {one.style.color for strip in strips for one in strip if one.style}
            assert not any(colour and colour.is_default is False and colour.triplet
                           for colour in colours)  # fmt: skip


def test_a_wrong_screen_file_is_one_line(tmp_path: Path) -> None:
    path = tmp_path / "folder" / "screen.toml"
    assert load_light(path) is None
    save_light(False, path)
    assert load_light(path) is False
    path.write_text('light = "yes"\n')
    with pytest.raises(ComposerError, match="mend or delete"):
        load_light(path)


# ------------------------------------------------------------------ plain signs


def signs_drawn() -> Iterator[str]:
    """Every sign in the texts that screens draw; letters of any script are no signs."""
    for path in [*ROOT.glob("tui/**/*.py"), *ROOT.glob("composer/export/*_cells.py")]:
        if path.name == "appearance.py":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                yield from (
                    sign
                    for sign in node.value
                    if not sign.isascii() and not unicodedata.category(sign).startswith("L")
                )


def test_every_sign_that_is_drawn_has_a_plain_one() -> None:
    left = {
        sign
        for sign in signs_drawn()
        if not PlainSigns().apply([Segment(sign)], Color(0, 0, 0))[0].text.isascii()
    }
    assert left == set()


def test_dots_become_marks_by_where_they_stand() -> None:
    """Unicode numbers the dots of a braille cell 1 2 3 7 down the left, 4 5 6 8 down the right."""
    (segment,) = PlainSigns().apply([Segment("⠀⠁⠄⠇ ▲é")], Color(0, 0, 0))
    assert segment.text == " '.: !é"


async def test_a_plain_console_gets_plain_signs(
    piece: SimpleNamespace, opened: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TERM", "linux")
    app = opened(piece.routine_of(piece.placed(0, 7, "triquetra")))
    async with app.run_test(size=(200, 50)) as pilot:
        await pilot.pause(0.3)
        strips = app.screen._compositor.render_strips()
        assert all("".join(segment.text for segment in strip).isascii() for strip in strips)


async def test_the_key_for_light_and_dark_can_be_another(
    piece: SimpleNamespace, opened: Opened, tmp_path: Path
) -> None:
    folder = tmp_path / "config" / "petalbar"
    folder.mkdir(parents=True)
    (folder / "keys.toml").write_text('light = "f9"\n')
    app = opened(piece.routine_of())
    async with app.run_test(size=(80, 24)) as pilot:
        before = app.current_theme.name
        await pilot.press("ctrl+l")
        assert app.current_theme.name == before
        await pilot.press("f9")
        assert app.current_theme.name != before
