"""The petalbar command: the core's commands and those that need the terminal UI."""

import gc
import os
import signal
import sys

COMMANDS = {
    "demo": ("tui.commands.demo", "The whole job on a shipped track."),
    "open": ("tui.commands.open", "Place moves on the beats of a routine or a track."),
    "browser": ("tui.commands.browser", "The same in a browser on this machine."),
    "rehearse": ("tui.commands.rehearse", "Play the track with the next move called."),
    "words": ("tui.commands.words", "What the words mean: entry, split, closes and the others."),
}

GC_THRESHOLDS = (20_000, 50, 50)
"""What is loaded and kept is much and lasts: looking through all of it often is felt as a hitch."""


def main() -> None:
    # Until run() can say so in a line of its own, Ctrl-C just ends the program.
    handler = signal.signal(signal.SIGINT, signal.SIG_DFL)
    from composer.cli import build_group, run

    signal.signal(signal.SIGINT, handler)
    gc.set_threshold(*GC_THRESHOLDS)
    # Plugins of pydantic are looked for in every installed package; there is none to be found.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    sys.exit(run(build_group(COMMANDS)))


if __name__ == "__main__":
    main()
