"""Cutting music to stage length: spans kept in order, joined on downbeats.

The source is never changed. A cut is a list of beat spans; the grid of the cut track follows from
the spans alone, so its beats are exact.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from composer.timing.beats import BeatSpan
from composer.timing.grid import Accent, MusicGrid, Phrase
from composer.timing.meter import MeterChange, MeterMap
from composer.timing.tempo_map import Knot, TempoMap

Samples = NDArray[np.float32]

CROSSFADE_S = 0.020
"""Short, so that no beat sounds twice; common practice for joins on a downbeat is 10 to 50 ms."""
EARLIEST_S, LATEST_S = 0.045, 0.002
"""How long before the downbeat a crossfade may end."""
EDGE_FADE_S = 0.010


def spans_of_bars(grid: MusicGrid, bars: Sequence[tuple[int, int]]) -> tuple[BeatSpan, ...]:
    """Beat spans of ranges of bars, first and last both kept: (1, 16) is 16 bars.

    Raises
    ------
    ValueError
        If a range is backwards or lies outside the music.
    """
    spans = []
    for first, last in bars:
        if last < first:
            raise ValueError(f"bars {first}-{last} run backwards")
        start, end = grid.meter_map.bar_start_beat(first), grid.meter_map.bar_start_beat(last + 1)
        if last > grid.bar_count or grid.tempo_map.seconds(end) <= 0:
            raise ValueError(
                f"bars {first}-{last} lie outside the music, which has {grid.bar_count} bars"
            )
        spans.append(BeatSpan(start, end - start))
    return tuple(spans)


def joined_spans(spans: Sequence[BeatSpan]) -> tuple[BeatSpan, ...]:
    """Spans that follow each other in the source made one: there is nothing to join."""
    joined: list[BeatSpan] = []
    for span in spans:
        if joined and joined[-1].end_beat == span.start_beat:
            joined[-1] = BeatSpan(
                joined[-1].start_beat, joined[-1].length_beats + span.length_beats
            )
        else:
            joined.append(span)
    return tuple(joined)


def cut_length_s(grid: MusicGrid, spans: Sequence[BeatSpan]) -> float:
    """How long the kept spans last together."""
    return sum(_span_s(grid, span)[1] - _span_s(grid, span)[0] for span in spans)


def _span_s(grid: MusicGrid, span: BeatSpan) -> tuple[float, float]:
    return grid.tempo_map.seconds(span.start_beat), grid.tempo_map.seconds(span.end_beat)


def cut_grid(grid: MusicGrid, spans: Sequence[BeatSpan], *, lead_in_s: float = 0.0) -> MusicGrid:
    """The grid of the cut track: beats, metres, phrases and accents of the spans, moved.

    The first beat kept becomes beat 0, at ``lead_in_s``.

    Raises
    ------
    ValueError
        If there are no spans.
    """
    if not spans:
        raise ValueError("a cut keeps at least one span")
    knots: list[Knot] = []
    changes: list[MeterChange] = []
    phrases: list[Phrase] = []
    accents: list[Accent] = []
    beat, time_s = Fraction(0), lead_in_s
    for span in joined_spans(spans):
        start_s, end_s = _span_s(grid, span)
        move_beat, move_s = beat - span.start_beat, time_s - start_s
        inner = (k for k in grid.tempo_map.knots if span.start_beat < k.beat < span.end_beat)
        knots += [Knot(beat, time_s), *(Knot(k.beat + move_beat, k.time_s + move_s) for k in inner)]
        changes += _metres_within(grid, span, move_beat)
        phrases += _phrases_within(grid, span, move_beat)
        accents += [
            replace(a, time_s=a.time_s + move_s)
            for a in grid.accents
            if start_s - EARLIEST_S <= a.time_s < end_s - EARLIEST_S
        ]
        beat, time_s = beat + span.length_beats, time_s + (end_s - start_s)
    knots.append(Knot(beat, time_s))
    return MusicGrid(
        TempoMap(_without_straight(knots)),
        beat,
        MeterMap(_without_repeats(changes)),
        tuple(phrases),
        tuple(sorted(accents, key=lambda a: a.time_s)),
    )


def _metres_within(grid: MusicGrid, span: BeatSpan, move: Fraction) -> list[MeterChange]:
    changes = grid.meter_map.changes
    inner = [c for c in changes if span.start_beat < c.start_beat < span.end_beat]
    first = MeterChange(span.start_beat, grid.meter_map.meter_at(span.start_beat))
    return [MeterChange(c.start_beat + move, c.meter) for c in (first, *inner)]


def _phrases_within(grid: MusicGrid, span: BeatSpan, move: Fraction) -> list[Phrase]:
    """The phrases of a span; one that began before it begins with it."""
    index = grid.phrase_index_at(span.start_beat)
    first = [] if index is None else [replace(grid.phrases[index], start_beat=span.start_beat)]
    inner = [p for p in grid.phrases if span.start_beat < p.start_beat < span.end_beat]
    return [replace(p, start_beat=p.start_beat + move) for p in (*first, *inner)]


def _without_straight(knots: list[Knot]) -> tuple[Knot, ...]:
    """Knots without those on the line between their neighbours, to a microsecond."""
    kept = [knots[0]]
    for here, after in pairwise(knots[1:]):
        before = kept[-1]
        share = float((here.beat - before.beat) / (after.beat - before.beat))
        if abs(before.time_s + share * (after.time_s - before.time_s) - here.time_s) > 1e-6:
            kept.append(here)
    return (*kept, knots[-1])


def _without_repeats(changes: list[MeterChange]) -> tuple[MeterChange, ...]:
    kept = [changes[0]]
    for change in changes[1:]:
        due = (change.start_beat - kept[-1].start_beat) % kept[-1].meter.beats_per_bar
        if change.meter != kept[-1].meter or due:
            kept.append(change)
    return tuple(kept)


def render_cut(
    samples: Samples,
    sample_rate_hz: int,
    grid: MusicGrid,
    spans: Sequence[BeatSpan],
    *,
    lead_in_s: float = 0.0,
    fade_out_s: float = 0.0,
) -> Samples:
    """The samples of the cut track.

    Each join is an equal-power crossfade that ends just before the downbeat, at the quietest
    place there, so that the first beat after it sounds whole. Where both sides carry the same
    sound the fade keeps their common power instead of doubling it.

    Parameters
    ----------
    samples : np.ndarray, shape=(n, channels)
    lead_in_s
        Silence before the first beat.
    fade_out_s
        Length of the fade at the end; 0 ends the track with a fade too short to hear.

    Raises
    ------
    ValueError
        If there are no spans or a time is negative.
    """
    if not spans:
        raise ValueError("a cut keeps at least one span")
    if lead_in_s < 0 or fade_out_s < 0:
        raise ValueError("lead-in and fade-out cannot be negative")
    parts = _placed(grid, joined_spans(spans), sample_rate_hz, lead_in_s)
    total = parts[-1].out_end
    out = np.zeros((total, samples.shape[1]), np.float32)
    fade = round(CROSSFADE_S * sample_rate_hz)
    begin = 0
    for i, part in enumerate(parts):
        after = parts[i + 1] if i + 1 < len(parts) else None
        join_end = _quietest_join(samples, part, after, sample_rate_hz) if after else total
        piece = _read(samples, part.source(begin), join_end - begin)
        if i == 0:
            out[begin:join_end] = piece
        else:
            gain_old, gain_new = _fades(out[begin : begin + fade], piece[:fade])
            out[begin : begin + fade] = (
                gain_old * out[begin : begin + fade] + gain_new * piece[:fade]
            )
            out[begin + fade : join_end] = piece[fade:]
        begin = join_end - fade
    _fade_edges(out, sample_rate_hz, round(lead_in_s * sample_rate_hz), fade_out_s)
    return out


@dataclass(frozen=True)
class _Part:
    """Where a span lies in the source and in the cut, in samples."""

    out_start: int
    out_end: int
    source_start: int

    def source(self, out_sample: int) -> int:
        return self.source_start + out_sample - self.out_start


def _placed(grid: MusicGrid, spans: Sequence[BeatSpan], rate: int, lead_in_s: float) -> list[_Part]:
    """Every span rounded to samples by its absolute place, so that errors never add up."""
    parts, time_s = [], lead_in_s
    for span in spans:
        start_s, end_s = _span_s(grid, span)
        after_s = time_s + end_s - start_s
        parts.append(_Part(round(time_s * rate), round(after_s * rate), round(start_s * rate)))
        time_s = after_s
    return parts


def _quietest_join(samples: Samples, part: _Part, after: _Part, rate: int) -> int:
    """Where the crossfade into the next span ends, in samples of the cut."""
    fade = round(CROSSFADE_S * rate)
    earliest, latest = round(EARLIEST_S * rate), round(LATEST_S * rate)
    first = after.out_start - earliest - fade
    count = earliest - latest + fade
    both = np.square(_read(samples, part.source(first), count)).sum(axis=1)
    both = both + np.square(_read(samples, after.source(first), count)).sum(axis=1)
    running = np.concatenate([[0.0], np.cumsum(both, dtype=float)])
    power = running[fade:] - running[:-fade]
    return first + int(power.argmin()) + fade


def _read(samples: Samples, start: int, count: int) -> Samples:
    """A stretch of the source, silent beyond its ends."""
    out = np.zeros((count, samples.shape[1]), np.float32)
    a, b = max(0, start), min(len(samples), start + count)
    if b > a:
        out[a - start : b - start] = samples[a:b]
    return out


def _fades(old: Samples, new: Samples) -> tuple[Samples, Samples]:
    """Gains (n, 1) of equal power, corrected for how alike the two sides are."""
    share = (np.arange(len(old)) + 0.5) / len(old) * (np.pi / 2)
    down, up = np.cos(share), np.sin(share)
    power = float(np.sqrt(np.sum(np.square(old)) * np.sum(np.square(new))))
    alike = max(0.0, float(np.sum(old * new)) / power) if power > 0 else 0.0
    level = np.sqrt(1 + 2 * alike * down * up)
    return ((down / level)[:, None].astype(np.float32), (up / level)[:, None].astype(np.float32))


def _fade_edges(out: Samples, rate: int, first_beat: int, fade_out_s: float) -> None:
    """Silence before the lead-in's end, a short rise into the first beat, the fade at the end."""
    edge = min(round(EDGE_FADE_S * rate), len(out))
    rise = min(edge, first_beat)
    out[: first_beat - rise] = 0
    if rise:
        ramp = np.sin(np.linspace(0, np.pi / 2, rise))
        out[first_beat - rise : first_beat] *= ramp[:, None].astype(np.float32)
    else:
        short = min(round(0.002 * rate), len(out))
        out[:short] *= np.linspace(0, 1, short)[:, None].astype(np.float32)
    fall = min(max(edge, round(fade_out_s * rate)), len(out))
    ramp = np.cos(np.linspace(0, np.pi / 2, fall))
    out[len(out) - fall :] *= ramp[:, None].astype(np.float32)


