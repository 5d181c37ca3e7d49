"""petalbar listen: tempo, beats, bars and phrases of tracks."""

import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from composer.audio.analysis import Analysis
from composer.commands.numbers import Whole
from composer.errors import ComposerError
from composer.files.analysis_cache import analysis_of
from composer.timing.grid import clock_text

SURE, FAIRLY_SURE = 0.85, 0.6
"""Of music the weights were not fitted on, two wrong grids in three lie under the lower one."""


@click.command(
    "listen",
    epilog="\b\nExamples:\n  petalbar listen song.mp3\n"
    "  petalbar listen *.flac --jobs 2 --json > grids.jsonl",
)
@click.argument("tracks", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="One JSON object a track, one a line.")
@click.option("--fresh", is_flag=True, help="Listen again, even to known tracks.")
@click.option(
    "--jobs",
    default=1,
    show_default=True,
    type=Whole(1, 64),
    help="Tracks listened to at once.",
)
def command(tracks: tuple[Path, ...], as_json: bool, fresh: bool, jobs: int) -> int:
    """Tell tempo, metre, bars and phrases of music files.

    Reads wav, flac, ogg, mp3, m4a, opus and aac, MIDI files, and text lists of beats.
    """
    failed = False
    for path, answer in _answers(tracks, fresh, jobs):
        if isinstance(answer, ComposerError):
            failed = True
            click.echo(f"petalbar: {answer}", err=True)
            continue
        analysis, seconds = answer
        if as_json:
            click.echo(json.dumps(as_data(path, analysis, seconds)))
        else:
            click.echo("\n".join(report_lines(path, analysis)) + "\n")
    return 2 if failed else 0


Answer = tuple[Analysis, float] | ComposerError


def _answers(tracks: tuple[Path, ...], fresh: bool, jobs: int) -> Iterator[tuple[Path, Answer]]:
    """Every track with its analysis or what went wrong, as soon as each is done."""
    if jobs == 1 or len(tracks) == 1:
        for path in tracks:
            yield path, _listened(path, fresh)
        return
    from concurrent.futures import Future, ProcessPoolExecutor, as_completed
    from multiprocessing import get_context

    with ProcessPoolExecutor(min(jobs, len(tracks)), mp_context=get_context("spawn")) as pool:
        waiting: dict[Future[Answer], Path] = {
            pool.submit(_listened, path, fresh): path for path in tracks
        }
        for done in as_completed(waiting):
            yield waiting[done], done.result()


def _listened(path: Path, fresh: bool) -> Answer:
    began = time.perf_counter()
    try:
        _, analysis = analysis_of(path, fresh=fresh, samples=False)
    except ComposerError as error:
        return error
    return analysis, time.perf_counter() - began


def as_data(path: Path, analysis: Analysis, seconds: float) -> dict[str, Any]:
    """An analysis for machines; times in seconds of the decoded track."""
    grid = analysis.grid

    def times(values: Any) -> list[float]:
        return [round(float(value), 5) for value in values]

    return {
        "track": str(path),
        "beats": times(analysis.beats_s),
        "downbeats": times(analysis.downbeats_s),
        "bpm": round(analysis.bpm, 3),
        "boundaries": times(analysis.boundaries_s),
        "meter": str(grid.meter_map.meter_at(grid.end_beat / 2)),
        "meters": [
            {"beat": str(c.start_beat), "meter": str(c.meter)} for c in grid.meter_map.changes
        ],
        "steady": analysis.steady,
        "residual_ms": round(analysis.residual_ms, 2),
        "confidence": {
            name: round(getattr(analysis.confidence, name), 3)
            for name in ("beats", "bars", "phrases")
        },
        "alternatives": [
            {"bpm": round(a.bpm, 3), "relation": a.relation, "score": round(a.score, 3)}
            for a in analysis.alternatives
        ],
        "phrases": [
            {
                "start": round(grid.tempo_map.seconds(p.start_beat), 5),
                "name": p.name,
                "bar": grid.meter_map.position(p.start_beat).bar,
                "energy": round(p.energy, 3),
            }
            for p in grid.phrases
        ],
        "accents": [
            {
                "time": round(float(a.time_s), 4),
                "kind": a.kind,
                "strength": round(float(a.strength), 3),
            }
            for a in grid.accents
        ],
        "duration": round(analysis.duration_s, 3),
        "notes": list(analysis.notes),
        "seconds": round(seconds, 3),
    }


def report_lines(path: Path, analysis: Analysis) -> list[str]:
    """An analysis for people: a summary, the phrases as a table, and what to do if unsure."""
    grid = analysis.grid
    kind = "steady" if analysis.steady else "changing"
    meter = grid.meter_map.meter_at(grid.end_beat / 2)
    lines = [
        f"{path.name}  {clock_text(analysis.duration_s)}",
        f"  tempo    {analysis.bpm:.2f} beats a minute, {kind}; onsets within "
        f"{analysis.residual_ms:.0f} ms of the beats",
        f"  metre    {meter}, {grid.bar_count} bars, first downbeat at "
        f"{clock_text(grid.tempo_map.seconds(0))}",
        f"  sure of  beats: {sureness(analysis.confidence.beats)}, "
        f"bars: {sureness(analysis.confidence.bars)}, "
        f"phrases: {sureness(analysis.confidence.phrases)}",
    ]
    lines += [f"  note     {note}" for note in analysis.notes]
    if grid.phrases:
        lines.append("  phrase        bar  bars  starts   energy")
        lines += _phrase_rows(analysis)
    return [*lines, *_advice(analysis)]


def _phrase_rows(analysis: Analysis) -> list[str]:
    grid, rows = analysis.grid, []
    for i, phrase in enumerate(grid.phrases):
        span = grid.phrase_span(i)
        first = grid.meter_map.position(span.start_beat).bar
        bars = max(1, grid.meter_map.position(span.end_beat).bar - first)
        start = clock_text(grid.tempo_map.seconds(span.start_beat))
        rows.append(
            f"  {phrase.name:<12} {first:>4}  {bars:>4}  {start:>7}   "
            f"{'#' * round(10 * phrase.energy)}"
        )
    return rows


def sureness(confidence: float) -> str:
    if confidence >= SURE:
        return "sure"
    return "fairly sure" if confidence >= FAIRLY_SURE else "not sure"


def _advice(analysis: Analysis) -> list[str]:
    """What to try where the analysis is not sure; none where it is."""
    if not len(analysis.beats_s):
        return ["  Tap the beat along with the music to make a grid by hand."]
    lines = []
    if analysis.confidence.beats < FAIRLY_SURE and analysis.alternatives:
        other = analysis.alternatives[0]
        lines.append(
            f"  Listen whether {other.bpm:.1f} beats a minute ({other.relation}) fits "
            "better; double or halve the tempo, or tap along."
        )
    if analysis.confidence.bars < FAIRLY_SURE:
        lines.append("  Check that count 1 falls on the first beat of the bar; shift it if not.")
    return lines
