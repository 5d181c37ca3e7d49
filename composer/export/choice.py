"""What of a routine is taken out: for whom, which stretch of it, and seen from where."""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import floor

from composer.errors import UnknownName
from composer.score.cues import CueKind, cue_list
from composer.score.parts import PlacedMove, performed_part, performed_parts
from composer.score.routine import Routine
from composer.timing.beats import BeatSpan


class View(StrEnum):
    """Whose eyes a picture is seen through; the two are mirror images of each other."""

    PERFORMER = "performer"
    AUDIENCE = "audience"


@dataclass(frozen=True, slots=True)
class Choice:
    """Everybody and the whole piece unless narrowed down."""

    performer: str = ""
    """Empty: the whole group."""
    phrase: int | None = None
    """Index of a phrase; None: from the start of the music to the end."""
    view: View = View.AUDIENCE


WHOLE = Choice()
TELLING_KINDS: tuple[CueKind, ...] = ("move", "spot", "phrase", "end", "note")


@dataclass(frozen=True, slots=True)
class Section:
    """A phrase, or the music before the first one, with a name to print."""

    name: str
    span: BeatSpan
    energy: float
    number: int
    """Of the phrase, from 1; 0 for what comes before the first."""


@dataclass(frozen=True, slots=True)
class Call:
    """A cue, with everybody to whom it is called at once."""

    beat: Fraction
    call_beat: Fraction
    performers: tuple[str, ...]
    kind: CueKind
    text: str
    hand: str

    def words(self, routine: Routine) -> str:
        """The call, with the names of those it is for unless it is for all."""
        said = told_words(self.kind, self.text)
        if len(self.performers) == len(routine.performers):
            return said
        return f"{', '.join(self.performers)}: {said}"


def told_words(kind: CueKind, text: str) -> str:
    """What is called, with its kind unless the words tell it: ``"light: half light"``."""
    return text if kind in TELLING_KINDS else f"{kind}: {text}"


def choose(
    routine: Routine, performer: str = "", phrase: str = "", view: View = View.AUDIENCE
) -> Choice:
    """A choice from words: a performer's name, a phrase's name or its number from 1.

    Raises
    ------
    UnknownName
        If there is no such performer or phrase, or several phrases bear that name.
    """
    if performer:
        routine.performer(performer)
    return Choice(performer, _phrase_index(routine, phrase) if phrase else None, view)


def _phrase_index(routine: Routine, text: str) -> int:
    phrases = routine.grid.phrases
    found = [index for index, phrase in enumerate(phrases) if phrase.name == text]
    if len(found) == 1:
        return found[0]
    if len(found) > 1:
        numbers = ", ".join(str(index + 1) for index in found)
        raise UnknownName(f'several phrases are called "{text}"; say which by number: {numbers}')
    if text.isascii() and text.isdigit() and 1 <= int(text) <= len(phrases):
        return int(text) - 1
    if not phrases:
        raise UnknownName("the music has no phrases yet; leave the phrase out")
    known = ", ".join(f"{index + 1} {phrase.name}" for index, phrase in enumerate(phrases))
    raise UnknownName(f'no phrase is called "{text}": the music has {known}')


def chosen_names(routine: Routine, choice: Choice) -> tuple[str, ...]:
    """The performers chosen, in the routine's order."""
    if choice.performer:
        return (routine.performer(choice.performer).name,)
    return tuple(performer.name for performer in routine.performers)


def chosen_span(routine: Routine, choice: Choice) -> BeatSpan:
    """The stretch chosen; for the whole piece all that sounds and all that is performed."""
    if choice.phrase is not None:
        return routine.grid.phrase_span(choice.phrase)
    parts = performed_parts(routine).values()
    spans = [move.span for moves in parts for move in moves]
    first_sounding = Fraction(floor(routine.grid.tempo_map.beat_at(0.0) + 1e-6))
    start = min([Fraction(0), first_sounding, *(span.start_beat for span in spans)])
    end = max([routine.grid.end_beat, *(span.end_beat for span in spans)])
    return BeatSpan(start, end - start)


