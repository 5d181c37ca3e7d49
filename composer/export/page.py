"""The rehearsal page: one HTML file with the music inside, for a phone in a park without network.

Its policy lets the page load nothing from anywhere: script and style are allowed by their hashes,
sound only from the page itself.
"""

import base64
import hashlib
import json
from fractions import Fraction
from importlib import resources
from itertools import groupby
from string import Template
from typing import Any

import numpy as np
from numpy.typing import NDArray

from composer.errors import ExportError
from composer.export.cautions import cautions
from composer.export.choice import (
    WHOLE,
    Choice,
    chosen_names,
    chosen_span,
    one_line,
    sections,
    sounding_s,
    told_words,
    zero_s,
)
from composer.export.encode import encoded
from composer.export.staging import StagedMove, staged_moves
from composer.export.trails import (
    DEPTH_SHARE,
    DEPTH_TURNS,
    HEAD_TO_STATURE,
    HIP_TO_STATURE,
    cycle_shares,
    extent_m,
    trails,
)
from composer.moves.library import Library
from composer.moves.perform import Performance
from composer.score.cues import cue_list
from composer.score.routine import Routine

BIT_RATES = (128_000, 96_000, 64_000)
"""Bits a second: the first with which the page stays under LIGHT_BYTES, else the last."""
LIGHT_BYTES = 12_000_000
HEAVIEST_BYTES = 64_000_000
"""More than a phone's browser opens without trouble; ours."""
REACH_MARGIN = 1.08


def rehearsal_page(
    routine: Routine,
    library: Library,
    samples: NDArray[np.float32],
    sample_rate_hz: int,
    choice: Choice = WHOLE,
) -> str:
    """The page as HTML text.

    Parameters
    ----------
    samples : np.ndarray, shape=(n, channels)
        The decoded track that the grid's seconds count on.

    Raises
    ------
    ExportError
        If the music is too long for a page that a phone could open.
    """
    data = page_data(routine, library, choice)
    data["sound"] = _sound(routine, samples, sample_rate_hz, choice)
    style, script = _part("page.css"), _part("page.js")
    return Template(_part("page.html")).substitute(
        policy=_policy(style, script),
        title=_escaped(one_line(routine.title)),
        style=style,
        script=script,
        routine=_embedded(data),
    )


def _part(name: str) -> str:
    return resources.files("composer.export").joinpath("page_parts", name).read_text("utf-8")


def _policy(style: str, script: str) -> str:
    """Content Security Policy (W3C, level 2): nothing from outside, script and style by hash."""

    def allowed(text: str) -> str:
        return "'sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() + "'"

    return (
        f"default-src 'none'; script-src {allowed(script)}; style-src {allowed(style)}; "
        "media-src blob:; img-src data:; base-uri 'none'; form-action 'none'"
    )


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _embedded(data: dict[str, Any]) -> str:
    """JSON that no word in it can end the script element with."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def _sound(
    routine: Routine, samples: NDArray[np.float32], sample_rate_hz: int, choice: Choice
) -> str:
    """The stretch of music chosen, as AAC in MPEG-4, in base64."""
    start_s, end_s = sounding_s(routine, choice, len(samples) / sample_rate_hz)
    first, last = round(start_s * sample_rate_hz), round(end_s * sample_rate_hz)
    duration_s = end_s - start_s
    fitting = [rate for rate in BIT_RATES if _page_bytes(rate, duration_s) < LIGHT_BYTES]
    bit_rate = max(fitting, default=BIT_RATES[-1])
    if _page_bytes(bit_rate, duration_s) > HEAVIEST_BYTES:
        raise ExportError(
            f"a page with {duration_s / 60:.0f} minutes of music is more than a phone opens; "
            "export phrase by phrase with --phrase"
        )
    sound = encoded(samples[first:last], sample_rate_hz, ".m4a", bit_rate=bit_rate)
    return base64.b64encode(sound).decode()


def _page_bytes(bit_rate: int, duration_s: float) -> float:
    """Base64 takes four letters for three bytes (RFC 4648); a tenth is kept for the rest."""
    return bit_rate / 8 * duration_s * 4 / 3 * 1.1


def page_data(routine: Routine, library: Library, choice: Choice) -> dict[str, Any]:
    """Everything that the page's script reads but the sound."""
    drawn: dict[int, tuple[int, Performance]] = {}
    parts = [_performer(routine, n, choice, library, drawn) for n in chosen_names(routine, choice)]
    span, grid = chosen_span(routine, choice), routine.grid
    angle = 2 * np.pi * DEPTH_TURNS
    return {
        "title": one_line(routine.title),
        "view": str(choice.view),
        "depth": [DEPTH_SHARE * float(np.cos(angle)), DEPTH_SHARE * float(np.sin(angle))],
        "zero_s": max(0.0, zero_s(routine, choice)),
        "knots": [[float(knot.beat), round(knot.time_s, 6)] for knot in grid.tempo_map.knots],
        "meters": [
            {
                "beat": float(change.start_beat),
                "bar": grid.meter_map.position(change.start_beat).bar,
                "length": change.meter.beats_per_bar,
            }
            for change in grid.meter_map.changes
        ],
        "phrases": [
            {
                "name": one_line(section.name),
                "start": float(section.span.start_beat),
                "end": float(min(section.span.end_beat, span.end_beat)),
            }
            for section in sections(routine, choice)
        ],
        "parts": parts,
        "trails": [_trail(performance) for _, performance in drawn.values()],
        "cautions": list(cautions(routine, library, chosen_names(routine, choice))),
    }


