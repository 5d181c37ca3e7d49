"""What a proposal costs, part by part, on one scale: 1 is a note, 4 a warning, 9 an error.

The cost of a transition is the sum of its squared strains (:class:`composer.check.change.Change`);
everything else is set against that. The sizes are ours, from no published source.
"""

from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from composer.check.demands import demands
from composer.check.fit import Fit
from composer.check.fit_words import DEMAND_RULES
from composer.check.limits import limits_for
from composer.check.performed import Performed
from composer.motion.body import Body, Prop
from composer.moves.difficulty import difficulty
from composer.moves.model import Move
from composer.moves.perform import Style, WhichHand, perform
from composer.score.repertoire import Firmness, Repertoire
from composer.score.routine import Performer
from composer.score.same import Same
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid


class Costs(NamedTuple):
    """Less is better; 0 is nothing to say against it."""

    smoothness: float = 0.0
    closure: float = 0.0
    phrase: float = 0.0
    comfort: float = 0.0
    difficulty: float = 0.0
    variety: float = 0.0
    repertoire: float = 0.0

    @property
    def total(self) -> float:
        return sum(self)


# ------------------------------------------------------------------ closing


class Closing(StrEnum):
    """How a move stands at the end of its stretch."""

    CLOSES = "closes"
    TURNED = "closes turned"
    MIRRORED = "closes mirrored"
    OPEN = "stays open"


CLOSING_COST = {
    Closing.CLOSES: 0.0,
    Closing.TURNED: 1.0,
    Closing.MIRRORED: 1.0,
    Closing.OPEN: 6.0,
}


def closing_of(fitted: Fit) -> Closing:
    if fitted.closes:
        return Closing.CLOSES
    if fitted.closes_turned:
        return Closing.TURNED
    return Closing.MIRRORED if fitted.closes_mirrored else Closing.OPEN


# ------------------------------------------------------------------ phrases and bars


class Ending(StrEnum):
    """Where in the music a stretch ends."""

    PHRASE = "with the phrase"
    BAR = "with a bar"
    INSIDE = "inside a bar"
    OVER = "runs over a phrase"
    BEYOND = "runs past the music"


ENDING_COST = {
    Ending.PHRASE: 0.0,
    Ending.BAR: 0.3,
    Ending.INSIDE: 1.5,
    Ending.OVER: 4.0,
    Ending.BEYOND: 9.0,
}


def ending_of(span: BeatSpan, grid: MusicGrid) -> Ending:
    starts = [phrase.start_beat for phrase in grid.phrases]
    if span.end_beat > grid.end_beat:
        return Ending.BEYOND
    if any(span.start_beat < start < span.end_beat for start in starts):
        return Ending.OVER
    if span.end_beat in starts or span.end_beat == grid.end_beat:
        return Ending.PHRASE
    return Ending.BAR if grid.meter_map.is_downbeat(span.end_beat) else Ending.INSIDE


# ------------------------------------------------------------------ arms, props, skill


class Comfort(NamedTuple):
    """What a move asks of arm and prop at a tempo: its hardest figure against the limits."""

    strain: float
    rule: str
    """The finding's name; empty while everything stays inside the limits."""

    @property
    def cost(self) -> float:
        return self.strain**2 if self.rule else 0.0

    @property
    def is_comfortable(self) -> bool:
        """Whether no figure reaches a warning."""
        return self.strain < 2 or not self.rule


def comfort_of(
    done: Performed, performer: Performer, rate: Fraction, beat_lengths_s: tuple[float, float]
) -> Comfort:
    """How comfortable a move is at a rate, where beats last from so long to so long, in seconds."""
    cycle = float(done.performance.cycle_beats(rate))
    shortest_s, longest_s = beat_lengths_s
    return _comfort(done, Same(performer), cycle * shortest_s, cycle * longest_s)


@lru_cache(maxsize=20_000)
def _comfort(
    done: Performed, performer: Same[Performer], fast_cycle_s: float, slow_cycle_s: float
) -> Comfort:
    who = performer.value
    limits = limits_for(who)
    hardest = Comfort(0.0, "")
    for demand in demands(done, who.body, who.props, fast_cycle_s, slow_cycle_s).values():
        for figure in demand.figures():
            limit = limits[figure.limit]
            strain = limit.strain(figure.measured)
            if limit.level(figure.measured) is not None and strain > hardest.strain:
                hardest = Comfort(strain, DEMAND_RULES[figure.limit][0])
    return hardest


POINT_COST = 0.1
"""Of a point of difficulty: between two moves that flow alike, the easier one."""


@lru_cache(maxsize=5_000)
def _points(move: Same[Move], hand: WhichHand) -> float:
    done = perform(move.value, Style(hand=hand), Body(), (Prop(), Prop()))
    return difficulty(done).points


def points_of(done: Performed, hand: WhichHand) -> float:
    """Difficulty of the move, for any body, with both hands or one."""
    return _points(Same(done.move), hand)


FIRMNESS_COST: dict[Firmness | None, float] = {
    Firmness.READY: 0.0,
    Firmness.RELIABLE: 0.3,
    Firmness.LEARNING: 1.5,
    None: 3.0,
}
"""None: not in the repertoire."""


def repertoire_cost(repertoire: Repertoire | None, name: str) -> float:
    """How far a move is from being had; 0 where no repertoire is told."""
    return 0.0 if repertoire is None else FIRMNESS_COST[repertoire.of_move(name)]


PRACTISED_GAIN = 0.5
"""A way into a move that is ready for the stage is worth half a note (ours)."""


def practised_cost(repertoire: Repertoire | None, came_from: str, name: str) -> float:
    """What it costs, or gains, that the way from one move into another was practised."""
    told = None if repertoire is None else repertoire.of_transition(came_from, name)
    return 0.0 if told is None else FIRMNESS_COST[told] - PRACTISED_GAIN
