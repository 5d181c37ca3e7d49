"""Who is in a moving picture, what she does when, and where in the frame she stands."""

from dataclasses import dataclass
from math import ceil

from composer.export.choice import Choice, one_line
from composer.export.staging import StagedMove, staged_moves
from composer.export.trails import extent_m, trails
from composer.moves.library import Library
from composer.score.cues import Cue, cue_list
from composer.score.routine import Performer, Routine

WORD_LINES = 3
"""Lines of words under each performer: her name, the move now, what comes next."""
MOST_ABREAST = 5
MARGIN = 1.08
FLOOR_M = 0.08
"""Room under her feet."""


@dataclass(frozen=True, slots=True)
class Place:
    """A performer's part of the frame, in final pixels."""

    x: int
    y: int
    width: int
    height: int
    line: int
    """Height of a line of words."""

    @property
    def figure_height(self) -> int:
        return self.height - WORD_LINES * self.line


@dataclass(frozen=True)
class Cast:
    """One performer with all that she is drawn from."""

    person: Performer
    moves: tuple[StagedMove, ...]
    cues: tuple[Cue, ...]
    half_m: float
    """How far to either side anything of her comes."""
    above_m: float
    """How far above her shoulders; below them she stands on the floor."""

    @property
    def tall_m(self) -> float:
        return self.above_m + self.person.body.shoulder_height_m + FLOOR_M

    def now(self, beat: float) -> tuple[int, ...]:
        """Places of the moves under way: one for both hands, or one for each."""
        return tuple(
            index
            for index, move in enumerate(self.moves)
            if move.placed.span.start_beat <= beat < move.placed.span.end_beat
        )

    def upcoming(self, beat: float) -> tuple[str, int] | None:
        """What is next, how much else on the same beat, and in how many beats."""
        for index, cue in enumerate(self.cues):
            if cue.beat > beat:
                more = sum(other.beat == cue.beat for other in self.cues[index + 1 :])
                words = one_line(cue.text) + (f" + {more}" if more else "")
                return words, ceil(float(cue.beat) - beat - 1e-9)
        return None


def cast_of(routine: Routine, name: str, choice: Choice, library: Library) -> Cast:
    """One performer of the stretch chosen."""
    person = routine.performer(name)
    moves = staged_moves(routine, name, choice, library)
    drawn = [
        trail
        for move in moves
        if move.performance is not None
        for trail in trails(move.performance, choice.view, move.placed.placement.facing_turns)
    ]
    half_m = max(extent_m(drawn, person.body), person.body.arm_m)
    shoulder_m = person.body.shoulder_height_m
    highest_m = max([person.body.stature_m, *(float(t.head_m[:, 1].max()) for t in drawn)])
    above_m = MARGIN * (highest_m - shoulder_m)
    return Cast(person, moves, cue_list(routine, name), MARGIN * half_m, above_m)


def places_in(width: int, height: int, people: int) -> list[Place]:
    """Where each performer stands in a frame of so many pixels: one row, or two if many."""
    rows = 1 if people <= MOST_ABREAST else 2
    abreast = -(-people // rows)
    line = max(12, height // (16 * rows))
    top, bottom = height // 11, height // 40
    tall = (height - top - bottom) // rows
    return [
        Place(
            x=width * (index % abreast) // abreast,
            y=top + tall * (index // abreast),
            width=width // abreast,
            height=tall,
            line=line,
        )
        for index in range(people)
    ]
