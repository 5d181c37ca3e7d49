"""The open routine, where the cursor is, and every edit that can be asked for there.

No screen and no file: each edit gives the words for what it did, and the routine it led to is the
present of the history.
"""

import datetime
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from composer.arrange import edits
from composer.arrange.edits import Clip
from composer.arrange.history import History, start_history
from composer.arrange.performers import change_performer
from composer.check.performed import performed
from composer.errors import ComposerError
from composer.moves.library import Library
from composer.moves.model import Hybrid, Relation
from composer.moves.perform import WhichHand
from composer.score.parts import PlacedMove, performed_part
from composer.score.routine import Likeness, Performer, Placement, Routine
from composer.timing.beats import BeatSpan, beats_words
from composer.timing.grid import MusicGrid
from tui.having import Having
from tui.views.found import NOTHING_FOUND, Found
from tui.views.going import phrase_at

RATES = tuple(Fraction(rate) for rate in ("1/4", "1/3", "1/2", "2/3", "1", "3/2", "2", "3", "4"))
RELATIONS: tuple[Relation | None, ...] = (
    None,
    Relation(Fraction(0), "same"),
    Relation(Fraction(1, 2), "same"),
    Relation(Fraction(0), "opposite"),
    Relation(Fraction(1, 2), "opposite"),
    Relation(Fraction(1, 4), "same"),
    Relation(Fraction(3, 4), "same"),
)
HANDS: tuple[WhichHand, ...] = ("both", "right", "left")


