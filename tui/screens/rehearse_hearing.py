"""What is heard besides the music: calls, counts, click, offset; kept for the next time."""

from dataclasses import replace

from textual import work

from composer.errors import ComposerError
from composer.files.keys_file import user_folder
from composer.files.settings_file import SETTINGS_FILE, Settings, save_settings
from composer.playback.player import PlayState
from composer.playback.practice import SpeedLadder
from composer.playback.rehearsal import RehearsalSettings
from tui.screens.rehearse_base import RehearseBase


def heard(kept: Settings) -> RehearsalSettings:
    """The settings that are kept, as the rehearsal takes them."""
    return RehearsalSettings(
        calls=kept.calls,
        count_in_bars=kept.count_in_bars,
        click=kept.click,
        count_aloud=kept.count_aloud,
        offset_ms=kept.offset_ms,
    )


class Hearing(RehearseBase):
    """The keys that change what is heard."""

    def _set(self, words: str, **changes: object) -> None:
        """Put a setting into force and keep it for the next time."""
        self.kept = replace(self.kept, **changes)  # type: ignore[arg-type]
        now = self.rehearsal.settings
        now_heard = replace(heard(self.kept), ladder=now.ladder, muted_hands=now.muted_hands)
        self.rehearsal.change(now_heard)
        try:
            save_settings(self.kept, user_folder() / SETTINGS_FILE)
        except ComposerError as error:
            words = str(error)
        self.say(words)

    def action_click(self) -> None:
        on = not self.kept.click
        self._set("a click on every beat" if on else "no click", click=on)

    def action_count_in(self) -> None:
        bars = (self.kept.count_in_bars + 1) % 3
        self._set(f"{bars or 'no'} bar{'' if bars == 1 else 's'} counted in", count_in_bars=bars)

    def action_calls(self) -> None:
        order = ("tones", "words", "text")
        style = order[(order.index(self.kept.calls) + 1) % len(order)]
        words = {"tones": "calls as tones", "words": "calls spoken", "text": "calls shown only"}
        self._set(words[style], calls=style)
        if style == "words":
            self._find_voice()

    def action_count_aloud(self) -> None:
        on = not self.kept.count_aloud
        self._set("counts spoken" if on else "counts not spoken", count_aloud=on)
        if on:
            self._find_voice()

    @work(thread=True, exclusive=True, group="voice")
    def _find_voice(self) -> None:
        from composer.playback.voice import find_voice, spoken_calls, spoken_counts

        try:
            voice = find_voice()
            rate = self.track.sample_rate_hz
            words = spoken_calls(self.cues, voice, rate)
            counts = spoken_counts(voice, rate)
        except ComposerError as error:
            self.from_thread(self.say, str(error))
            return
        self.from_thread(self.rehearsal.use_voice, words, counts)

    def action_ladder(self) -> None:
        on = self.rehearsal.settings.ladder is None
        ladder = SpeedLadder() if on else None
        self.rehearsal.change(replace(self.rehearsal.settings, ladder=ladder))
        self.say("5 % faster after three clean passes" if on else "the speed stays as you set it")

    def action_mute(self) -> None:
        """Both hands' own cues, then the right's only, then the left's only."""
        order: tuple[frozenset[str], ...] = (
            frozenset(),
            frozenset({"left"}),
            frozenset({"right"}),
        )
        words = ("both hands called", "right hand called", "left hand called")
        at = (order.index(self.rehearsal.settings.muted_hands) + 1) % len(order)
        self.rehearsal.change(replace(self.rehearsal.settings, muted_hands=order[at]))
        self.say(words[at])

    def action_calibrate(self) -> None:
        from tui.screens.calibrate import Calibrate

        if not self.has_sound:
            self.say("there is no sound here whose lateness could be measured")
            return
        if self.rehearsal.player.state is PlayState.PLAYING:
            self.rehearsal.toggle()

        def measured(offset_ms: float | None) -> None:
            if offset_ms is not None:
                self._set(f"sound taken to be {offset_ms:.0f} ms late", offset_ms=offset_ms)

        self.app.push_screen(Calibrate(self.open_device), measured)
