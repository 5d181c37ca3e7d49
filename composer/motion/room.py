"""Hand and head in three dimensions: a pattern's motion laid into the room."""

from dataclasses import dataclass

from composer.motion.kinematics import Floats, Motion
from composer.motion.placed_plane import PlacedPlane


@dataclass(frozen=True, slots=True)
class RoomMotion:
    """Room vectors at some instants, each shape=(n, 3): metres, m/s, m/s^2."""

    hand_m: Floats
    hand_velocity: Floats
    hand_acceleration: Floats
    head_m: Floats
    head_velocity: Floats
    head_acceleration: Floats


def in_the_room(motion: Motion, plane: PlacedPlane) -> RoomMotion:
    """A plane motion as the room sees it; speeds and distances stay what they were."""
    return RoomMotion(
        hand_m=plane.place(motion.hand_m),
        hand_velocity=plane.vector(motion.hand_velocity),
        hand_acceleration=plane.vector(motion.hand_acceleration),
        head_m=plane.place(motion.head_m),
        head_velocity=plane.vector(motion.head_velocity),
        head_acceleration=plane.vector(motion.head_acceleration),
    )
