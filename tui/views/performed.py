"""Placed moves as the sheet draws them: where each hand's downbeats fall."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import partial

from composer.check.fit import fit
from composer.check.moment import CannotEnter, performed
from composer.errors import UnknownName
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.score.parts import PlacedMove
from composer.score.routine import Performer, Placement
from composer.timing.grid import MusicGrid
from tui.views.sheet import Drawn


def downbeats(
    placement: Placement, library: Library, performer: Performer, grid: MusicGrid
) -> tuple[tuple[Fraction, Hand], ...]:
    """Beats on which each hand's tether passes straight down, in time order."""
    fitted = fit(placement, library, performer, grid)
    hands = performed(placement, performer, library).hands
    return tuple(sorted((beat, hand) for hand in hands for beat in fitted.downbeats(hand)))


def style_words(placement: Placement) -> str:
    """A move's name with what is particular about it this time, short enough for a row."""
    style = placement.style
    words = [placement.move]
    if style.mirrored:
        words.append("mirrored")
    if style.swapped:
        words.append("swapped")
    if style.relation is not None:
        words.append(str(style.relation))
    if placement.rate != 1:
        words.append(f"×{placement.rate}")
    if style.entry != 1:
        words.append(f"from downbeat {style.entry}")
    if style.orientation_turns:
        words.append(f"turned {style.orientation_turns}")
    if style.plane is not None:
        words.append(f"{style.plane} plane")
    if isinstance(style.centre, str):
        words.append(style.centre)
    elif style.centre is not None:
        words.append(f"centred {style.centre.real:g}, {style.centre.imag:g} m")
    if placement.pinned:
        words.append("pinned")
    return ", ".join(words)


@dataclass
class MoveDrawer:
    """Draws moves, and hands out the same value again for a placement it has seen before."""

    library: Library
    _seen: dict[tuple[int, str], tuple[Placement, Drawn]] = field(default_factory=dict)

    def draw(
        self, moves: Iterable[PlacedMove], performer: Performer, grid: MusicGrid
    ) -> tuple[Drawn, ...]:
        seen: dict[tuple[int, str], tuple[Placement, Drawn]] = {}
        drawn = []
        for move in moves:
            key = (id(move.placement), move.written_by)
            found = self._seen.get(key)
            if found is None or found[0] is not move.placement:
                found = (move.placement, self._drawn(move, performer, grid))
            seen[key] = found
            drawn.append(found[1])
        self._seen = seen
        return tuple(drawn)

    def _drawn(self, move: PlacedMove, performer: Performer, grid: MusicGrid) -> Drawn:
        placement, span = move.placement, move.span
        words, find = style_words(placement), partial(_downbeats_or_none, placement, self.library)
        if not self._knows(placement.move):
            words += " (not in the library)"
        return Drawn(
            span.start_beat,
            span.end_beat,
            words,
            placement.hands,
            own=move.written_by == move.performer,
            find_downbeats=partial(find, performer, grid),
        )

    def _knows(self, name: str) -> bool:
        try:
            self.library.get(name)
        except UnknownName:
            return False
        return True


def _downbeats_or_none(
    placement: Placement, library: Library, performer: Performer, grid: MusicGrid
) -> tuple[tuple[Fraction, Hand], ...]:
    try:
        return downbeats(placement, library, performer, grid)
    except (UnknownName, CannotEnter):
        return ()  # told by a finding
