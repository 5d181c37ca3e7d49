"""How quickly a finding is given its remedies: the two faults of the shipped routine; CPU time."""

import gc
import time
from pathlib import Path

from composer.arrange import candidates
from composer.arrange.remedies import remedies_for
from composer.check import checks, demands, fit, moment
from composer.check.checks import check_routine
from composer.check.findings import Finding, Level
from composer.files.routine_file import load_routine
from composer.motion import measures
from composer.moves import perform
from composer.moves.library import Library, shipped_library
from composer.score.routine import Routine

ROUTINE = Path(__file__).parents[2] / "routines" / "lantern_quay.toml"


def forget_everything() -> None:
    for kept in (
        checks._desk, moment._performed, moment._moment, demands._shape, demands.demands,
        fit._rates_closing_in, fit._symmetry_turns, fit._turns_by_phase, fit._lands, fit._shares,
        fit._is_mirror_image, perform._perform, measures.symmetries, candidates._quiet_placements,
    ):  # fmt: skip
        kept.cache_clear()
    gc.collect()


def took_s(routine: Routine, library: Library, finding: Finding) -> float:
    begun = time.process_time()
    assert remedies_for(routine, library, finding)
    return time.process_time() - begun


def test_remedies_of_both_faults_of_the_shipped_routine() -> None:
    """Each in under half a second, with every bridge and filler performed for the first time."""
    library, routine = shipped_library(), load_routine(ROUTINE)
    faults = [f for f in check_routine(routine, library) if f.level >= Level.WARNING]
    assert len(faults) == 2
    for fault in faults:
        unknown = []
        for _ in range(3):
            forget_everything()
            check_routine(routine, library)
            unknown.append(took_s(routine, library, fault))
        again = min(took_s(routine, library, fault) for _ in range(3))
        print(f"\n{fault.rule}: {min(unknown):.2f} s; asked again {again:.2f} s")
        assert min(unknown) < 0.5
