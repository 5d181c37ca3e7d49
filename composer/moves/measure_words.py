"""The measures of a move in words and units, row by row, for terminal, screen and sheet alike."""

from dataclasses import dataclass
from fractions import Fraction
from math import inf

from composer.motion.approach import TOUCH_M, Parts
from composer.motion.body import Body
from composer.motion.gravity import SwingFit
from composer.moves.measured import HandMeasures, Measured, PairMeasures, Peak, Shape

_COMPASS = {
    Fraction(0): "right",
    Fraction(1, 8): "upper right",
    Fraction(1, 4): "up",
    Fraction(3, 8): "upper left",
    Fraction(1, 2): "left",
    Fraction(5, 8): "lower left",
    Fraction(3, 4): "down",
    Fraction(7, 8): "lower right",
}
COUNTED_PARTS = (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 18, 20, 24)
"""Parts of a beat that are told as fractions."""
MOST_COUNTS = 8
"""Counts that a row lists one by one."""


@dataclass(frozen=True, slots=True)
class MeasureRow:
    """One line: under which heading, what, and how much."""

    heading: str
    label: str
    text: str


def measure_rows(measured: Measured, body: Body) -> tuple[MeasureRow, ...]:
    """All measures as rows, the shared ones first, then each hand's."""
    rows = [MeasureRow("timing", *row) for row in _timing(measured)]
    if measured.pair is not None:
        rows += [MeasureRow("both hands", *row) for row in _pair(measured.pair)]
    for hand in measured.hands:
        rows += [MeasureRow(f"{hand.hand} hand", *row) for row in _hand(hand, body)]
    reasons = "; ".join(
        f"{reason.points:g} {reason.words}" for reason in measured.difficulty.reasons
    )
    points = f"{measured.difficulty.points:g} points"
    rows.append(MeasureRow("difficulty", points, reasons or "nothing that counts"))
    return tuple(rows)


def count_words(count: Fraction | float) -> str:
    """A count from 1: as ``"2 1/3"`` where it is a fraction one counts in, else to two places."""
    for parts in COUNTED_PARTS:
        plain = Fraction(round(count * parts), parts)
        if abs(float(plain) - float(count)) < 5e-4:
            whole, part = divmod(plain, 1)
            return f"{whole} {part}" if part else str(whole)
    return f"{float(count):.2f}"


def _counts(counts: tuple[Fraction, ...]) -> str:
    told = [count_words(count) for count in counts[:MOST_COUNTS]]
    more = len(counts) - len(told)
    return ", ".join(told) + (f" and {more} more" if more else "")


def _timing(measured: Measured) -> list[tuple[str, str]]:
    beats = count_words(measured.cycle_beats)
    plural = "" if measured.cycle_beats == 1 else "s"
    rate = f"{measured.rate} downbeat{'' if measured.rate == 1 else 's'} a beat"
    return [
        ("tempo", f"{measured.bpm:g} beats a minute, {rate}"),
        ("closes after", f"{beats} beat{plural}, {measured.cycle_s:.2f} s"),
    ]


def _pair(pair: PairMeasures) -> list[tuple[str, str]]:
    near = {approach.parts: approach for approach in pair.nearest}
    head_to_hand = min(
        near[Parts.RIGHT_HEAD_LEFT_HAND].distance_m, near[Parts.LEFT_HEAD_RIGHT_HAND].distance_m
    )
    rows = [
        ("families", ", ".join(sorted(pair.families)) or "none of the named ones"),
        ("hands", pair.hands),
        ("heads", pair.heads),
        ("heads meet", _meeting(pair)),
        ("heads nearest", f"{pair.heads_apart.nearest_m:.2f} m"),
        ("heads furthest", f"{pair.heads_apart.furthest_m:.2f} m" + _on(pair.furthest)),
        ("head to other hand", f"{head_to_hand:.2f} m at the nearest"),
    ]
    rows += [
        (
            f"{risk.kind}",
            f"{risk.parts}, {_clearance(risk.clearance_m)}{_on(counts)}, if flown in one plane",
        )
        for risk, counts in pair.risks
    ]
    return rows


def _meeting(pair: PairMeasures) -> str:
    if pair.meetings:
        return f"on counts {_counts(pair.meetings)}"
    if pair.heads_apart.is_constant and pair.heads_apart.nearest_m < TOUCH_M:
        return "always together"
    return "never"


def _on(counts: tuple[Fraction, ...]) -> str:
    return f", on counts {_counts(counts)}" if counts else ", all the time"


def _clearance(clearance_m: float) -> str:
    if clearance_m > 0:
        return f"only {clearance_m * 100:.0f} cm clear"
    return "touching"


