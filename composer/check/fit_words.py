"""The findings of one placed move against its music and the performer's arms and props."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping
from fractions import Fraction
from functools import lru_cache

from composer.check.demands import HandDemand
from composer.check.findings import Finding, Level
from composer.check.fit import Fit, fit
from composer.check.limits import Limit, limits_for
from composer.check.physics import demands_in
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.score.routine import Performer, Placement
from composer.score.same import Same
from composer.timing.beats import beats_words
from composer.timing.grid import MusicGrid

DEMAND_RULES = {
    "hand speed": ("hand is too fast", "A hand that must hurry that much tires, misses and hurts."),
    "hand acceleration": (
        "hand is thrown about",
        "The shoulder pays for every change of speed; repeated, that hurts.",
    ),
    "hand turns": ("hand turns too often", "An arm that circles that fast loses its roundness."),
    "head turns": ("head turns too often", "Past a few turns a second the wrist cannot keep time."),
    "reach": ("hand is out of reach", "The figure shrinks or the shoulder is pulled up."),
    "slack": (
        "tether goes slack",
        "At this tempo the head is too slow to keep its tether taut by itself.",
    ),
}
"""By limit: the rule's name in findings, and why it matters."""


def fit_findings(
    placement: Placement,
    library: Library,
    performer: Performer,
    grid: MusicGrid,
    *,
    limits: Mapping[str, Limit] | None = None,
) -> tuple[Finding, ...]:
    """Everything about one placed move by itself, gravest first.

    Raises
    ------
    UnknownName, CannotEnter
        If the move is not in the library or cannot be performed as placed.
    """
    found = fit(placement, library, performer, grid)
    told = demands_in(found.done, performer, placement.span, placement.rate, grid)
    findings = [
        *_closing(found, placement, performer),
        *_on_beats(found, placement, performer),
        *_phrases(found, placement, performer, grid),
        *_music_end(placement, performer, grid),
        *_demands(told, placement, performer, limits or limits_for(performer)),
    ]
    return tuple(sorted(findings, key=lambda finding: -finding.level))


def _finding(
    placement: Placement,
    performer: Performer,
    rule: str,
    level: Level,
    message: str,
    why: str,
    *,
    beat: Fraction | None = None,
    measured: Fraction | None = None,
    unit: str = "",
) -> Finding:
    return Finding(
        rule=rule,
        level=level,
        performer=performer.name,
        beat=placement.span.start_beat if beat is None else beat,
        message=f"{placement.move}: {message}",
        why=why,
        moves=(placement.move,),
        measured=None if measured is None else float(measured),
        unit=unit,
    )


def _closing(found: Fit, placement: Placement, performer: Performer) -> Iterator[Finding]:
    if found.closes:
        return
    lasts = f"{times_words(found.repetitions)} of {beats_words(found.cycle_beats)}"
    if found.closes_turned:
        turned = f"{found.symmetry_turns} of a turn"
        yield _finding(
            placement,
            performer,
            "closes turned",
            Level.NOTE,
            f"{beats_words(placement.span.length_beats)} are {lasts}, where the figure stands as "
            f"at its start but turned by {turned}",
            "It can be left there if the next move begins so turned.",
            beat=placement.span.end_beat,
            measured=found.remainder_beats,
            unit="beats",
        )
        return
    if found.closes_mirrored:
        yield _finding(
            placement,
            performer,
            "closes mirrored",
            Level.NOTE,
            f"{beats_words(placement.span.length_beats)} are {lasts}, where it stands as at its "
            "start but runs the other way",
            "It can be left there if the next move takes up that direction.",
            beat=placement.span.end_beat,
            measured=found.remainder_beats,
            unit="beats",
        )
        return
    yield _finding(
        placement,
        performer,
        "does not close",
        Level.WARNING,
        f"{beats_words(placement.span.length_beats)} are {lasts}, {_offers(found)}",
        "A move that stops part-way leaves hands and heads where the next one does not begin.",
        beat=placement.span.end_beat,
        measured=found.remainder_beats,
        unit="beats",
    )


def _offers(found: Fit) -> str:
    """What would close, in words: the figures a performer can act on."""
    short = f"{beats_words(found.missing_beats)} short of closing"
    lengths = {*found.closing_lengths, *found.bar_closing_lengths} - {Fraction(0)}
    numbers = [beats_words(beats).partition(" beat")[0] for beats in sorted(lengths)]
    parts = [f"it closes in {_list(numbers)} beats"]
    if found.closing_rates:
        rates = _list([f"{rate}" for rate in found.closing_rates])
        parts.append(f"in these beats at {rates} downbeats a beat")
    if found.exit_entry:
        parts.append(f"here it stands on downbeat {found.exit_entry} of {found.entries}")
    return f"{short}; {'; '.join(parts)}"


