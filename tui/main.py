"""The petalbar command: the core's commands and those that need the terminal UI."""

import signal
import sys

COMMANDS = {
    "demo": ("tui.commands.demo", "The whole job on a shipped track."),
    "open": ("tui.commands.open", "Place moves on the beats of a routine or a track."),
    "rehearse": ("tui.commands.rehearse", "Play the track with the next move called."),
}


def main() -> None:
    # Until run() can say so in a line of its own, Ctrl-C just ends the program.
    handler = signal.signal(signal.SIGINT, signal.SIG_DFL)
    from composer.cli import build_group, run

    signal.signal(signal.SIGINT, handler)
    sys.exit(run(build_group(COMMANDS)))


if __name__ == "__main__":
    main()
