"""The petalbar command: the core's commands and those that need the terminal UI."""

import sys

from composer.cli import build_group, run

COMMANDS = {
    "demo": ("tui.commands.demo", "The whole job on a shipped track."),
    "open": ("tui.commands.open", "Place moves on the beats of a routine or a track."),
    "rehearse": ("tui.commands.rehearse", "Play the track with the next move called."),
}


def main() -> None:
    sys.exit(run(build_group(COMMANDS)))


if __name__ == "__main__":
    main()
