"""WebVTT: the calls as captions, the phrases as chapters, for any player of web video or audio.

Syntax: W3C, WebVTT: The Web Video Text Tracks Format, sections "WebVTT timestamp" and "WebVTT
cue text".
"""

from composer.export.choice import (
    WHOLE,
    Choice,
    chosen_calls,
    one_line,
    sections,
    told_words,
    zero_s,
)
from composer.score.routine import Routine


def call_captions(routine: Routine, choice: Choice = WHOLE) -> str:
    """Each call from the moment it is made until the moment it is for; UTF-8 text."""
    tempo_map, zero = routine.grid.tempo_map, zero_s(routine, choice)
    cues = []
    for call in chosen_calls(routine, choice):
        start_ms = _milliseconds(tempo_map.seconds(call.call_beat) - zero)
        end_ms = _milliseconds(tempo_map.seconds(call.beat) - zero)
        voice = escaped(", ".join(call.performers))
        text = escaped(told_words(call.kind, call.text))
        if len(call.performers) < len(routine.performers):
            text = f"<v {voice}>{voice}: {text}</v>"
        cues.append((start_ms, max(end_ms, start_ms + 1), text))
    return _document(cues)


def chapters(routine: Routine, choice: Choice = WHOLE) -> str:
    """A chapter for each phrase, none overlapping another; UTF-8 text."""
    tempo_map, zero = routine.grid.tempo_map, zero_s(routine, choice)
    cues = []
    for section in sections(routine, choice):
        start_ms = _milliseconds(tempo_map.seconds(section.span.start_beat) - zero)
        end_ms = _milliseconds(tempo_map.seconds(section.span.end_beat) - zero)
        if end_ms > start_ms:
            cues.append((start_ms, end_ms, escaped(section.name)))
    return _document(cues)


def timestamp(time_ms: int) -> str:
    """``"01:02:03.004"``: whole milliseconds, rounded before they are split.

    Raises
    ------
    ValueError
        If the time is negative: a caption has no place before the start.
    """
    if time_ms < 0:
        raise ValueError(f"a caption's time is not negative, got {time_ms} ms")
    seconds, milliseconds = divmod(time_ms, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02d}:{minutes:02d}:{seconds:02d}.{milliseconds:03d}"


def escaped(text: str) -> str:
    """Text for a caption: one line, and no character that would be markup or an arrow."""
    plain = one_line(text)
    return plain.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _milliseconds(time_s: float) -> int:
    """What lies before the start of the clock is shown from its start."""
    return max(0, round(time_s * 1000))


def _document(cues: list[tuple[int, int, str]]) -> str:
    blocks = ["WEBVTT"]
    for number, (start_ms, end_ms, text) in enumerate(sorted(cues, key=lambda cue: cue[:2]), 1):
        blocks.append(f"{number}\n{timestamp(start_ms)} --> {timestamp(end_ms)}\n{text}")
    return "\n\n".join(blocks) + "\n"
