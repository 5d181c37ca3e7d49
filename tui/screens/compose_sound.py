"""The composing screen's sound: marks of the music, and playing from the cursor."""

from abc import abstractmethod
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from textual.timer import Timer

from composer.errors import ComposerError
from composer.playback.device import OpenDevice, open_silent_device
from composer.timing.grid import MusicGrid
from tui.opening import heard_grid
from tui.screens.compose_base import ComposeBase
from tui.views.rows import row_index_at
from tui.widgets.count_sheet import CountSheet

if TYPE_CHECKING:
    from composer.playback.player import Player
    from tui.apart import Apart
    from tui.views.sound import Sound

FRAMES_PER_S = 30
LISTEN_LOOK_S = 0.5


class Sounds(ComposeBase):
    """Loads what is heard in a thread; while playing, asks the player where the music is."""

    sound: "Sound | None" = None
    player: "Player | None" = None
    _play_timer: Timer | None = None
    _apart: "Apart[tuple[MusicGrid, float]] | None" = None
    _listen_timer: Timer

    def load_sound(self) -> None:
        """Fetch the kept curves of the track, so that loudness and onsets are drawn.

        A track without an analysis of the present version is listened to, beside the screen.
        """
        track = self.track
        if track is None:
            return

        def load() -> None:
            sound = kept_sound(track)
            if sound is not None:
                self.from_thread(self.sound_loaded, sound)
            else:
                self.from_thread(self._listen)

        self.run_worker(load, name="sound", group="sound", thread=True)

    def sound_loaded(self, sound: "Sound") -> None:
        """Draw the sound beside the bars."""
        self.sound = sound
        self.refresh_sheet()

    # ------------------------------------------------------------------ listening

    def do_listen(self) -> None:
        """Stop listening for the sound marks, or begin again."""
        if self._apart is not None:
            self._end_listening()
            self.say("listening stopped; L begins again")
        elif self.track is None:
            raise ComposerError(
                f"{self.desk.routine.track.file} is not there, so it cannot be listened to"
            )
        elif self.sound is not None:
            self.say("the sound is drawn already; M then A listens anew for the beats")
        else:
            self._listen()

    def _listen(self) -> None:
        if self.track is None or self._apart is not None:
            return
        from tui.apart import Apart

        self._apart = Apart(heard_grid, self.track)
        self._listen_timer = self.set_interval(LISTEN_LOOK_S, self._look_at_listening)
        self.refresh_words()

    def _look_at_listening(self) -> None:
        apart, track = self._apart, self.track
        if apart is None or track is None:
            return
        if not apart.done:
            self.refresh_words()
            return
        self._end_listening()
        try:
            apart.result()
        except ComposerError as error:
            self.say(str(error))
            return
        self.run_worker(partial(self._fetch, track), name="sound", group="sound", thread=True)

    def _fetch(self, track: Path) -> None:
        sound = kept_sound(track)
        if sound is not None:
            self.from_thread(self.sound_loaded, sound)
        else:
            self.from_thread(self.say, "the sound marks cannot be kept: the cache is not writable")

    def _end_listening(self) -> None:
        if self._apart is not None:
            self._apart.end()
            self._apart = None
            self._listen_timer.stop()
            self.refresh_words()

    @property
    def listening_words(self) -> str:
        """``"listening 35 %, L stops"`` while it goes on."""
        if self._apart is None:
            return ""
        share = self._apart.share
        return f"listening{f' {100 * share:.0f} %' if share is not None else ''}, L stops"

    # ------------------------------------------------------------------ playing

    @property
    def is_playing(self) -> bool:
        return self._play_timer is not None

    def do_play(self) -> None:
        if self.is_playing:
            self.stop_playing()
        elif self.track is None:
            raise ComposerError(
                f"{self.desk.routine.track.file} is not there, so nothing can be played; "
                "put the music beside the routine"
            )
        elif self.player is None:
            self.say("decoding the music")
            self._load_player(self.track)
        else:
            self._play_from_cursor()

    def _load_player(self, track: Path) -> None:
        def load() -> None:
            from composer.files.track import decode_track
            from composer.playback.player import Player

            try:
                decoded = decode_track(track)
            except ComposerError as error:
                self.from_thread(self.say, str(error))
                return
            player = Player(decoded.samples, decoded.sample_rate_hz, or_silent(self.open_device))
            self.from_thread(self._player_loaded, player)

        self.run_worker(load, name="player", group="player", thread=True, exclusive=True)

    def _player_loaded(self, player: "Player") -> None:
        self.player = player
        self._play_from_cursor()

    def _play_from_cursor(self) -> None:
        assert self.player is not None
        self.player.seek(self.desk.routine.grid.tempo_map.seconds(self.desk.cursor_beat))
        self.player.play()
        self.say(self.player.notice or "playing; space stops")
        self._play_timer = self.set_interval(1 / FRAMES_PER_S, self._follow_playing)

    def stop_playing(self) -> None:
        """Stop, and leave the cursor on the count that was heard last."""
        assert self.player is not None
        beat = self._heard_beat()
        self.player.pause()
        self._end_playing()
        self.go_to(Fraction(int(beat // 1)))

    def _end_playing(self) -> None:
        if self._play_timer is not None:
            self._play_timer.stop()
        self._play_timer = None
        self.query_one(CountSheet).set_play_beat(None)

    def _heard_beat(self) -> float:
        assert self.player is not None
        return self.desk.routine.grid.tempo_map.beat_at(self.player.position_s())

    def _follow_playing(self) -> None:
        assert self.player is not None
        notice = self.player.check()
        beat = self._heard_beat()
        if notice or beat >= self.desk.routine.grid.end_beat:
            self.player.pause()
            self._end_playing()
            self.say(notice or "the music has ended")
            return
        sheet = self.query_one(CountSheet)
        rows = sheet.rows
        if rows:
            row = rows[row_index_at(rows, Fraction(beat))]
            cell = (Fraction(beat) - row.span.start_beat) // row.cell_beats
            sheet.set_play_beat(row.span.start_beat + cell * row.cell_beats)
        self.show_motion_at(beat)

    @abstractmethod
    def show_motion_at(self, beat: float) -> None:
        """Show the motion of what is placed at a beat that is being heard."""

    def on_unmount(self) -> None:
        if self._apart is not None:
            self._apart.end()
        if self.player is not None:
            self.player.close()


def kept_sound(track: Path) -> "Sound | None":
    """The curves of a track from its kept analysis; None where none of this version is kept."""
    from composer.audio.analysis import ENVELOPE_HZ
    from composer.files.analysis_cache import stored_analysis
    from composer.files.music_file import content_hash
    from tui.views.sound import Sound

    try:
        analysis = stored_analysis(content_hash(track))
    except ComposerError:
        return None
    if analysis is None:
        return None
    return Sound(analysis.loudness_db, analysis.onset_strength, ENVELOPE_HZ)


def or_silent(open_device: OpenDevice) -> OpenDevice:
    """A device of this machine, or the silent one: the play position is still of use."""

    def open_one(sample_rate: int, channels: int) -> object:
        try:
            return open_device(sample_rate, channels)
        except ComposerError:
            return open_silent_device(sample_rate, channels)

    return open_one  # type: ignore[return-value]
