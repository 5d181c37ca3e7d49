"""Placed moves as the sheet draws them: where each hand's downbeats fall."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from composer.errors import UnknownName
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.moves.perform import Performance, perform
from composer.score.parts import PlacedMove
from composer.score.routine import Performer, Placement
from tui.views.sheet import Drawn

MOST_CYCLES = 2000


def performance_of(library: Library, placement: Placement, performer: Performer) -> Performance:
    """The placement's move in metres for its performer.

    Raises
    ------
    UnknownName
        If the library has no such move.
    ValueError
        If the move cannot be entered or sized as asked.
    """
    return perform(library.get(placement.move), placement.style, performer.body, performer.props)


def downbeats(performance: Performance, placement: Placement) -> tuple[tuple[Fraction, Hand], ...]:
    """Beats on which each hand's tether passes straight down, in time order."""
    cycle = performance.cycle_beats(placement.rate)
    start, length = placement.span.start_beat, placement.span.length_beats
    cycles = min(int(length / cycle) + 1, MOST_CYCLES)
    found = []
    for hand, track in performance.tracks.items():
        for share in track.downbeats:
            offsets = ((turn + share) * cycle for turn in range(cycles))
            found += [(start + offset, hand) for offset in offsets if offset < length]
    return tuple(sorted(found))


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
        placement = move.placement
        words = style_words(placement)
        try:
            beats = downbeats(performance_of(self.library, placement, performer), placement)
        except UnknownName:
            words, beats = f"{words} (not in the library)", ()
        except ValueError:
            words, beats = f"{words} (cannot be entered so)", ()
        return Drawn(
            move.span.start_beat,
            move.span.end_beat,
            words,
            placement.hands,
            own=move.written_by == move.performer,
            downbeats=beats,
        )
