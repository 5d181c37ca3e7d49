"""The command line: one command a module, loaded only when it is called.

Exit status: 0 done; 1 a check found something at or above the level asked for; 2 the job could
not be done (one line on standard error says why and what to do); 3 a fault of petalbar's own.
"""

import io
import sys
from collections.abc import Mapping, Sequence
from importlib import import_module

import click

from composer import __version__
from composer.errors import ComposerError
from composer.moves.written import CONTROL

COMMANDS: dict[str, tuple[str, str]] = {
    "new": ("composer.commands.new", "Start a routine on a track."),
    "listen": ("composer.commands.listen", "Find tempo, beats, bars and phrases of tracks."),
    "relisten": ("composer.commands.relisten", "Listen again; keep what you put right."),
    "check": ("composer.commands.check", "Say which moves do not fit and which wrench."),
    "follow": ("composer.commands.follow", "What can follow at a place, and why."),
    "fill": ("composer.commands.fill", "Whole fillings for the bars between highlights."),
    "settle": ("composer.commands.settle", "Best entries and turns for moves in their order."),
    "form": ("composer.commands.form", "Put a group in a formation."),
    "landing": ("composer.commands.landing", "Who lands together, bar by bar."),
    "cues": ("composer.commands.cues", "Print the cue list of a routine."),
    "repertoire": ("composer.commands.repertoire", "Which moves a performer has, and how firmly."),
    "export": ("composer.commands.export", "MIDI, captions, sheets, audio, a page for the phone."),
    "cut": ("composer.commands.cut", "Cut the music to stage length."),
    "moves": ("composer.commands.moves", "List the moves of the library."),
    "move": ("composer.commands.move", "Everything about one move, computed."),
    "explore": ("composer.commands.explore", "Combine patterns and see what comes out."),
    "draw": ("composer.commands.draw", "Draw a move as SVG or PNG."),
    "floor": ("composer.commands.floor", "Who stands where: plans as text, SVG or PNG."),
    "compare": ("composer.commands.compare", "What changed between two versions."),
    "merge": ("composer.commands.merge", "Two people's versions in one file."),
}
"""Command: where it is, and its line in the help. The UI adds its own."""

EXAMPLES = """\b
Begin here:
  petalbar demo                            the whole job on a shipped track
  petalbar listen song.mp3                 what the music is made of
  petalbar new song.mp3 -o mine.toml       a routine on your own track
  petalbar open mine.toml                  place moves on its beats
  petalbar check mine.toml                 what does not fit, what wrenches
  petalbar rehearse mine.toml              play it with calls
  petalbar export mine.toml --as pdf       sheets; see petalbar export --help
  petalbar words                           what the words mean

\b
Exit status: 0 done, 1 findings, 2 could not be done, 3 a fault of petalbar's own."""


class LazyGroup(click.Group):
    """Commands by name, their modules imported when first called, so that help is quick."""

    def __init__(self, lazy: Mapping[str, tuple[str, str]]) -> None:
        super().__init__(
            name="petalbar",
            help="Fit prop-spinning moves to the beats, bars and phrases of a track.",
            epilog=EXAMPLES,
            context_settings={"help_option_names": ["-h", "--help"]},
        )
        self._lazy = dict(lazy)

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return list(self._lazy)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in self._lazy:
            return None
        command: click.Command = import_module(self._lazy[cmd_name][0]).command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name = args[0] if args else ""
        if name and not name.startswith("-") and name not in self._lazy:
            from difflib import get_close_matches

            near = get_close_matches(name, self._lazy, n=1)
            hint = f'; did you mean "{near[0]}"?' if near else "; see petalbar --help"
            raise click.UsageError(f'there is no command "{name}"{hint}')
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in self._lazy.items()])


def build_group(more: Mapping[str, tuple[str, str]] | None = None) -> click.Group:
    """The command group, with a user interface's own commands first."""
    group = LazyGroup({**(more or {}), **COMMANDS})
    return click.version_option(__version__, "-V", "--version", prog_name="petalbar")(group)


def run(group: click.Group, args: Sequence[str] | None = None) -> int:
    """Run a command line and give its exit status; errors become one line, never a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # what the terminal's letters lack is spelt out
            stream.reconfigure(errors="backslashreplace")
    if not (sys.argv[1:] if args is None else args):
        args = ["--help"]
    try:
        status = group.main(
            args=None if args is None else list(args), prog_name="petalbar", standalone_mode=False
        )
    except click.exceptions.Exit as stop:
        return stop.exit_code
    except click.Abort:
        print("petalbar: stopped", file=sys.stderr)
        return 130
    except click.UsageError as error:
        where = error.ctx.command_path if error.ctx else "petalbar"
        print(f"{where}: {_one_line(error.format_message())}", file=sys.stderr)
        return 2
    except (click.ClickException, ComposerError) as error:
        print(f"petalbar: {_one_line(str(error))}", file=sys.stderr)
        return 2
    except MemoryError:
        print(
            "petalbar: this takes more memory than there is; take a phrase at a time",
            file=sys.stderr,
        )
        return 2
    except SystemExit:
        return 0  # click's way to end when nobody reads on, as in "petalbar moves | head"
    except OSError as error:
        place = f"{error.filename}: " if error.filename else "the output cannot be written: "
        print(f"petalbar: {place}{_one_line(error.strerror or str(error))}", file=sys.stderr)
        return 2
    except Exception:
        print(f"petalbar: {_report_fault()}", file=sys.stderr)
        return 3
    return status if isinstance(status, int) else 0


def _report_fault() -> str:
    """Put what a developer needs into a file, and say where it is."""
    import os
    import tempfile
    import traceback
    from pathlib import Path

    report = Path(tempfile.gettempdir()) / f"petalbar-fault-{os.getpid()}.txt"
    try:
        report.write_text(traceback.format_exc(), encoding="utf-8")
    except OSError as error:
        return f"stopped on a fault of its own ({error.strerror}: no report could be written)"
    return f"stopped on a fault of its own; your files are as they were, a report is in {report}"


def _one_line(text: str) -> str:
    return " ".join(CONTROL.sub(" ", text).split())


def main() -> None:
    """The core's own command line, without the user interface."""
    sys.exit(run(build_group()))


if __name__ == "__main__":
    main()
