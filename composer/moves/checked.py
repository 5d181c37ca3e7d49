"""Whether a move read from a file can be performed at all, by anybody."""

from composer.motion.body import Body, Prop
from composer.motion.continuity import check_closed
from composer.moves.model import Move, OneHandMove
from composer.moves.perform import Style, perform
from composer.moves.reach import reach_m
from composer.moves.recipe import build

_BODIES = (
    (Body(), Prop()),
    (Body(arm_m=0.5), Prop()),
    (Body(), Prop(length_m=0.4)),
    (Body(shoulder_breadth_m=0.3), Prop()),
)
"""A gap at a joint is a sum of tethers, arms, shoulders and metres: none for these, none at all."""

REACH_SLACK_M = 0.02
"""ANSUR II's own spread about a ratio is of this size; reach is not known closer."""


def move_fault(move: Move) -> str | None:
    """What is wrong with a move, in one line, or None: gaps, reach, relation, cycle."""
    try:
        if isinstance(move, OneHandMove):
            for body, prop in _BODIES:
                check_closed(build(move.recipe, body, prop))
        body, prop = _BODIES[0]
        performance = perform(move, Style(), body, (prop, prop))
    except ValueError as error:
        return str(error)
    if isinstance(move, OneHandMove) and not performance.downbeats_per_cycle and move.beats is None:
        return "the head never passes straight down, so the move must say how many beats it lasts"
    beyond_m = reach_m(performance, body) - body.arm_m
    if beyond_m > REACH_SLACK_M:
        return f"a hand would go {beyond_m:.2f} m beyond the reach of an arm of {body.arm_m:.2f} m"
    return None
