"""How quickly hybrids are told apart, moves performed and drawn: printed, limits asserted."""

import time
from collections.abc import Callable
from fractions import Fraction

import numpy as np

from composer.export.picture_cells import move_cells
from composer.export.picture_page import move_picture
from composer.export.picture_png import picture_png
from composer.motion.body import Body, Prop
from composer.motion.kinematics import track_motion
from composer.motion.plane import Plane
from composer.moves.explore import FOUR_RELATIONS, UNTURNED, candidates
from composer.moves.library import shipped_library
from composer.moves.perform import Style, perform

BODY, PROPS = Body(), (Prop(), Prop())
TURNS = tuple(Fraction(k, 8) for k in range(4))
LIBRARY = shipped_library()
MOVE = LIBRARY.get("diamond with two-petal in-spin, split opposite")


def seconds(job: Callable[[], object], *, runs: int = 5) -> float:
    """Processor time, best of some runs: what one core needs, whatever else the machine does."""
    best = float("inf")
    for _ in range(runs):
        begun = time.process_time()
        job()
        best = min(best, time.process_time() - begun)
    return best


def test_hybrids_of_all_shipped_one_hand_patterns_a_second() -> None:
    """Enumerated from nothing: every plane, four relations, all entries; then turned ones too."""
    shipped = list(LIBRARY.one_hand())
    for turns in (UNTURNED, TURNS):
        counts = []

        def combined(turns: tuple[Fraction, ...] = turns, counts: list[int] = counts) -> None:
            counts.append(
                sum(
                    len(
                        candidates(
                            [move for move in shipped if move.plane is plane],
                            BODY,
                            PROPS,
                            relations=FOUR_RELATIONS,
                            orientations=turns,
                        )
                    )
                    for plane in Plane
                )
            )

        took = seconds(combined, runs=3)
        a_second = counts[0] / took
        print(f"\nhybrids enumerated and classified: {counts[0]}, {a_second:,.0f} a second")
        assert counts[0] > 10_000
        assert a_second > 20_000


def test_ten_thousand_phases_of_one_hybrid() -> None:
    performance = perform(MOVE, Style(), BODY, PROPS)
    phases = np.linspace(0, 1, 10_000)

    def evaluated() -> None:
        for track in performance.tracks.values():
            track_motion(track, phases)

    took_ms = seconds(evaluated, runs=20) * 1e3
    print(f"\n10,000 phases of both hands: {took_ms:.2f} ms")
    assert took_ms < 2


def test_performances_made_and_asked_for_again() -> None:
    again = seconds(lambda: [perform(MOVE, Style(), BODY, PROPS) for _ in range(1000)]) / 1000
    bodies = iter([Body(stature_m=1.5 + 0.0001 * k) for k in range(1100)])
    fresh = seconds(lambda: [perform(MOVE, Style(), next(bodies), PROPS) for _ in range(200)])
    print(
        f"\na performance made: {fresh / 200 * 1e3:.2f} ms, asked for again: {again * 1e6:.1f} us"
    )
    assert fresh / 200 < 5e-3
    assert again < 100e-6


def test_pictures() -> None:
    performance = perform(MOVE, Style(), BODY, PROPS)
    cells_ms = seconds(lambda: move_cells(performance, BODY, columns=80, rows=40)) * 1e3
    png_s = seconds(lambda: picture_png(move_picture(MOVE, performance, BODY)), runs=3)
    print(f"\na trail of 80 x 40 cells: {cells_ms:.1f} ms, a PNG of 900 px: {png_s:.2f} s")
    assert cells_ms < 30
    assert png_s < 3
