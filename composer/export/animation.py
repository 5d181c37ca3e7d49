"""Moving pictures: MP4 with the music, or a short GIF.

A frame is shown from i / fps to (i + 1) / fps and drawn for the middle of that time, so nothing in
it is more than half a frame away from the sound: 16.7 ms at 30 frames a second, 20 ms at 25.
(ITU-R BT.1359-1 holds sound 45 ms early or 125 ms late to be where people begin to notice.)
"""

import io
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from composer.errors import ExportError
from composer.export.choice import WHOLE, Choice, chosen_span
from composer.export.frames import FrameMaker
from composer.moves.library import Library
from composer.score.routine import Routine

VIDEO_FPS = 30
GIF_FPS = 25
"""GIF counts time in hundredths of a second: 25 and 50 are the rates it can keep."""
VIDEO_SIZE = (960, 540)
GIF_SIZE = (480, 270)
LONGEST_GIF_S = 60.0
LONGEST_VIDEO_S = 3600.0
VIDEO_OPTIONS = {"preset": "veryfast", "crf": "21"}
AUDIO_BIT_RATE = 160_000


def shown_times_s(routine: Routine, choice: Choice, sound_s: float | None) -> tuple[float, float]:
    """From when to when of the track the picture runs: as far as music or moves go."""
    seconds, span = routine.grid.tempo_map.seconds, chosen_span(routine, choice)
    end_s = seconds(span.end_beat)
    if choice.phrase is None:
        return 0.0, max(end_s, sound_s or 0.0)
    return max(0.0, seconds(span.start_beat)), end_s


def gif_bytes(routine: Routine, library: Library, choice: Choice = WHOLE) -> bytes:
    """An animated GIF that runs on and on, without sound.

    Raises
    ------
    ExportError
        If it would last longer than a minute.
    """
    start_s, end_s = shown_times_s(routine, choice, None)
    if end_s - start_s > LONGEST_GIF_S:
        raise ExportError(
            f"a GIF of {end_s - start_s:.0f} s is more than {LONGEST_GIF_S:.0f} s; choose one "
            "phrase with --phrase, or write an .mp4"
        )
    maker = FrameMaker(routine, library, choice, GIF_SIZE)
    count = max(1, round((end_s - start_s) * GIF_FPS))
    frames = _frames(maker, start_s, count, GIF_FPS)
    first = next(frames)
    palette = first.quantize(64, method=Image.Quantize.MEDIANCUT)
    rest = (_in_palette(frame, palette) for frame in frames)
    out = io.BytesIO()
    _in_palette(first, palette).save(
        out, "GIF", save_all=True, append_images=rest, duration=1000 // GIF_FPS, loop=0
    )
    return out.getvalue()


def _in_palette(frame: Image.Image, palette: Image.Image) -> Image.Image:
    return frame.quantize(palette=palette, dither=Image.Dither.NONE)


def _frames(maker: FrameMaker, start_s: float, count: int, fps: int) -> Iterator[Image.Image]:
    for index in range(count):
        yield maker.frame(start_s + (index + 0.5) / fps)


def mp4_bytes(
    routine: Routine,
    library: Library,
    samples: NDArray[np.float32],
    sample_rate_hz: int,
    choice: Choice = WHOLE,
    *,
    told: Callable[[float], None] | None = None,
) -> bytes:
    """H.264 with AAC in MPEG-4.

    Parameters
    ----------
    samples : np.ndarray, shape=(n, channels)
        The decoded track that the grid's seconds count on.
    told : callable, optional
        Is told every second of picture what share is done.

    Raises
    ------
    ExportError
        If it would last longer than an hour.
    """
    import av

    start_s, end_s = shown_times_s(routine, choice, len(samples) / sample_rate_hz)
    if end_s - start_s > LONGEST_VIDEO_S:
        raise ExportError("a moving picture lasts an hour at most; choose one phrase with --phrase")
    maker = FrameMaker(routine, library, choice, VIDEO_SIZE)
    count = max(1, round((end_s - start_s) * VIDEO_FPS))
    out = io.BytesIO()
    with av.open(out, "w", format="mp4") as container:
        container.metadata["title"] = routine.title
        video: Any = container.add_stream("libx264", rate=VIDEO_FPS, options=VIDEO_OPTIONS)
        video.width, video.height = VIDEO_SIZE
        video.pix_fmt = "yuv420p"
        sound = _SoundTrack(container, samples, sample_rate_hz, start_s)
        for index, picture in enumerate(_frames(maker, start_s, count, VIDEO_FPS)):
            frame = av.VideoFrame.from_ndarray(np.asarray(picture), format="rgb24")
            frame.pts = index
            container.mux(video.encode(frame))
            if (index + 1) % VIDEO_FPS == 0:
                sound.write_until((index + 1) / VIDEO_FPS)
                if told is not None:
                    told((index + 1) / count)
        sound.write_until(count / VIDEO_FPS)
        container.mux(video.encode(None))
        sound.finish()
    return out.getvalue()


class _SoundTrack:
    """The music of the picture, written along with it so that players need not seek."""

    def __init__(
        self, container: Any, samples: NDArray[np.float32], sample_rate_hz: int, start_s: float
    ) -> None:
        import av

        rate = sample_rate_hz if sample_rate_hz in (44_100, 48_000) else 48_000
        self.container, self.rate = container, sample_rate_hz
        self.samples = samples[round(start_s * sample_rate_hz) :, :2]
        self.layout = "mono" if self.samples.shape[1] == 1 else "stereo"
        self.stream = container.add_stream("aac", rate, {"aac_coder": "fast"}, layout=self.layout)
        self.stream.bit_rate = AUDIO_BIT_RATE
        self.resampler = av.AudioResampler(
            self.stream.format, self.stream.layout, rate, self.stream.codec_context.frame_size
        )
        self.written = 0

    def write_until(self, time_s: float) -> None:
        """Write the sound up to a time of the picture; silence where the music is over."""
        import av

        end = round(time_s * self.rate)
        if end <= self.written:
            return
        block = np.zeros((end - self.written, self.samples.shape[1]), np.float32)
        music = self.samples[self.written : end]
        block[: len(music)] = music
        frame = av.AudioFrame.from_ndarray(
            np.ascontiguousarray(block.T), format="fltp", layout=self.layout
        )
        frame.sample_rate, frame.pts = self.rate, self.written
        self.written = end
        self._encode(self.resampler.resample(frame))

    def finish(self) -> None:
        self._encode(self.resampler.resample(None))
        self.container.mux(self.stream.encode(None))

    def _encode(self, frames: list[Any]) -> None:
        for frame in frames:
            self.container.mux(self.stream.encode(frame))