def _performer(
    routine: Routine,
    name: str,
    choice: Choice,
    library: Library,
    drawn: dict[int, tuple[int, Performance]],
) -> dict[str, Any]:
    body = routine.performer(name).body
    moves = staged_moves(routine, name, choice, library)
    shows = [move.performance for move in moves if move.performance is not None]
    reach = max((extent_m(trails(show, choice.view), body) for show in shows), default=1.0)
    radius_m = HEAD_TO_STATURE * body.stature_m / 2
    return {
        "name": one_line(name),
        "reach": round(REACH_MARGIN * reach, 3),
        "body": {
            "half_width": _mm(body.shoulder_breadth_m / 2),
            "shoulder_z": _mm(body.shoulder_height_m),
            "hip_z": _mm(HIP_TO_STATURE * body.stature_m),
            "head_z": _mm(body.stature_m - radius_m),
            "head_radius": _mm(radius_m),
        },
        "moves": [_move(move, drawn) for move in moves],
        "calls": _calls(routine, name, choice),
    }


def _mm(length_m: float) -> int:
    return round(1000 * length_m)


def _move(move: StagedMove, drawn: dict[int, tuple[int, Performance]]) -> dict[str, Any]:
    placement, trail = move.placed.placement, None
    if move.performance is not None:
        trail = drawn.setdefault(id(move.performance), (len(drawn), move.performance))[0]
    return {
        "start": float(placement.span.start_beat),
        "end": float(placement.span.end_beat),
        "name": one_line(placement.move),
        "trail": trail,
        "cycle": float(move.cycle_beats),
        "turn": float(placement.facing_turns % 1),
    }


def _calls(routine: Routine, name: str, choice: Choice) -> list[dict[str, Any]]:
    """The cue list, what falls on one beat said in one breath."""
    span = chosen_span(routine, choice)
    cues = [
        cue for cue in cue_list(routine, name) if choice.phrase is None or span.contains(cue.beat)
    ]
    calls = []
    for beat, together in groupby(cues, key=lambda cue: cue.beat):
        said = list(together)
        calls.append(
            {
                "beat": float(beat),
                "called": float(min((cue.call_beat for cue in said), default=Fraction(0))),
                "text": " · ".join(one_line(told_words(cue.kind, cue.text)) for cue in said),
            }
        )
    return calls


def _trail(performance: Performance) -> dict[str, Any]:
    """Hand and head of each hand over one cycle, in whole millimetres: x, y, z after each other."""
    found = {}
    for hand in performance.tracks:
        hand_m, head_m = performance.room_places_m(hand, cycle_shares(performance))
        found[str(hand)] = {
            "hand": np.rint(1000 * hand_m).astype(int).ravel().tolist(),
            "head": np.rint(1000 * head_m).astype(int).ravel().tolist(),
        }
    return found
