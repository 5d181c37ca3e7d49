"""A hybrid as the row of a file of moves that reads back as the same hybrid."""

from fractions import Fraction

from composer.moves.lengths import MIDDLE, Length, Place
from composer.moves.model import Hybrid, Use


def hybrid_text(hybrid: Hybrid) -> str:
    """One ``[[hybrid]]`` table of TOML."""
    lines = [
        "[[hybrid]]",
        f"name = {_quoted(hybrid.name)}",
        f"words = {_quoted(hybrid.words)}",
        f"plane = {_quoted(hybrid.plane.value)}",
        f"right = {_use(hybrid.right)}",
        f"left = {_use(hybrid.left)}",
        f"hands = {_quoted(str(hybrid.hands))}",
    ]
    if hybrid.left_entry != 1:
        lines.append(f"left_entry = {hybrid.left_entry}")
    if hybrid.cycles is not None:
        lines.append(f"cycles = [{hybrid.cycles[0]}, {hybrid.cycles[1]}]")
    if hybrid.tracing is not None:
        lines.append(f"tracing = {_place(hybrid.tracing)}")
    for name, texts in (("also", hybrid.also), ("cautions", hybrid.cautions)):
        if texts:
            lines.append(f"{name} = [{', '.join(_quoted(text) for text in texts)}]")
    return "\n".join(lines) + "\n"


def length_text(length: Length) -> str:
    """As :func:`composer.moves.lengths.length_from_text` reads it."""
    parts = [
        (length.tether, "tether"),
        (length.arm, "arm"),
        (length.shoulders, "shoulders"),
        (length.metres, "m"),
    ]
    terms = [
        f"{'-' if value < 0 else '+'} {abs(value):.12g} {unit}" for value, unit in parts if value
    ]
    text = " ".join(terms).removeprefix("+ ")
    return text or "0"


def _use(use: Use) -> str:
    parts = [f"move = {_quoted(use.move.name)}"]
    if use.orientation_turns != Fraction(0):
        parts.append(f"orientation = {_quoted(str(use.orientation_turns))}")
    if use.mirrored:
        parts.append("mirrored = true")
    if use.centre != MIDDLE:
        parts.append(f"centre = {_place(use.centre)}")
    return "{ " + ", ".join(parts) + " }"


def _place(place: Place) -> str:
    return f"[{_quoted(length_text(place.across))}, {_quoted(length_text(place.up))}]"


def _quoted(text: str) -> str:
    """A basic string of TOML 1.0."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return (
        '"' + "".join(c if c >= " " and c != "\x7f" else f"\\u{ord(c):04x}" for c in escaped) + '"'
    )