def _hand(hand: HandMeasures, body: Body) -> list[tuple[str, str]]:
    beyond = hand.reach_m > body.arm_m + 1e-9
    reach = f"{hand.reach_m:.2f} m from the shoulder, arm {body.arm_m:.2f} m"
    return [
        ("turns", f"head {hand.head_turns}, hand {hand.hand_turns} in a closure"),
        ("downbeats", f"{len(hand.downbeats)} in the cycle" + _downbeat_counts(hand)),
        *(_drawn(hand.shape) if hand.shape is not None else []),
        ("symmetry", _symmetry(hand)),
        (
            "head's way",
            f"{hand.path_length_m:.2f} m in a closure, round {_area(hand.area_m2)}",
        ),
        ("joints", _joints(hand)),
        ("head speed", f"{_most(hand.head_speed_m_s, 'm/s')}, {hand.energy_j:.1f} J"),
        ("head acceleration", _most(hand.head_acceleration_m_s2, "m/s2")),
        ("hand speed", _most(hand.hand_speed_m_s, "m/s")),
        ("hand acceleration", _most(hand.hand_acceleration_m_s2, "m/s2")),
        ("reach", f"{reach}: beyond it" if beyond else reach),
        ("pull", _pull(hand)),
        ("taut", _taut(hand)),
        ("held still", _still(hand)),
        *([("swing", _swing(hand.swing))] if hand.swing is not None else []),
        (
            "driving",
            f"a real head asks the hand up to {hand.correction_m * 100:.0f} cm off its path",
        ),
        *([("drawing", _drawing(hand.sideways_share))] if hand.sideways_share is not None else []),
    ]


def _downbeat_counts(hand: HandMeasures) -> str:
    return f", on counts {_counts(hand.downbeats)}" if hand.downbeats else ""


def _drawn(shape: Shape) -> list[tuple[str, str]]:
    if not shape.petals:
        return [("figure", "a circle")]
    plural = "" if shape.petals == 1 else "s"
    tips = ", ".join(direction_words(turns) for turns in sorted(set(shape.tip_turns)))
    words = [f"{shape.petals} petal{plural}: {tips}"]
    if shape.star is not None:
        words.append(f"star {{{shape.star[0]}/{shape.star[1]}}}")
    if shape.outline is not None:
        words.append(f"{shape.outline}s" if shape.outline != "wave" else "no loops")
    if shape.through_centre:
        words.append("through the middle")
    if shape.straight_sided:
        words.append("straight sides")
    return [("figure", ", ".join(words))]


def direction_words(turns: Fraction) -> str:
    """``"up"``, ``"lower left"``, or degrees from the right, counter-clockwise."""
    turns = turns % 1
    return _COMPASS.get(turns, f"{float(turns) * 360:.0f} degrees")


def _symmetry(hand: HandMeasures) -> str:
    if hand.shape is not None and not hand.shape.petals:
        return "the same however it is turned"
    if hand.symmetry_order == 1:
        return "none by turning"
    return f"the same after each 1/{hand.symmetry_order} turn"


def _joints(hand: HandMeasures) -> str:
    if not hand.abrupt_joints:
        return "smooth throughout"
    plural = "" if hand.abrupt_joints == 1 else "s"
    return f"hand or spin changes at once in {hand.abrupt_joints} place{plural}"


def _most(peak: Peak, unit: str) -> str:
    if peak.count is None:
        return f"{_rounded(peak.value)} {unit} throughout"
    return f"{_rounded(peak.value)} {unit} at most, on count {count_words(peak.count)}"


def _area(area_m2: float) -> str:
    return f"{round(area_m2, 2) + 0.0:+.2f} m2"


def _pull(hand: HandMeasures) -> str:
    least, most = hand.least_pull_n, hand.greatest_pull_n
    if least.count is None:
        return _most(most, "N")
    least_words = f"{_rounded(least.value)} N at least, on count {count_words(least.count)}"
    return f"{least_words}; {_most(most, 'N')}"


def _rounded(value: float) -> str:
    return f"{round(value, 1) + 0.0:.1f}"


def _taut(hand: HandMeasures) -> str:
    if hand.taut_bpm is None:
        return "at no tempo as drawn: the hand must help or catch it"
    slowest, fastest = hand.taut_bpm
    if slowest == 0 and fastest == inf:
        return "at any tempo"
    above = "" if fastest == inf else f" and up to {fastest:.0f}"
    words = f"from {slowest:.0f}{above} beats a minute as drawn"
    if hand.slack:
        stretches = ", ".join(
            f"{count_words(low)} to {count_words(high)}" for low, high in hand.slack
        )
        words += f"; now slack on counts {stretches}"
    return words


def _swing(swing: SwingFit) -> str:
    asked = f"asks for {swing.wanted_s:.2f} s there and back"
    if swing.amplitude_turns is None:
        how = "quicker than any" if swing.ratio < 1 else "slower than any"
        return f"{asked}, {how} free swing of this tether: the hand must drive it"
    return f"{asked}: free at {swing.amplitude_turns * 360:.0f} degrees to either side"


def _drawing(sideways_share: float) -> str:
    return (
        f"evenly turned, no simulation: up to {100 * sideways_share:.0f} % of the spin's pull "
        "would act across the tether"
    )


def _still(hand: HandMeasures) -> str:
    per_minute = hand.slowest_even_hz * 60, hand.slowest_free_hz * 60
    words = (
        f"slowest even turning {per_minute[0]:.0f} a minute, slowest let run free "
        f"{per_minute[1]:.0f}"
    )
    return f"{words}, small swing {hand.small_swing_s:.2f} s there and back"
