"""What sounds elsewhere after the music was put right, told in seconds."""

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction

from composer.score.routine import Routine
from composer.timing.corrections import Correction
from composer.timing.grid import MusicGrid, Phrase, clock_text
from composer.timing.regrid import main_bpm

LEAST_S = 0.0005
"""Under half a millisecond nothing moved: files keep times to a microsecond."""

HEARD_S = 0.005
"""Phrases are listed from here on; ours: half of what can just be heard between two clicks."""


def moved_words(before: Routine, after: Routine) -> str:
    """One line: ``"14 moves sound 0.50 s later"``. Without moves it tells of the bars."""
    beats = [(f"bar {_bar(before.grid, b)}", b) for b in _move_beats(before)]
    what = "moves" if len(beats) > 1 else "move"
    if not beats:
        bars = range(1, before.grid.bar_count + 1)
        beats = [(f"bar {bar}", before.grid.meter_map.bar_start_beat(bar)) for bar in bars]
        what = "bars"
    by_s = [_by_s(beat, before.grid, after.grid) for _, beat in beats]
    words = _spread_words(what, by_s, [name for name, _ in beats])
    late = sum(beat >= after.grid.end_beat for beat in _move_beats(after))
    if late:
        words += f"; {_count(late, 'move')} now after the music"
    off = len(_off_bar(after.grid)) - len(_off_bar(before.grid))
    if off > 0:
        words += f"; {_count(off, 'locked phrase')} kept {'its' if off == 1 else 'their'} time, "
        words += "off the bar now"
    return words


def _off_bar(grid: MusicGrid) -> list[Phrase]:
    """Locked phrases that begin inside a bar."""
    return [p for p in grid.phrases if p.locked and not grid.meter_map.is_downbeat(p.start_beat)]


def _move_beats(routine: Routine) -> list[Fraction]:
    return [p.span.start_beat for part in routine.parts for p in part.placements]


def _bar(grid: MusicGrid, beat: Fraction) -> int:
    return grid.meter_map.position(beat).bar


def _by_s(beat: Fraction, before: MusicGrid, after: MusicGrid) -> float:
    return after.tempo_map.seconds(beat) - before.tempo_map.seconds(beat)


def _spread_words(what: str, by_s: Sequence[float], names: Sequence[str]) -> str:
    moved = [by for by in by_s if abs(by) >= LEAST_S]
    if not moved:
        return f"no {what.removesuffix('s')} sounds elsewhere"
    whole = f"{len(moved)}" if len(moved) == len(by_s) else f"{len(moved)} of {len(by_s)}"
    sound = "sounds" if len(by_s) == 1 else "sound"
    least, most = min(moved), max(moved)
    if most - least < LEAST_S:
        return f"{whole} {what} {sound} {later_words(most)}"
    furthest = names[max(range(len(by_s)), key=lambda i: abs(by_s[i]))]
    return f"{whole} {what} {sound} {later_words(least)} to {later_words(most)}, most in {furthest}"


def later_words(by_s: float) -> str:
    """``"0.50 s later"``, ``"0.012 s earlier"``."""
    digits = 2 if abs(by_s) >= 0.1 else 3
    return f"{abs(by_s):.{digits}f} s {'later' if by_s > 0 else 'earlier'}"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"


def moved_lines(before: Routine, after: Routine) -> tuple[str, ...]:
    """Everything that changed between two grids of a routine, for reading line by line."""
    old, new = before.grid, after.grid
    bpm, was = main_bpm(new), main_bpm(old)
    lines = [
        f"tempo {bpm:.2f} beats a minute"
        + (f" (it was {was:.2f})" if abs(bpm - was) >= 0.005 else ", as it was"),
        f"{_count(new.bar_count, 'bar')}"
        + (f" (there were {old.bar_count})" if new.bar_count != old.bar_count else ", as before"),
        f"bar 1 begins at {clock_text(new.tempo_map.seconds(0))}"
        + _moved_tail(_by_s(Fraction(0), old, new)),
    ]
    if old.meter_map != new.meter_map:
        lines.append("the bars are counted otherwise than before")
    return (*lines, moved_words(before, after), *_phrase_lines(old, new))


def _moved_tail(by_s: float) -> str:
    return f", {later_words(by_s)}" if abs(by_s) >= LEAST_S else ", as before"


def _phrase_lines(old: MusicGrid, new: MusicGrid) -> list[str]:
    """A line for each phrase that came, went, or is heard elsewhere."""
    were = {key: old.tempo_map.seconds(phrase.start_beat) for key, phrase in _named(old)}
    lines = []
    for key, phrase in _named(new):
        time_s, was_s = new.tempo_map.seconds(phrase.start_beat), were.pop(key, None)
        place = f"{new.meter_map.position(phrase.start_beat)} ({clock_text(time_s)})"
        if was_s is None:
            lines.append(f'phrase "{phrase.name}" is new: {place}')
        elif abs(time_s - was_s) >= HEARD_S:
            lines.append(f'phrase "{phrase.name}" begins {later_words(time_s - was_s)}: {place}')
    gone = [
        f'phrase "{name}" is gone: it began at {clock_text(at)}' for (name, _), at in were.items()
    ]
    return lines + gone


def _named(grid: MusicGrid) -> Iterator[tuple[tuple[str, int], Phrase]]:
    """Phrases with their name and, as a name may come again, which one of it each is."""
    seen: Counter[str] = Counter()
    for phrase in grid.phrases:
        seen[phrase.name] += 1
        yield (phrase.name, seen[phrase.name]), phrase


def correction_words(correction: Correction) -> str:
    """A record in words: ``"count 1 at 0:12.4"``."""
    place = clock_text(correction.time_s)
    match correction.kind:
        case "tempo level":
            return f"counted at about {correction.bpm:.0f} beats a minute"
        case "downbeat":
            return f"count 1 at {place}"
        case "bars from here":
            return f"bars counted anew from {place}"
        case "metre":
            return f"{correction.meter} from {place}"
        case "time shift":
            return f"all beats {later_words(correction.time_s)}"
        case "taps" | "taps all along":
            first, last = clock_text(correction.taps_s[0]), clock_text(correction.taps_s[-1])
            reach = "throughout" if correction.kind == "taps all along" else f"{first} to {last}"
            return f"tempo set, {reach}"
        case "phrase":
            return f'phrase "{correction.name}" at {place}'
        case "no phrase":
            return f"no phrase begins at {place}"
        case "lock":
            end = clock_text(correction.taps_s[-1])
            return f"beats held from {place} to {end}"
