"""A performer's measures as they are typed: each with its words and what may be typed for it."""

import datetime
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import get_args

from composer.errors import ComposerError
from composer.motion.body import ARM_TO_STATURE, Prop, PropKind
from composer.score.routine import Performer
from tui.views.paper import Line, Piece


@dataclass(frozen=True, slots=True)
class Who:
    """What is asked for: the performer, and the day of the performance."""

    performer: Performer
    date: datetime.date | None = None


@dataclass(frozen=True, slots=True)
class Measure:
    """One of them: how it is called, how it stands, what a text makes of it."""

    name: str
    question: str
    words: Callable[[Who], str]
    typed: Callable[[Who, str], Who]


def metres_typed(text: str, low: float, high: float) -> float:
    """A length in metres from ``"0.52"`` or ``"52 cm"``.

    Raises
    ------
    ComposerError
        If the text is none, or out of bounds.
    """
    words = text.strip().lower().replace(",", ".")
    in_cm = words.endswith("cm")
    try:
        metres = float(words.removesuffix("cm").removesuffix("m")) / (100 if in_cm else 1)
    except ValueError:
        metres = -1.0
    if not low <= metres <= high:
        raise ComposerError(
            f'{low:g} to {high:g} m, such as {low + 0.1:.2f} or 52 cm, not "{text}"'
        )
    return metres


def _named(who: Who, text: str) -> Who:
    if not text.strip():
        raise ComposerError("a performer needs a name")
    return replace(who, performer=replace(who.performer, name=text.strip()))


def _stature(who: Who, text: str) -> Who:
    """Measures that were taken from the stature follow it."""
    old, stature_m = who.performer.body, metres_typed(text, 0.6, 2.5)
    from_stature = abs(old.arm_m - ARM_TO_STATURE * old.stature_m) < 1e-6
    arm_m = 0.0 if from_stature else old.arm_m
    body = replace(
        old, stature_m=stature_m, arm_m=arm_m, shoulder_height_m=0.0, shoulder_breadth_m=0.0
    )
    return replace(who, performer=replace(who.performer, body=body))


def _arm(who: Who, text: str) -> Who:
    body = replace(who.performer.body, arm_m=metres_typed(text, 0.2, 1.2))
    return replace(who, performer=replace(who.performer, body=body))


def _with_props(who: Who, change: Callable[[Prop], Prop]) -> Who:
    right, left = (change(prop) for prop in who.performer.props)
    return replace(who, performer=replace(who.performer, right_prop=right, left_prop=left))


def _tether(who: Who, text: str) -> Who:
    length_m = metres_typed(text, 0.05, 3.0)
    return _with_props(who, lambda prop: replace(prop, length_m=length_m))


def _kind(who: Who, text: str) -> Who:
    kinds: dict[str, PropKind] = {kind: kind for kind in get_args(PropKind)}
    kind = kinds.get(text.strip().lower())
    if kind is None:
        raise ComposerError(f'props are {", ".join(kinds)}, not "{text}"')
    return _with_props(who, lambda prop: replace(prop, kind=kind))


def _date(who: Who, text: str) -> Who:
    if not text.strip():
        return replace(who, date=None)
    try:
        return replace(who, date=datetime.date.fromisoformat(text.strip()))
    except ValueError:
        raise ComposerError(f'a day is written like 2027-05-30, not "{text}"') from None


def _tethers(who: Who) -> str:
    right, left = who.performer.props
    if right.length_m == left.length_m:
        return f"{right.length_m:.2f} m"
    return f"{right.length_m:.2f} m right, {left.length_m:.2f} m left"


MEASURES: tuple[Measure, ...] = (
    Measure("name", "What you are called", lambda who: who.performer.name, _named),
    Measure(
        "stature",
        "How tall you are, such as 1.68",
        lambda who: f"{who.performer.body.stature_m:.2f} m",
        _stature,
    ),
    Measure(
        "arm",
        "From the shoulder to the middle of the grip, such as 0.64",
        lambda who: f"{who.performer.body.arm_m:.2f} m from shoulder to grip",
        _arm,
    ),
    Measure(
        "props",
        f"What you hold: {', '.join(get_args(PropKind))}",
        lambda who: who.performer.right_prop.kind,
        _kind,
    ),
    Measure("tether", "From the hand to the head, such as 0.52 or 52 cm", _tethers, _tether),
    Measure(
        "stage date",
        "Day of the performance, such as 2027-05-30; empty for none",
        lambda who: who.date.isoformat() if who.date else "not told",
        _date,
    ),
)


def measure_row(measure: Measure, who: Who) -> Line:
    return (Piece(f"{measure.name:<12}", "quiet"), Piece(measure.words(who), "strong"))