def _on_beats(found: Fit, placement: Placement, performer: Performer) -> Iterator[Finding]:
    if found.on_the_beat:
        return
    first = [next(found.downbeats(hand), None) for hand in found.done.hands]
    off = min(beat % found.beat_step for beat in first if beat is not None)
    ahead = off if off <= found.beat_step / 2 else off - found.beat_step
    words = f"{beats_words(abs(ahead))} {'after' if ahead > 0 else 'before'} the beat"
    message = (
        f"entered off phase, its first downbeat {words}"
        if ahead
        else "some of its downbeats fall between the beats"
    )
    yield _finding(
        placement,
        performer,
        "downbeats miss the beat",
        Level.NOTE,
        message,
        "A head that passes down beside the beat looks late or early to everybody who hears it.",
        measured=abs(ahead),
        unit="beats",
    )


def _phrases(
    found: Fit, placement: Placement, performer: Performer, grid: MusicGrid
) -> Iterator[Finding]:
    span = placement.span
    starts = _phrase_starts(Same(grid))
    start, end = float(span.start_beat), float(span.end_beat)
    inside = slice(bisect_right(starts, start), bisect_left(starts, end))
    for phrase in grid.phrases[inside]:
        closed = (phrase.start_beat - span.start_beat) % found.cycle_beats == 0
        ends = "closes there" if closed else "is part-way through a cycle there"
        yield _finding(
            placement,
            performer,
            "runs over a phrase",
            Level.NOTE if closed else Level.WARNING,
            f"it runs on {beats_words(span.end_beat - phrase.start_beat)} into "
            f'"{phrase.name}" and {ends}',
            "The audience hears a new phrase and sees no new thought.",
            beat=phrase.start_beat,
        )


@lru_cache(maxsize=64)
def _phrase_starts(grid: Same[MusicGrid]) -> list[float]:
    """Rounding keeps the order of fractions and equal ones equal, so floats find the place."""
    return [float(phrase.start_beat) for phrase in grid.value.phrases]


def _music_end(placement: Placement, performer: Performer, grid: MusicGrid) -> Iterator[Finding]:
    beyond = placement.span.end_beat - grid.end_beat
    if beyond > 0:
        yield _finding(
            placement,
            performer,
            "runs past the music",
            Level.ERROR,
            f"it goes on {beats_words(beyond)} after the music has ended",
            "There is nothing left to perform to.",
            beat=max(placement.span.start_beat, grid.end_beat),
            measured=beyond,
            unit="beats",
        )


def _demands(
    told: Mapping[Hand, HandDemand],
    placement: Placement,
    performer: Performer,
    limits: Mapping[str, Limit],
) -> Iterator[Finding]:
    """One finding a figure: of both hands the one that is asked more."""
    for figures in zip(*(demand.figures() for demand in told.values()), strict=True):
        name = figures[0].limit
        most = max(figure.measured for figure in figures)
        level = limits[name].level(most)
        if level is None:
            continue
        rule, why = DEMAND_RULES[name]
        alike = len(figures) == 2 and all(most - one.measured < 1e-6 for one in figures)
        hand = next(h for h, one in zip(told, figures, strict=True) if one.measured == most)
        yield Finding(
            rule=rule,
            level=level,
            performer=performer.name,
            beat=placement.span.start_beat,
            message=f"{placement.move}: {_asked(name, most, hand, alike=alike)}",
            why=why,
            moves=(placement.move,),
            hand=None if alike else hand,
            measured=most,
            limit=limits[name].at(level),
            unit=limits[name].unit,
        )


def _asked(name: str, measured: float, hand: Hand, *, alike: bool) -> str:
    side = "each" if alike else f"the {hand}"
    match name:
        case "hand speed":
            return f"{side} hand runs at up to {measured:.1f} m/s"
        case "hand acceleration":
            return f"{side} hand is accelerated by up to {measured:.0f} m/s2"
        case "hand turns":
            return f"{side} hand makes {measured:.1f} turns a second"
        case "head turns":
            return f"{side} head makes up to {measured:.1f} turns a second"
        case "reach":
            return f"{side} hand is {measured:.2f} arms from its shoulder"
        case _:
            return f"{side} tether would have to push for {100 * measured:.0f} % of the cycle"


def times_words(times: Fraction) -> str:
    """``"1 1/3 cycles"``, ``"2/3 of a cycle"``."""
    whole, part = divmod(times, 1)
    if not whole:
        return f"{part} of a cycle"
    number = f"{whole} {part}" if part else str(whole)
    return f"{number} cycle{'' if times == 1 else 's'}"


def _list(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
