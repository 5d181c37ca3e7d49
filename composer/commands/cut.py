"""petalbar cut: music cut to stage length on bar lines."""

import re
from pathlib import Path

import click

from composer.audio.cut import cut_grid, cut_length_s, render_cut, spans_of_bars, suggest_cut
from composer.commands.numbers import Number
from composer.commands.writing import check_target, write_export
from composer.errors import TrackError
from composer.export.encode import coding_of, encoded
from composer.files.analysis_cache import analysis_of
from composer.timing.beats import BeatSpan
from composer.timing.grid import MusicGrid, clock_text


class BarRange(click.ParamType):  # type: ignore[type-arg]
    """Bars such as 1-16, or a single bar."""

    name = "bars"

    def convert(
        self, value: str, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[int, int]:
        match = re.fullmatch(r"(-?\d+)(?:-(\d+))?", value.strip())
        if not match:
            self.fail(f'bars are written like 1-16, not "{value}"', param, ctx)
        first = int(match[1])
        return first, int(match[2]) if match[2] else first


class Clock(click.ParamType):  # type: ignore[type-arg]
    """A length such as 2:30 or 150 (seconds)."""

    name = "length"

    def convert(
        self, value: str | float, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        match = re.fullmatch(r"(?:(\d+):)?(\d+(?:\.\d+)?)", str(value).strip())
        if not match or (match[1] and float(match[2]) >= 60):
            self.fail(f'a length is written like 2:30 or 150, not "{value}"', param, ctx)
        return 60 * float(match[1] or 0) + float(match[2])


@click.command(
    "cut",
    epilog="\b\nExamples:\n  petalbar cut song.mp3 --to 2:30\n"
    "  petalbar cut song.mp3 --keep 1-16 --keep 25-40 --fade-out 4 -o short.flac",
)
@click.argument("track", type=click.Path(path_type=Path))
@click.option(
    "--keep",
    "bars",
    multiple=True,
    type=BarRange(),
    help="Bars to keep, such as 1-16; repeat in playing order.",
)
@click.option("--to", "wanted_s", type=Clock(), help="Suggest a cut of this length, such as 2:30.")
@click.option(
    "--lead-in",
    "lead_in_s",
    default=0.0,
    type=Number(0, 60),
    help="Silence before the first beat, seconds.",
)
@click.option(
    "--fade-out",
    "fade_out_s",
    default=0.0,
    type=Number(0, 60),
    help="Fade at the end, seconds.",
)
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="Music file to write: wav, flac, ogg, m4a or mp3. Without it the cut is only told.",
)
@click.option("--force", is_flag=True, help="Replace the file if there is one already.")
def command(
    track: Path,
    bars: tuple[tuple[int, int], ...],
    wanted_s: float | None,
    lead_in_s: float,
    fade_out_s: float,
    output: Path | None,
    *,
    force: bool,
) -> None:
    """Cut a track to stage length on bar lines; the source is never changed."""
    if bool(bars) == (wanted_s is not None):
        raise click.UsageError("say which bars to --keep, or what length to cut --to")
    if output is not None:
        coding_of(output.suffix)
        check_target(output, force=force, made_from=(track,))
    decoded, analysis = analysis_of(track)
    grid = analysis.grid
    try:
        spans = spans_of_bars(grid, bars) if bars else suggest_cut(grid, wanted_s or 0.0)
    except ValueError as error:
        raise TrackError(f"{track}: {error}") from None
    if output is not None and decoded is None:
        raise TrackError(f"{track} tells beats only and has no sound to cut; leave -o out")
    click.echo("\n".join(cut_lines(grid, spans, lead_in_s)))
    if wanted_s is not None and wanted_s > analysis.duration_s:
        click.echo(f"the track lasts {clock_text(analysis.duration_s)}: nothing need be cut out")
    if output is None or decoded is None:
        return
    samples = render_cut(
        decoded.samples,
        decoded.sample_rate_hz,
        grid,
        spans,
        lead_in_s=lead_in_s,
        fade_out_s=fade_out_s,
    )
    write_export(output, encoded(samples, decoded.sample_rate_hz, output.suffix.lower()))
    shorter = cut_grid(grid, spans, lead_in_s=lead_in_s)
    click.echo(
        f"{output}: {shorter.bar_count} bars, {clock_text(len(samples) / decoded.sample_rate_hz)}"
    )


def cut_lines(grid: MusicGrid, spans: tuple[BeatSpan, ...], lead_in_s: float) -> list[str]:
    """The kept bars, one span a line, and the length together."""
    lines = []
    for span in spans:
        first = grid.meter_map.position(span.start_beat).bar
        last = grid.meter_map.position(span.end_beat).bar - 1
        start, end = (
            clock_text(grid.tempo_map.seconds(b)) for b in (span.start_beat, span.end_beat)
        )
        lines.append(f"keep bars {first}-{last}  ({start} to {end})")
    return [*lines, f"together {clock_text(cut_length_s(grid, spans) + lead_in_s)}"]
