"""The usual cautions, printed on every sheet and page. They advise; they certify nothing.

What they ask for is common practice among fire and prop performers; the hearing figure is the
recommended exposure limit of NIOSH (criteria document 98-126): 85 dBA for 8 hours, half the time
for every 3 dB more.
"""

from composer.score.routine import Routine

GENERAL = (
    "Heads are fast: keep a circle of arm, tether and margin clear of people, ceilings and lights. "
    "For face and eyes no contact is acceptable.",
    "Warm up; rest when something hurts.",
)
FIRE = (
    "Fire: practise unlit first, and light up only with a trained safety person, by your local "
    "code and with licensed practice. Ask your fire authority before any audience."
)
HEARING = (
    "Loud rehearsal harms hearing: at 85 dBA rest the ears after 8 hours, and after half that "
    "time for every 3 dB more. The level is not measured here."
)
FLASHING = (
    "Props that blink or strobe can trigger seizures: tell the audience beforehand, and keep to "
    "the venue's rules."
)
DEFER = "Local codes and licensed practice always come first; this sheet only advises."


def cautions(routine: Routine, *, with_sound: bool = False) -> tuple[str, ...]:
    """The cautions that go with a routine, one sentence or two each."""
    fire = (FIRE,) if any(performer.fire for performer in routine.performers) else ()
    hearing = (HEARING,) if with_sound else ()
    return (*GENERAL, *fire, FLASHING, *hearing, DEFER)