def suggest_cut(grid: MusicGrid, wanted_s: float) -> tuple[BeatSpan, ...]:
    """Whole phrases that last about as long as wanted, in their order.

    The first phrase, the last one and the one with most energy (at a drop, if there is one)
    stay; of all choices the one with the most energy, the fewest joins and the best length wins.

    Raises
    ------
    ValueError
        If the wanted length is not positive or the track has no phrases.
    """
    if wanted_s <= 0:
        raise ValueError(f"the wanted length must be positive, got {wanted_s}")
    if not grid.phrases:
        raise ValueError("the track has no phrases to choose from")
    spans = [grid.phrase_span(i) for i in range(len(grid.phrases))]
    lengths = [_span_s(grid, s)[1] - _span_s(grid, s)[0] for s in spans]
    if sum(lengths) <= wanted_s:
        return joined_spans(spans)
    must = {0, len(spans) - 1, strongest_phrase(grid)}
    kept = _best_subset(lengths, [p.energy for p in grid.phrases], must, wanted_s)
    return joined_spans([spans[i] for i in kept])


def strongest_phrase(grid: MusicGrid) -> int:
    """Index of the phrase with most energy; one that begins on a drop goes before others."""
    drops = [a.time_s for a in grid.accents if a.kind == "drop"]

    def weight(index: int) -> float:
        start_s = grid.tempo_map.seconds(grid.phrases[index].start_beat)
        on_drop = any(abs(start_s - drop_s) < 0.5 for drop_s in drops)
        return grid.phrases[index].energy + 0.5 * on_drop

    return max(range(len(grid.phrases)), key=weight)


def _best_subset(
    lengths_s: list[float], energies: list[float], must: set[int], wanted_s: float
) -> list[int]:
    """Indices to keep, by dynamic programming over half seconds of length."""
    step = 0.5
    Key = tuple[int, bool]
    best: dict[Key, tuple[float, list[int]]] = {(0, True): (0.0, [])}
    for i, length_s in enumerate(lengths_s):
        grown: dict[Key, tuple[float, list[int]]] = {}

        def offer(
            key: Key,
            score: float,
            kept: list[int],
            table: dict[Key, tuple[float, list[int]]] = grown,
        ) -> None:
            if key not in table or score > table[key][0]:
                table[key] = (score, kept)

        for (used, last_kept), (score, kept) in best.items():
            join = 0.0 if last_kept else 0.35
            gain = energies[i] * length_s / 15 - join
            offer((used + round(length_s / step), True), score + gain, [*kept, i])
            if i not in must:
                offer((used, False), score, kept)
        best = grown

    def total(item: tuple[Key, tuple[float, list[int]]]) -> float:
        off = item[0][0] * step - wanted_s
        return item[1][0] - (0.5 * off if off > 0 else -0.25 * off)

    return max(best.items(), key=total)[1][1]
