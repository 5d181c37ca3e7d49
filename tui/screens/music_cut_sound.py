"""The cut heard before it is taken: whether the joins are felt is for the ear to say."""

from pathlib import Path
from typing import TYPE_CHECKING

from composer.audio.cut import render_cut
from composer.errors import ComposerError
from composer.playback.device import OpenDevice
from tui.screens.compose_sound import or_silent
from tui.views.cutting import CutPlan

if TYPE_CHECKING:
    from composer.files.track import Track
    from composer.playback.player import Player

RUN_UP_S = 4.0
"""So long before a join it begins to be heard."""


class CutSound:
    """Renders a plan and plays it; another plan is rendered anew. Used from one thread each."""

    def __init__(self, track: Path | None, open_device: OpenDevice) -> None:
        self._track = track
        self._open_device = open_device
        self._decoded: Track | None = None
        self.player: Player | None = None

    def render(self, plan: CutPlan) -> "Player":
        """A player of the cut music; takes a moment, so it is called in a thread.

        Raises
        ------
        ComposerError
            If there is no music, it cannot be read, or nothing is kept.
        """
        from composer.files.track import decode_track
        from composer.playback.player import Player

        if self._track is None:
            raise ComposerError("the music is not there, so the cut cannot be heard")
        if not plan.spans:
            raise ComposerError("nothing would be left to hear; keep one phrase at least")
        if self._decoded is None:
            self._decoded = decode_track(self._track)
        samples = render_cut(
            self._decoded.samples,
            self._decoded.sample_rate_hz,
            plan.grid,
            plan.spans,
            lead_in_s=plan.lead_in_s,
            fade_out_s=plan.fade_out_s,
        )
        return Player(samples, self._decoded.sample_rate_hz, or_silent(self._open_device))

    def play(self, player: "Player", start_s: float) -> None:
        """Let it be heard from a little before a moment of the cut."""
        self.stop()
        self.player = player
        player.seek(max(0.0, start_s - RUN_UP_S))
        player.play()

    def stop(self) -> None:
        if self.player is not None:
            self.player.close()
            self.player = None
