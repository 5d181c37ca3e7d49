"""Cautions that stand beside every check: figures to respect, and who decides. Never a verdict."""

from dataclasses import dataclass

from composer.check.performed import CannotEnter, performed
from composer.check.physics import demands_in
from composer.errors import UnknownName
from composer.motion.gravity import kinetic_energy_j
from composer.motion.hands import Hand
from composer.moves.library import Library
from composer.score.parts import PlacedMove, performed_parts
from composer.score.routine import Performer, Routine

CLOSING = (
    "This advises, it does not certify. Warm up; rest on pain. Local codes, the venue and licensed "
    "practice come first."
)
FIRE = (
    "Fire: practise it unlit until it is sure; a trained safety person, fuel, clothing and "
    "distances by local code and licensed practice; ask the authority that decides."
)


@dataclass(frozen=True, slots=True)
class FastestHead:
    """Where one performer's heads run fastest, and what is in them there."""

    performer: str
    move: PlacedMove
    hand: Hand
    speed_m_s: float
    energy_j: float
    clear_radius_m: float
    """Arm, tether and head: the circle to keep clear, before any margin."""


def fastest_head(
    routine: Routine, performer: Performer, moves: tuple[PlacedMove, ...], library: Library
) -> FastestHead | None:
    """The fastest head among a performer's moves; None where nothing can be performed."""
    found: FastestHead | None = None
    for move in moves:
        placement = move.placement
        try:
            done = performed(placement, performer, library)
        except (UnknownName, CannotEnter):
            continue
        told = demands_in(done, performer, placement.span, placement.rate, routine.grid)
        for hand, demand in told.items():
            if found is None or demand.head_speed_m_s > found.speed_m_s:
                prop = performer.prop(hand)
                found = FastestHead(
                    performer.name,
                    move,
                    hand,
                    demand.head_speed_m_s,
                    kinetic_energy_j(prop.head_mass_kg, demand.head_speed_m_s),
                    performer.body.arm_m + prop.length_m + prop.head_radius_m,
                )
    return found


def caution_lines(
    routine: Routine, library: Library, performers: tuple[str, ...] = ()
) -> tuple[str, ...]:
    """What is printed beside the findings, for these performers or for all."""
    parts = performed_parts(routine)
    names = performers or tuple(parts)
    alike: dict[tuple[str, str], list[str]] = {}
    for name in names:
        fastest = fastest_head(routine, routine.performer(name), parts[name], library)
        if fastest is not None:
            alike.setdefault(_figures(routine, fastest), []).append(name)
    lines = [_head_line(*figures, told) for figures, told in alike.items()]
    if any(routine.performer(name).fire for name in names):
        lines.append(FIRE)
    return (*lines, CLOSING)


def _figures(routine: Routine, fastest: FastestHead) -> tuple[str, str]:
    """How fast and where, and the circle: what performers who do the same have in common."""
    place = routine.grid.place_text(fastest.move.span.start_beat)
    speed = (
        f"heads run up to {fastest.speed_m_s:.1f} m/s, {fastest.energy_j:.1f} J, in "
        f"{fastest.move.placement.move} at {place}"
    )
    return speed, f"{fastest.clear_radius_m:.2f} m"


def _head_line(speed: str, radius: str, names: list[str]) -> str:
    about = "her" if len(names) == 1 else "each of them"
    return (
        f"{', '.join(names)}: {speed}. Clear a circle of {radius} and a margin about {about}, "
        "ceiling and lights included; face and eyes: no contact is acceptable."
    )
