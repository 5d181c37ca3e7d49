"""petalbar rehearse: the track with the next move called."""

from fractions import Fraction
from pathlib import Path

import click

from composer.commands.numbers import Whole


@click.command(
    "rehearse",
    epilog="\b\nExamples:\n  petalbar rehearse mine.toml\n"
    "  petalbar rehearse mine.toml --performer Wren --bar 17\n"
    "  petalbar rehearse mine.toml --osc 192.0.2.7:9000",
)
@click.argument("routine", type=click.Path(path_type=Path))
@click.option(
    "--performer", metavar="NAME", default="", help="Whose cues are called; by default the first."
)
@click.option("--bar", default=1, show_default=True, type=Whole(0), help="Begin here.")
@click.option("--midi-clock", metavar="PORT", help="Send MIDI clock and song position there.")
@click.option("--time-code", metavar="PORT", help="Send MIDI time code (25 frames) there.")
@click.option("--osc", metavar="HOST:PORT", help="Send a message for each beat, call and cue.")
def command(
    routine: Path,
    performer: str,
    bar: int,
    midi_clock: str | None,
    time_code: str | None,
    osc: str | None,
) -> int:
    """Play the track with the next move called on the beat; learn it in parts, slowed down."""
    import sys

    from composer.errors import ComposerError
    from composer.files.move_library import load_library
    from composer.files.routine_file import load_routine

    loaded = load_routine(routine)
    start_beat = min(loaded.grid.meter_map.bar_start_beat(bar), loaded.grid.end_beat - 1)
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise ComposerError(
            'rehearsing needs a terminal; "petalbar cues" prints the cue list, "petalbar export '
            '--as practice-audio" makes a file to play'
        )
    from tui.app import quiet_libraries
    from tui.rehearsal_app import RehearsalApp
    from tui.rehearsing import open_sync, rehearse_screen

    with quiet_libraries():
        screen = rehearse_screen(
            loaded, routine, load_library(), performer=performer, start_beat=Fraction(start_beat)
        )
        sync = open_sync(screen, midi_clock=midi_clock, time_code=time_code, osc=osc)
        app = RehearsalApp(screen)
        status = app.run() or app.return_code or 0
        if sync is not None:
            sync.close()
    return status
