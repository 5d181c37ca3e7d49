"""Placed moves as the sheet draws them: where each hand's downbeats fall."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import partial

from composer.check.performed import CannotEnter, performed
from composer.errors import UnknownName
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.score.parts import PlacedMove
from composer.score.routine import Performer, Placement
from tui.views.sheet import Drawn


def downbeats(
    placement: Placement, library: Library, performer: Performer
) -> tuple[tuple[Fraction, Hand], ...]:
    """Beats on which each hand's tether passes straight down, in time order."""
    done, span = performed(placement, performer, library), placement.span
    return tuple(
        sorted(
            (span.start_beat + beats, hand)
            for hand in done.hands
            for beats in done.downbeats(hand, placement.rate, span.length_beats)
        )
    )


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

    def draw(self, moves: Iterable[PlacedMove], performer: Performer) -> tuple[Drawn, ...]:
        seen: dict[tuple[int, str], tuple[Placement, Drawn]] = {}
        drawn = []
        for move in moves:
            key = (id(move.placement), move.written_by)
            found = self._seen.get(key)
            if found is None or found[0] is not move.placement:
                found = (move.placement, self._drawn(move, performer))
            seen[key] = found
            drawn.append(found[1])
        self._seen = seen
        return tuple(drawn)

    def _drawn(self, move: PlacedMove, performer: Performer) -> Drawn:
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
            find_downbeats=partial(find, performer),
        )

    def _knows(self, name: str) -> bool:
        try:
            self.library.get(name)
        except UnknownName:
            return False
        return True


def _downbeats_or_none(
    placement: Placement, library: Library, performer: Performer
) -> tuple[tuple[Fraction, Hand], ...]:
    try:
        return downbeats(placement, library, performer)
    except (UnknownName, CannotEnter):
        return ()  # told by a finding
