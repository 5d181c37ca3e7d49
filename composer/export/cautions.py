"""The usual cautions, printed on every sheet and page. They advise; they certify nothing.

Those about heads and fire are the check's own, with its figures; hearing and flashing are added
here. The hearing figure is the recommended exposure limit of NIOSH (criteria document 98-126):
85 dBA for 8 hours, half the time for every 3 dB more.
"""

from composer.check.cautions import caution_lines
from composer.moves.library import Library
from composer.score.routine import Routine

HEADS = (
    "Heads are fast: keep a circle of arm, tether and margin clear of people, ceilings and lights; "
    "face and eyes: no contact is acceptable."
)
FLASHING = (
    "Props that blink or strobe can trigger seizures: tell the audience beforehand, and keep to "
    "the venue's rules."
)
HEARING = (
    "Loud rehearsal harms hearing: at 85 dBA rest the ears after 8 hours, and after half that "
    "time for every 3 dB more. The level is not measured here."
)


def cautions(routine: Routine, library: Library, names: tuple[str, ...]) -> tuple[str, ...]:
    """The cautions that go with these performers' parts, a sentence or two each."""
    *figures, closing = caution_lines(routine, library, names)
    heads = () if any("m/s" in line for line in figures) else (HEADS,)
    return (*heads, *figures, FLASHING, HEARING, closing)
