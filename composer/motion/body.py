"""The performer's measures, her props, and what she can comfortably do."""

from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

PropKind = Literal["poi", "staff", "club", "hoop", "fan"]

# Ratios to stature: 2012 Anthropometric Survey of U.S. Army Personnel (ANSUR II), NATICK/TR-15/007,
# means of men's and women's ratios. Soldiers are not the public: every measure can be replaced.
SHOULDER_HEIGHT_TO_STATURE = 0.820
SHOULDER_BREADTH_TO_STATURE = 0.2305
ARM_TO_STATURE = 0.388
MEDIAN_STATURE_M = 1.69
"""Midway between the ANSUR II medians, men 1.755 and women 1.626 m."""


@dataclass(frozen=True, slots=True)
class Prop:
    """What one hand holds. ``length_m`` runs from the hand to the middle of the head."""

    kind: PropKind = "poi"
    length_m: float = 0.55
    head_mass_kg: float = 0.10
    head_radius_m: float = 0.04
    handle_m: float = 0.0
    """Rigid props only: how far the prop reaches beyond the hand on the other side."""

    def __post_init__(self) -> None:
        for name, unit in (("length_m", "m"), ("head_mass_kg", "kg"), ("head_radius_m", "m")):
            value = getattr(self, name)
            if not 0 < value < 100:
                raise ValueError(f"a prop's {name} must be positive, got {value} {unit}")
        if not 0 <= self.handle_m < 100:
            raise ValueError(f"a prop's handle_m must not be negative, got {self.handle_m} m")

    @property
    def is_tether(self) -> bool:
        """A tether pulls but cannot push: it can go slack."""
        return self.kind == "poi"


@dataclass(frozen=True, slots=True)
class Comfort:
    """What a performer does without strain. Settings, not laws: every one can be replaced."""

    hand_turns_per_s: float = 2.0
    """Near the limit of performance on a crank of 0.10 m: Hermus et al., J. Neurophysiol. 2020."""
    hand_speed_m_s: float = 5.0
    """Ours, below the 7 m/s at which ``hand_speed_limit_m_s`` rejects."""
    hand_speed_limit_m_s: float = 7.0
    """Punches in combination run 7.5 to 8 m/s: Piorkowski, Lees, Barton, Sports Biomech. 2011."""
    hand_acceleration_m_s2: float = 60.0
    """Ours: no published limit for free circles was found."""
    hand_events_hz: float = 5.0
    """The hand's repetitions fall apart above 5 Hz: PubMed 19429090, 2009."""


@dataclass(frozen=True, slots=True)
class Body:
    """Measures in metres; what is not given follows from stature."""

    stature_m: float = MEDIAN_STATURE_M
    arm_m: float = 0.0
    """Shoulder to the middle of the grip; 0 at construction means from stature."""
    shoulder_height_m: float = 0.0
    shoulder_breadth_m: float = 0.0
    comfort: Comfort = field(default_factory=Comfort)

    def __post_init__(self) -> None:
        if not 0.5 < self.stature_m < 2.6:
            raise ValueError(f"a stature lies between 0.5 and 2.6 m, got {self.stature_m} m")
        for name, ratio in (
            ("arm_m", ARM_TO_STATURE),
            ("shoulder_height_m", SHOULDER_HEIGHT_TO_STATURE),
            ("shoulder_breadth_m", SHOULDER_BREADTH_TO_STATURE),
        ):
            value = getattr(self, name)
            if value == 0:
                object.__setattr__(self, name, ratio * self.stature_m)
            elif not 0 < value < 3:
                raise ValueError(f"a body's {name} must be positive, got {value} m")

    def shoulder_m(self, hand: Literal["right", "left"]) -> complex:
        """The shoulder in the wall plane, from the middle of the chest at shoulder height."""
        return complex(self.shoulder_breadth_m / 2 * (1 if hand == "right" else -1), 0.0)


SURVEY_BODIES = MappingProxyType(
    {
        "small woman": Body(1.525, 0.577, 1.242, 0.335),
        "median woman": Body(1.626, 0.627, 1.332, 0.365),
        "median man": Body(1.755, 0.684, 1.439, 0.415),
        "large man": Body(1.870, 0.740, 1.546, 0.447),
    }
)
"""5th and 50th percentiles of women, 50th and 95th of men, in ANSUR II; each measure on its own."""
