"""The cue list: what is called to a performer, on which beat, and when the call is made."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Literal

from composer.score.parts import PlacedMove, performed_part
from composer.score.routine import Routine
from composer.timing.beats import rate_words

CueKind = Literal["move", "end", "spot", "phrase", "accent", "light", "costume", "release", "note"]

LEAD_S = 1.3
"""A player looks about 1.0 s ahead, 1.3 s at a slow tempo: Furneaux & Land, Proc. R. Soc. B 266
(1999) 2435."""


@dataclass(frozen=True, slots=True)
class Cue:
    """Something that happens on ``beat`` and is called on ``call_beat``, before it."""

    beat: Fraction
    call_beat: Fraction
    performer: str
    kind: CueKind
    text: str
    hand: str = "both"


def cue_list(
    routine: Routine, performer: str, *, lead_beats: Fraction | None = None
) -> tuple[Cue, ...]:
    """Every cue of one performer in time order.

    Parameters
    ----------
    lead_beats : Fraction, optional
        How far ahead to call. By default one bar, and at least 1.3 s in whole beats.
    """
    moves = performed_part(routine, performer)
    found = [
        *_move_cues(performer, moves),
        *_spot_cues(routine, performer),
        *_phrase_cues(routine, performer, moves),
        *_note_cues(routine, performer),
    ]
    timed = [_called(routine, cue, lead_beats) for cue in found]
    return tuple(sorted(timed, key=lambda cue: (cue.beat, _ORDER.index(cue.kind), cue.hand)))


_ORDER: tuple[CueKind, ...] = (
    "move",
    "end",
    "spot",
    "accent",
    "release",
    "light",
    "costume",
    "note",
    "phrase",
)


def usual_lead_beats(routine: Routine, beat: Fraction) -> Fraction:
    """One bar of the metre there, and at least :data:`LEAD_S` in whole beats."""
    grid = routine.grid
    bar = Fraction(grid.meter_map.meter_at(max(beat - 1, Fraction(0))).beats_per_bar)
    seconds_a_beat = 60 / grid.tempo_map.bpm_at(beat - 1)
    return max(bar, Fraction(ceil(LEAD_S / seconds_a_beat - 1e-9)))


def _called(routine: Routine, cue: Cue, lead_beats: Fraction | None) -> Cue:
    lead = usual_lead_beats(routine, cue.beat) if lead_beats is None else lead_beats
    return Cue(cue.beat, cue.beat - lead, cue.performer, cue.kind, cue.text, cue.hand)


def _cue(beat: Fraction, performer: str, kind: CueKind, text: str, hand: str = "both") -> Cue:
    return Cue(beat, beat, performer, kind, text, hand)


def _move_cues(performer: str, moves: tuple[PlacedMove, ...]) -> Iterator[Cue]:
    for index, move in enumerate(moves):
        hand = move.placement.style.hand
        yield _cue(move.span.start_beat, performer, "move", move_words(move), hand)
        following = moves[index + 1 :]
        taken_up = any(
            later.span.start_beat <= move.span.end_beat
            and set(later.placement.hands) & set(move.placement.hands)
            for later in following
        )
        if not taken_up:
            yield _cue(move.span.end_beat, performer, "end", f"end of {move.placement.move}", hand)


def move_words(move: PlacedMove) -> str:
    """The call for a move: its name and what is particular about it this time."""
    placement, style = move.placement, move.placement.style
    words = [placement.move]
    if style.hand != "both":
        words.append(f"{style.hand} hand")
    if style.mirrored:
        words.append("mirrored")
    if style.swapped:
        words.append("hands swapped")
    if style.relation is not None:
        words.append(f"hands {style.relation}")
    if placement.rate != 1:
        words.append(rate_words(placement.rate))
    return ", ".join(words)


def _spot_cues(routine: Routine, performer: str) -> Iterator[Cue]:
    for spot in sorted(routine.spots, key=lambda spot: spot.beat):
        if spot.performer == performer and spot.beat > 0:
            start = spot.beat - spot.travel_beats
            place = f"{abs(spot.x_m):g} m {'stage right' if spot.x_m >= 0 else 'stage left'}"
            yield _cue(start, performer, "spot", f"travel to {place}, {spot.y_m:g} m upstage")


def _phrase_cues(routine: Routine, performer: str, moves: tuple[PlacedMove, ...]) -> Iterator[Cue]:
    starts = {move.span.start_beat for move in moves}
    for before, after in zip(routine.grid.phrases, routine.grid.phrases[1:], strict=False):
        if after.start_beat not in starts:
            text = f"end of {before.name}, {after.name} begins"
            yield _cue(after.start_beat, performer, "phrase", text)


def _note_cues(routine: Routine, performer: str) -> Iterator[Cue]:
    for note in routine.notes:
        if note.performer in ("", performer):
            yield _cue(note.beat, performer, note.kind, note.text)
