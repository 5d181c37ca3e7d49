"""The findings of a transition, in sentences with their figures."""

from composer.check.change import Judged
from composer.check.findings import Finding
from composer.check.hand_change import HandChange
from composer.check.transitions import Transition
from composer.motion.hands import Hand

RULES = {
    "hand way": (
        "hand has far to go",
        "The figure breaks while the hand hurries to where the next move begins.",
    ),
    "hand turn-back": (
        "hand changes direction hard",
        "Shoulder and wrist must brake and push within one beat; repeated, that hurts.",
    ),
    "head heading": (
        "head changes its heading",
        "A tether cannot push: a head sent another way at speed pulls, tangles or hits.",
    ),
    "head turn-round": (
        "spin reverses without a stall",
        "A head is turned round where it hangs still; anywhere else it wrenches the wrist.",
    ),
    "tether catch-up": (
        "tether is out of phase",
        "The head has to gain or lose that much within the change, so a downbeat misses its beat.",
    ),
    "rate jump": (
        "head's rate jumps",
        "The head needs time to gain or lose speed, and meanwhile lags the music.",
    ),
    "plane change": (
        "plane changes",
        "With the tether along the planes' common line the place goes on and the heading turns.",
    ),
    "stall push": (
        "stall against gravity",
        "From a stall a head falls by itself; any other way the hand must throw or catch it.",
    ),
    "body turn": ("body turns fast", "A turn of the body takes time and steadiness."),
    "arms cross": ("arms come to cross", "Crossed arms must know which is in front."),
    "hands apart": (
        "hands meet on the way",
        "On straight ways the hands come to one place at one time: a hit, or a tangle of tethers.",
    ),
}
"""By limit: the rule's name in findings, and why it matters."""

_TOLD_BY = ("head turn-round", "tether catch-up", "plane change")
"""Where one of these is found, the head's change of heading is its consequence."""


def transition_findings(found: Transition) -> tuple[Finding, ...]:
    """Everything about a transition that passes a limit, gravest first.

    What both hands meet alike is one finding, of no hand in particular.
    """
    told = {(one.limit.name, one.hand) for one in found.judged if one.level}
    if not told:
        return ()
    kept = [
        one
        for one in found.judged
        if one.level
        and not (
            one.limit.name == "head heading" and any((name, one.hand) in told for name in _TOLD_BY)
        )
    ]
    findings = [
        _finding(found, one, alike=_is_alike(one, kept))
        for one in kept
        if not (one.hand is Hand.LEFT and _is_alike(one, kept))
    ]
    return tuple(sorted(findings, key=lambda finding: -finding.level))


def _is_alike(one: Judged, kept: list[Judged]) -> bool:
    """Whether the other hand has the same figure of the same limit."""
    return one.hand is not None and any(
        other.limit.name == one.limit.name
        and other.hand is one.hand.other
        and abs(other.measured - one.measured) < 1e-6
        for other in kept
    )


def _finding(found: Transition, one: Judged, *, alike: bool) -> Finding:
    level = one.level
    assert level is not None
    names = found.before.placement.move, found.after.placement.move
    rule, why = RULES[one.limit.name]
    return Finding(
        rule=rule,
        level=level,
        performer=found.after.performer,
        beat=found.beat,
        message=f"{names[0]} to {names[1]}: {_what(found, one, alike=alike)}",
        why=why,
        moves=names,
        hand=None if alike else one.hand,
        measured=one.measured,
        limit=one.limit.at(level),
        unit=one.limit.unit,
    )


def _what(found: Transition, one: Judged, *, alike: bool) -> str:
    seconds = f"{found.time.seconds:.2f} s"
    if one.hand is None:
        return _of_both(found, one, seconds)
    side = "each" if alike else f"the {one.hand}"
    return _OF_ONE_HAND[one.limit.name](found.hands[one.hand], side, seconds)


def _of_both(found: Transition, one: Judged, seconds: str) -> str:
    match one.limit.name:
        case "body turn":
            return f"the body turns by {degrees(found.body_turns)} in {seconds}"
        case "arms cross":
            return f"the arms come to cross, each hand {one.measured:.2f} m or more past the other"
        case _:
            return f"reaching straight the hands pass {one.measured:.2f} m from each other"


def _way(change: HandChange, side: str, seconds: str) -> str:
    return (
        f"{side} hand has {change.gap_m:.2f} m to go in {seconds}, "
        f"at up to {change.way_m_s:.1f} m/s"
    )


def _turn_back(change: HandChange, side: str, seconds: str) -> str:
    turned = change.hand_heading_turns
    heading = "" if turned is None else f" and its heading by {degrees(turned)}"
    return (
        f"{side} hand changes its velocity by {change.velocity_jump_m_s:.1f} m/s{heading} "
        f"in {seconds}, {change.turn_back_m_s2:.0f} m/s2"
    )


def _heading(change: HandChange, side: str, seconds: str) -> str:
    return f"{side} head's heading turns by {degrees(change.head_heading_turns or 0)} in {seconds}"


def _turn_round(change: HandChange, side: str, _seconds: str) -> str:
    return (
        f"{side} head reverses while it runs {change.turn_round_m_s:.1f} m/s about the hand, "
        "with no stall to turn in"
    )


def _catch_up(change: HandChange, side: str, seconds: str) -> str:
    text = f"{side} tether points {degrees(change.tether_gap_turns)} from where the next move "
    if change.tether_off_line_turns > 1e-6:
        return (
            f"{text}begins: it lies {degrees(change.tether_off_line_turns)} off the planes' "
            "common line"
        )
    return f"{text}begins, to be made up in {seconds}"


def _rate(change: HandChange, side: str, seconds: str) -> str:
    return (
        f"{side} head goes from {change.spin_before_turns_s:.2f} to "
        f"{change.spin_after_turns_s:.2f} turns/s in {seconds}"
    )


def _plane(change: HandChange, side: str, _seconds: str) -> str:
    off = change.tether_off_line_turns
    where = "along" if off < 1e-6 else f"{degrees(off)} off"
    return (
        f"{side} prop's plane turns by {degrees(change.plane_turns)} in the room, the tether "
        f"{where} the planes' common line"
    )


def _push(change: HandChange, side: str, _seconds: str) -> str:
    fast_after = change.spin_after_turns_s >= change.spin_before_turns_s
    words = "leaves its stall" if fast_after else "comes to its stall"
    return f"{side} head {words} at {change.stall_push_m_s:.1f} m/s with no help from gravity"


_OF_ONE_HAND = {
    "hand way": _way,
    "hand turn-back": _turn_back,
    "head heading": _heading,
    "head turn-round": _turn_round,
    "tether catch-up": _catch_up,
    "rate jump": _rate,
    "plane change": _plane,
    "stall push": _push,
}


def degrees(turns: float) -> str:
    return f"{360 * turns:.0f} degrees"