def chosen_moves(routine: Routine, performer: str, choice: Choice) -> tuple[PlacedMove, ...]:
    """A performer's moves that touch the stretch chosen, in time order."""
    span = chosen_span(routine, choice)
    return tuple(move for move in performed_part(routine, performer) if span.intersects(move.span))


def chosen_calls(
    routine: Routine, choice: Choice, *, lead_beats: Fraction | None = None
) -> tuple[Call, ...]:
    """The cues of the stretch chosen in time order; what several are told at once is one call."""
    span = chosen_span(routine, choice)
    grouped: dict[tuple[Fraction, Fraction, CueKind, str, str], list[str]] = {}
    for name in chosen_names(routine, choice):
        for cue in cue_list(routine, name, lead_beats=lead_beats):
            # the whole piece is closed at its end: the call of the last move's end belongs to it
            if span.contains(cue.beat) or (choice.phrase is None and cue.beat >= span.end_beat):
                key = (cue.beat, cue.call_beat, cue.kind, cue.text, cue.hand)
                grouped.setdefault(key, []).append(name)
    calls = [
        Call(beat, call_beat, tuple(names), kind, text, hand)
        for (beat, call_beat, kind, text, hand), names in grouped.items()
    ]
    return tuple(sorted(calls, key=lambda call: call.beat))


def sections(routine: Routine, choice: Choice = WHOLE) -> tuple[Section, ...]:
    """The phrases of the stretch chosen, and what comes before the first if anything does."""
    grid = routine.grid
    if choice.phrase is not None:
        return (_phrase_section(routine, choice.phrase),)
    whole = chosen_span(routine, choice)
    if not grid.phrases:
        return (Section(routine.title, whole, 0.5, 0),)
    found = [_phrase_section(routine, index) for index in range(len(grid.phrases))]
    last = found[-1]
    if whole.end_beat > last.span.end_beat:
        span = BeatSpan(last.span.start_beat, whole.end_beat - last.span.start_beat)
        found[-1] = Section(last.name, span, last.energy, last.number)
    before = _upbeat(routine, whole)
    if before is not None:
        found.insert(0, Section("upbeat", before, 0.5, 0))
    return tuple(found)


def _upbeat(routine: Routine, whole: BeatSpan) -> BeatSpan | None:
    """What comes before the first phrase, if it lasts a bar or anything is done in it."""
    first = routine.grid.phrases[0].start_beat
    if first <= whole.start_beat:
        return None
    span = BeatSpan(whole.start_beat, first - whole.start_beat)
    bar = routine.grid.meter_map.meter_at(span.start_beat).beats_per_bar
    done = [move.span.start_beat for part in performed_parts(routine).values() for move in part]
    done += [note.beat for note in routine.notes]
    used = any(span.contains(beat) for beat in done)
    return span if used or span.length_beats >= bar else None


def _phrase_section(routine: Routine, index: int) -> Section:
    phrase = routine.grid.phrases[index]
    return Section(phrase.name, routine.grid.phrase_span(index), phrase.energy, index + 1)


def zero_s(routine: Routine, choice: Choice) -> float:
    """Track time at which an export's own clock starts.

    The whole piece keeps the clock of the track, a phrase starts its own; so captions, MIDI,
    practice audio and animation of one choice always line up with each other.
    """
    if choice.phrase is None:
        return 0.0
    return routine.grid.tempo_map.seconds(chosen_span(routine, choice).start_beat)


def sounding_s(routine: Routine, choice: Choice, duration_s: float) -> tuple[float, float]:
    """From when to when of the decoded track the stretch chosen sounds, within its length."""
    if choice.phrase is None:
        return 0.0, duration_s
    seconds, span = routine.grid.tempo_map.seconds, chosen_span(routine, choice)
    start_s = min(max(0.0, seconds(span.start_beat)), duration_s)
    return start_s, min(max(start_s, seconds(span.end_beat)), duration_s)


def one_line(text: str) -> str:
    """Text without line breaks and control characters, as formats of one line a field want it."""
    return " ".join("".join(c if c.isprintable() or c in _JOINERS else " " for c in text).split())


_JOINERS = "\u200c\u200d\u200e\u200f\u2066\u2067\u2068\u2069\u202a\u202b\u202c\u202d\u202e"
"""Invisible letters that shape emoji and right-to-left text; they must survive."""
