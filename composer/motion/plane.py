"""The three usual planes of the trade. Room: x to the performer's right, y forward, z up."""

from enum import StrEnum


class Plane(StrEnum):
    """Across and up of a plane, and which way it faces, for a performer facing the audience."""

    WALL = "wall"
    """Across is x, up is z: facing the audience like a wall."""
    WHEEL = "wheel"
    """Across is y (forward), up is z: like a wheel rolling to the audience."""
    FLOOR = "floor"
    """Across is x, "up" is y (forward): lying like a floor, seen from above."""
