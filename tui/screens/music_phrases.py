"""The music screen's phrases."""

from collections.abc import Callable
from fractions import Fraction

from textual import on

from composer.arrange import music
from composer.errors import ComposerError
from tui.screens.music_base import MusicBase
from tui.views import going
from tui.widgets.music_sheet import MusicSheet


class PutsPhrasesRight(MusicBase):
    """Begins, names, moves, locks and removes phrases."""

    def do_phrase(self) -> None:
        beat = self.beat_meant()
        grid = self.desk.routine.grid

        def begin(text: str) -> None:
            name = text.strip() or f"phrase {len(grid.phrases) + 1}"
            what = f'phrase "{name}" begins at {grid.place_text(beat)}'
            self.change_phrases(what, lambda r: music.new_phrase(r, beat, name), beat)

        self.ask(f"Name of the phrase that begins at {grid.place_text(beat)}", "", begin)

    def do_name(self) -> None:
        index = self.phrase_here()
        old = self.desk.routine.grid.phrases[index].name

        def name(text: str) -> None:
            if text.strip():
                what = f'phrase "{old}" is now "{text.strip()}"'
                self.change_phrases(what, lambda r: music.name_phrase(r, index, text.strip()))

        self.ask("Name of this phrase", old, name)

    def do_remove(self) -> None:
        index = self.phrase_here()
        name = self.desk.routine.grid.phrases[index].name
        self.change_phrases(f'phrase "{name}" removed', lambda r: music.remove_phrase(r, index))

    def do_phrase_later(self) -> None:
        self._move_phrase(lambda start: start + 1)

    def do_phrase_earlier(self) -> None:
        self._move_phrase(lambda start: start - 1)

    def do_phrase_bar_later(self) -> None:
        self._move_phrase(lambda start: going.step_bar(self.desk.routine.grid, start, 1))

    def do_phrase_bar_earlier(self) -> None:
        self._move_phrase(lambda start: going.step_bar(self.desk.routine.grid, start, -1))

    @on(MusicSheet.PhraseDropped)
    def drop_phrase(self, message: MusicSheet.PhraseDropped) -> None:
        """The phrase begins with the bar on which its heading was dropped."""
        meters = self.desk.routine.grid.meter_map
        beat = meters.bar_start_beat(meters.position(message.beat).bar)
        try:
            self._begin_at(message.phrase, beat)
        except ComposerError as error:
            self.say(str(error))

    def _move_phrase(self, step: Callable[[Fraction], Fraction]) -> None:
        index = self.phrase_here()
        self._begin_at(index, step(self.desk.routine.grid.phrases[index].start_beat))

    def _begin_at(self, index: int, beat: Fraction) -> None:
        grid = self.desk.routine.grid
        phrase = grid.phrases[index]
        what = f'phrase "{phrase.name}" begins at {grid.place_text(beat)}'
        self.change_phrases(what, lambda r: music.move_phrase(r, index, beat), beat)

    def do_lock(self) -> None:
        index = self.phrase_here()
        phrase = self.desk.routine.grid.phrases[index]
        what = f'phrase "{phrase.name}" {"let go" if phrase.locked else "locked"}'
        self.change_phrases(what, lambda r: music.lock_phrase(r, index, not phrase.locked))

    def do_lock_all(self) -> None:
        locked = not all(phrase.locked for phrase in self.desk.routine.grid.phrases)
        what = "all phrases locked" if locked else "all phrases let go"
        self.change_phrases(what, lambda r: music.lock_phrases(r, locked))