@dataclass
class Desk:
    """What is being worked on. ``performer`` and ``cursor_beat`` say where."""

    history: History
    library: Library
    performer: str
    cursor_beat: Fraction = Fraction(0)
    hands: WhichHand = "both"
    clip: Clip | None = None
    found_by: Mapping[str, Found] = field(default_factory=dict)
    """The findings of the last check, by performer."""
    having: Having = field(default_factory=Having)
    """What every performer has."""
    saved: Routine | None = None
    """The routine as the file holds it."""
    _places: dict[int, Fraction] = field(default_factory=dict, repr=False)
    """Where the cursor stood before each step of the history."""
    _longest: tuple[tuple[PlacedMove, ...], Fraction] | None = field(default=None, repr=False)
    """How many beats the longest of some moves lasts."""
    _moves: tuple[Routine, str, tuple[PlacedMove, ...]] | None = field(default=None, repr=False)

    @property
    def routine(self) -> Routine:
        return self.history.present

    @property
    def is_saved(self) -> bool:
        return self.saved is self.routine

    @property
    def moves(self) -> tuple[PlacedMove, ...]:
        """The performer's part as performed."""
        known = self._moves
        if known is None or known[0] is not self.routine or known[1] != self.performer:
            moves = performed_part(self.routine, self.performer)
            self._moves = known = (self.routine, self.performer, moves)
        return known[2]

    @property
    def found(self) -> Found:
        """The performer's findings."""
        return self.found_by.get(self.performer, NOTHING_FOUND)

    def move_here(self) -> PlacedMove | None:
        """The move under the cursor, of the hands that are chosen if there are two."""
        here = self.moves_at(self.cursor_beat)
        if self.hands != "both":
            here.sort(key=lambda move: self.hands not in move.placement.hands)
        return here[0] if here else None

    def moves_at(self, beat: Fraction) -> list[PlacedMove]:
        """The moves that hold a beat, looked for only as far back as the longest lasts."""
        moves = self.moves
        if self._longest is None or self._longest[0] is not moves:
            lengths = [move.placement.span.length_beats for move in moves]
            self._longest = moves, max(lengths, key=float, default=Fraction(0))
        first = bisect_left(moves, beat - self._longest[1], key=_start_beat)
        last = bisect_right(moves, beat, key=_start_beat)
        return [move for move in moves[first:last] if move.span.contains(beat)]

    def next_free(self, beat: Fraction) -> Fraction | None:
        """The first beat from here on where no hand has a move; None if there is none."""
        while beat < self.routine.grid.end_beat:
            here = self.moves_at(beat)
            if not here:
                return beat
            beat = max(move.span.end_beat for move in here)
        return None

    def free_stretch(self, most_bars: int) -> BeatSpan:
        """What is free of moves around the cursor or next after it; so many bars at the most.

        A longer one is kept to its phrase.

        Raises
        ------
        ComposerError
            If nothing is free from the cursor on.
        """
        grid, beat = self.routine.grid, self.next_free(self.cursor_beat)
        if beat is None:
            raise ComposerError("nothing is free from here on; remove a move, or go further up")
        ends = [move.span.end_beat for move in self.moves if move.span.end_beat <= beat]
        starts = [move.span.start_beat for move in self.moves if move.span.start_beat > beat]
        start, end = max(ends, default=min(beat, Fraction(0))), min([*starts, grid.end_beat])
        if _bars(grid, start, end) > most_bars:
            phrase = phrase_at(grid, beat)
            start, end = max(start, phrase.start_beat), min(end, phrase.end_beat)
        if _bars(grid, start, end) > most_bars:
            start = max(start, grid.meter_map.bar_start_beat(grid.meter_map.position(beat).bar))
            last_bar = grid.meter_map.position(start).bar + most_bars
            end = min(end, grid.meter_map.bar_start_beat(last_bar))
        return BeatSpan(start, end - start)

    # ------------------------------------------------------------------ placing

    def place(self, placement: Placement, *, pinned: bool = False) -> str:
        placement = replace(placement, pinned=pinned)
        routine = edits.place_over(self.routine, self.performer, placement)
        self._keep_pins(routine)
        words = f"placed {placement.move}, {beats_words(placement.span.length_beats)}"
        self._done(words, routine)
        end_beat = placement.span.end_beat
        if end_beat < routine.grid.end_beat:  # past the music nothing can follow
            self.cursor_beat = end_beat
        return words

    def remove(self) -> str:
        move = self._own()
        words = f"removed {move.placement.move}"
        return self._done(words, edits.remove(self.routine, self.performer, move.index))

    def lengthen(self, by_beats: Fraction) -> str:
        move = self._own()
        length = move.span.length_beats + by_beats
        routine = edits.resize(self.routine, self.performer, move.index, length)
        words = self._done(f"{move.placement.move} lasts {beats_words(length)}", routine)
        last_count = max(move.span.start_beat + length - 1, move.span.start_beat)
        self.cursor_beat = min(self.cursor_beat, last_count)
        return words

    def shift(self, by_beats: Fraction) -> str:
        move = self._own()
        routine = edits.shift(self.routine, self.performer, move.index, by_beats)
        self._keep_pins(routine)
        start = routine.grid.meter_map.position(move.span.start_beat + by_beats)
        words = self._done(f"{move.placement.move} begins on {start}", routine)
        self.cursor_beat += by_beats
        return words

    def fill_phrase(self) -> str:
        move = self._own()
        end = phrase_at(self.routine.grid, move.span.start_beat).end_beat
        routine = edits.repeat_until(self.routine, self.performer, move.index, end)
        count = len(routine.part(self.performer).placements)
        count -= len(self.routine.part(self.performer).placements)
        if not count:
            raise ComposerError(f"no whole {move.placement.move} fits before its phrase ends")
        words = f"repeated {move.placement.move} {count} time{'s' if count > 1 else ''}"
        return self._done(words, routine)

    def copy_phrase(self) -> str:
        span = phrase_at(self.routine.grid, self.cursor_beat)
        self.clip = edits.copy_clip(self.routine, self.performer, span)
        return f"copied {beats_words(span.length_beats)}, {_count(len(self.clip.placements))}"

    def copy_move(self) -> str:
        move = self._here()
        self.clip = edits.Clip(
            (replace(move.placement, span=BeatSpan(Fraction(0), move.span.length_beats)),),
            move.span.length_beats,
        )
        return f"copied {move.placement.move}"

    def paste(self, likeness: Likeness) -> str:
        if self.clip is None or not self.clip.placements:
            raise ComposerError("nothing is copied; copy a phrase or a move first")
        routine = edits.paste_clip(
            self.routine, self.performer, self.cursor_beat, self.clip, likeness
        )
        self._keep_pins(routine)
        how = "" if likeness is Likeness.UNISON else f" {likeness}"
        words = f"pasted {_count(len(self.clip.placements))}{how}"
        self._done(words, routine)
        end_beat = self.cursor_beat + self.clip.length_beats
        if end_beat < routine.grid.end_beat:
            self.cursor_beat = end_beat
        return words

    # ------------------------------------------------------------------ changing

    def swap_hands(self) -> str:
        move = self._own()
        return self._restyle(move, "hands swapped", swapped=not move.placement.style.swapped)

    def mirror(self) -> str:
        move = self._own()
        return self._restyle(move, "mirrored", mirrored=not move.placement.style.mirrored)

    def turn_figure(self) -> str:
        move = self._own()
        turned = (move.placement.style.orientation_turns + Fraction(1, 8)) % 1
        return self._restyle(move, f"turned by {turned} turn", orientation_turns=turned)

    def next_entry(self, step: int) -> str:
        move = self._own()
        performer = self.routine.performer(self.performer)
        entries = performed(move.placement, performer, self.library).entries
        if entries < 2:
            raise ComposerError(f"{move.placement.move} can be entered in one way only")
        entry = (move.placement.style.entry - 1 + step) % entries + 1
        return self._restyle(move, f"enters on downbeat {entry} of {entries}", entry=entry)

    def next_relation(self) -> str:
        move = self._own()
        if not isinstance(self.library.get(move.placement.move), Hybrid) and (
            move.placement.style.hand != "both"
        ):
            raise ComposerError("one hand alone has no relation to the other")
        now = move.placement.style.relation
        index = RELATIONS.index(now) if now in RELATIONS else 0
        relation = RELATIONS[(index + 1) % len(RELATIONS)]
        return self._restyle(move, f"hands {relation or 'as the move has them'}", relation=relation)

    def change_rate(self, step: int) -> str:
        move = self._own()
        rates = sorted({*RATES, move.placement.rate})
        index = min(max(rates.index(move.placement.rate) + step, 0), len(rates) - 1)
        routine = edits.set_rate(self.routine, self.performer, move.index, rates[index])
        return self._done(f"{move.placement.move}: {rates[index]} downbeats a beat", routine)

    def turn_body(self) -> str:
        move = self._own()
        facing = (move.placement.facing_turns + Fraction(1, 4)) % 1
        return self._replace(move, f"faces {facing} turn from the audience", facing_turns=facing)

    def pin(self) -> str:
        move = self._own()
        pinned = not move.placement.pinned
        return self._replace(move, "pinned" if pinned else "no longer pinned", pinned=pinned)

    def write_note(self, text: str) -> str:
        return self._replace(self._own(), "note written", notes=text)

    # ------------------------------------------------------------------ time back and forth

    def undo(self) -> str:
        if not self.history.can_undo:
            raise ComposerError("there is nothing to undo")
        words = self.history.steps[self.history.at].words
        self.cursor_beat = self._places.get(self.history.at, self.cursor_beat)
        self._go_in_history(self.history.undo())
        return f"undone: {words}"

    def redo(self) -> str:
        if not self.history.can_redo:
            raise ComposerError("there is nothing to redo")
        self._go_in_history(self.history.redo())
        self.cursor_beat = self._places.get(self.history.at, self.cursor_beat)
        return f"done again: {self.history.steps[self.history.at].words}"

    def go_back_to(self, step: int) -> str:
        self._go_in_history(replace(self.history, at=step))
        return f"went to: {self.history.steps[step].words}"

    def _go_in_history(self, history: History) -> None:
        """Stay with the same performer, though she was called otherwise there."""
        index = [one.name for one in self.routine.performers].index(self.performer)
        self.history = history
        names = [one.name for one in self.routine.performers]
        if self.performer not in names:
            self.performer = names[min(index, len(names) - 1)]

    def measure(self, name: str, new: Performer, date: datetime.date | None) -> str:
        """Another name, body or props for a performer, and the day of the performance."""
        changed = change_performer(self.routine, name, new)
        self.performer = new.name if self.performer == name else self.performer
        return self._done(f"measures of {new.name}", replace(changed, performance_date=date))

    def take_over(self, words: str, routine: Routine) -> str:
        """A routine made elsewhere: a remedy, a corrected grid."""
        if self.performer not in {one.name for one in routine.performers}:
            self.performer = routine.performers[0].name
        return self._done(words, routine)

    def next_hands(self) -> str:
        self.hands = HANDS[(HANDS.index(self.hands) + 1) % len(HANDS)]
        return (
            "places for both hands" if self.hands == "both" else f"places for the {self.hands} hand"
        )

    # ------------------------------------------------------------------ inside

    def _done(self, words: str, routine: Routine) -> str:
        before, self.history = self.history, self.history.do(words, routine)
        if self.history is not before:
            self._places[self.history.at] = self.cursor_beat
        return words

    def _keep_pins(self, after: Routine) -> None:
        """Refuse an edit that moves a pinned move or covers a part of it.

        Raises
        ------
        ComposerError
            If it does.
        """
        pinned = [p for p in self.routine.part(self.performer).placements if p.pinned]
        if not pinned:
            return
        kept = Counter((p.span, p.move) for p in after.part(self.performer).placements)
        for placement in pinned:
            if not kept[placement.span, placement.move]:
                place = self.routine.grid.place_text(placement.span.start_beat)
                raise ComposerError(
                    f"{placement.move} is pinned to {place} and stays; p on it lets it go"
                )

    def _here(self) -> PlacedMove:
        move = self.move_here()
        if move is None:
            raise ComposerError("no move is under the cursor")
        return move

    def _own(self) -> PlacedMove:
        move = self._here()
        if move.written_by != self.performer:
            raise ComposerError(
                f"{move.placement.move} is taken from {move.written_by}'s part; change it there, "
                "or place a move here"
            )
        return move

    def _restyle(self, move: PlacedMove, words: str, **choices: object) -> str:
        routine = edits.restyle(self.routine, self.performer, move.index, **choices)
        return self._done(f"{move.placement.move}: {words}", routine)

    def _replace(self, move: PlacedMove, words: str, **values: object) -> str:
        new = replace(move.placement, **values)  # type: ignore[arg-type]
        routine = edits.change(self.routine, self.performer, move.index, new)
        return self._done(f"{move.placement.move}: {words}", routine)


def _start_beat(move: PlacedMove) -> Fraction:
    return move.placement.span.start_beat


def _bars(grid: MusicGrid, start_beat: Fraction, end_beat: Fraction) -> int:
    return grid.meter_map.position(end_beat).bar - grid.meter_map.position(start_beat).bar


def _count(placements: int) -> str:
    return "1 move" if placements == 1 else f"{placements} moves"


def open_desk(routine: Routine, library: Library, *, saved: bool) -> Desk:
    """A desk with the cursor on the first count of the first performer's part."""
    return Desk(
        start_history(routine),
        library,
        routine.performers[0].name,
        saved=routine if saved else None,
    )
