"""What the motion pane shows of a move: the instant, and through whose eyes."""

from dataclasses import dataclass, replace
from fractions import Fraction

from composer.export.choice import View
from composer.score.routine import Placement


@dataclass(frozen=True, slots=True)
class MotionState:
    """From where the motion is seen, and where in the move it stands."""

    view: View = View.PERFORMER
    beats: Fraction = Fraction(0)
    """Beats after the start of the move; a beat of the timeline if ``on_timeline``."""
    on_timeline: bool = False

    def at_start(self) -> "MotionState":
        return replace(self, beats=Fraction(0), on_timeline=False)

    def at_beat(self, beat: Fraction) -> "MotionState":
        return replace(self, beats=beat, on_timeline=True)

    def at_beats_in(self, beats: Fraction) -> "MotionState":
        """So many beats after the start of the move, or before it."""
        return replace(self, beats=beats, on_timeline=False)

    def seen_from(self, view: View) -> "MotionState":
        return replace(self, view=view)

    def beats_into(self, placement: Placement) -> Fraction:
        return self.beats - placement.span.start_beat if self.on_timeline else self.beats
