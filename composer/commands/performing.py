"""Options that several commands share: whose arms, which props, which tempo, which moves."""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar, get_args

import click

from composer.commands.numbers import Number
from composer.motion.body import MEDIAN_STATURE_M, Body, Prop, PropKind
from composer.moves.model import Move, OneHandMove, Relation, relation_from_text
from composer.moves.perform import Style, WhichHand
from composer.timing.beats import exact_beats

Command = TypeVar("Command", bound=Callable[..., Any])


def _exact(_context: click.Context, _option: click.Parameter, text: str | None) -> Fraction | None:
    try:
        return exact_beats(text) if text is not None else None
    except ValueError as error:
        raise click.BadParameter(str(error)) from None


def _rate(context: click.Context, option: click.Parameter, text: str) -> Fraction:
    rate = _exact(context, option, text)
    if rate is None or not Fraction(1, 16) <= rate <= 16:
        raise click.BadParameter(f"a rate lies from 1/16 to 16 downbeats a beat, not {text}")
    return rate


def one_relation(
    _context: click.Context, _option: click.Parameter, text: str | None
) -> Relation | None:
    """A relation from the text of an option."""
    try:
        return relation_from_text(text) if text is not None else None
    except ValueError as error:
        raise click.BadParameter(str(error)) from None


def body_options(command: Command) -> Command:
    """--stature, --arm, --tether and --prop."""
    for option in (
        click.option(
            "--prop",
            type=click.Choice(get_args(PropKind)),
            default="poi",
            show_default=True,
            help="Only poi can go slack.",
        ),
        click.option(
            "--tether",
            type=Number(0.05, 3.0),
            default=0.55,
            show_default=True,
            help="Hand to head, metres.",
        ),
        click.option("--arm", type=Number(0.2, 1.2), help="Shoulder to grip, metres."),
        click.option(
            "--stature",
            type=Number(0.6, 2.5),
            default=MEDIAN_STATURE_M,
            show_default=True,
            help="How tall the performer is, metres.",
        ),
    ):
        command = option(command)
    return command


def tempo_options(command: Command) -> Command:
    """--bpm and --rate."""
    for option in (
        click.option(
            "--rate",
            metavar="RATE",
            default="1",
            show_default=True,
            callback=_rate,
            help="Downbeats a beat of the busier hand, such as 2/3.",
        ),
        click.option(
            "--bpm",
            type=Number(20, 400),
            default=120.0,
            show_default=True,
            help="Beats a minute.",
        ),
    ):
        command = option(command)
    return command


def moves_option(command: Command) -> Command:
    """--moves FILE: a performer's own moves beside the shipped ones."""
    return click.option(
        "--moves",
        "files",
        type=click.Path(path_type=Path),
        multiple=True,
        help="A file of your own moves; repeat for more.",
    )(command)


def way_options(command: Command) -> Command:
    """--hand, --relation and --mirrored: in which of its ways a move is done."""
    for option in (
        click.option("--mirrored", is_flag=True, help="The mirror image."),
        click.option(
            "--relation",
            metavar="RELATION",
            callback=one_relation,
            help='Of the left hand against the right, such as "split same".',
        ),
        click.option(
            "--hand",
            type=click.Choice(["both", "right", "left"]),
            help="By default both for a hybrid, the right for a one-hand move.",
        ),
    ):
        command = option(command)
    return command


def style_of(
    move: Move, hand: WhichHand | None, relation: Relation | None, *, mirrored: bool
) -> Style:
    """The way asked for; a one-hand move is the right hand's unless a relation is named."""
    usual: WhichHand = "right" if isinstance(move, OneHandMove) and relation is None else "both"
    return Style(relation=relation, mirrored=mirrored, hand=hand or usual)


def body_and_props(
    stature: float, arm: float | None, tether: float, prop: PropKind
) -> tuple[Body, tuple[Prop, Prop]]:
    """The performer and her two props from the options' values."""
    held = Prop(kind=prop, length_m=tether)
    return Body(stature_m=stature, arm_m=arm or 0.0), (held, held)
