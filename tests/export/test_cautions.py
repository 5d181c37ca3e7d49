"""What is printed beside every sheet and page: figures to respect, who decides, never a verdict."""

from dataclasses import replace

from composer.check.cautions import CLOSING, FIRE
from composer.export.cautions import cautions


def test_every_sheet_bears_heads_light_hearing_and_who_decides(solo, library):
    """NIOSH, criteria document 98-126: 85 dBA for 8 hours, half as long for every 3 dB more. Props
    that blink: Epilepsy Society (UK), as a caution. For face and eyes no contact is acceptable."""
    told = cautions(solo, library, ("Wren",))
    words = " ".join(told)
    assert told[-1] == CLOSING
    for needed in ("m/s", "face and eyes: no contact", "85 dBA", "8 hours", "3 dB", "seizures",
                   "licensed practice"):  # fmt: skip
        assert needed in words
    assert "safe" not in words.lower().replace("safety person", "")
    assert FIRE not in told


def test_fire_is_told_of_and_heads_even_where_nothing_is_placed(solo, library):
    lit = replace(solo, performers=(replace(solo.performers[0], fire=True),), parts=())
    told = cautions(lit, library, ("Wren",))
    assert FIRE in told
    assert any("face and eyes: no contact" in line for line in told)
    assert not any("m/s" in line for line in told)
