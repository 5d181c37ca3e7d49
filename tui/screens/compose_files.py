"""The composing screen's files: saving, other programs' changes, recovery, leaving."""

from collections.abc import Callable
from pathlib import Path

from composer.errors import ComposerError, RoutineFileError
from composer.files.journal import Journal, Recovered
from composer.score.routine import Routine
from tui.screens.asking import Ask, Pick
from tui.screens.compose_base import ComposeBase
from tui.views.paper import Line, Piece
from tui.work import Work, open_work, read_again, unsaved_edits, when_words


def _rows(*answers: str) -> list[Line]:
    return [(Piece(answer),) for answer in answers]


class KeepsFiles(ComposeBase):
    """Saves in a thread, so that typing goes on; nothing is written over unasked."""

    _saving = False
    _save_after: Callable[[], None] | None = None
    _left: tuple[Work, ...] = ()
    """Files left for another name; their journals stay until that one is written."""

    def look_after_files(self) -> None:
        """Each second: the journal down to the disk, in a thread, for the disk may be slow."""
        flush, journal = self.work.journal.flush(), self.work.journal
        if flush is None:
            return

        def down_to_disk() -> None:
            try:
                flush()
            except OSError as error:
                self.from_thread(self._not_flushed, journal, error.strerror)

        self.run_worker(down_to_disk, name="flush", group="flush", thread=True)

    def _not_flushed(self, journal: Journal, why: str) -> None:
        journal.begin_anew()
        self.say(f"edits are not kept beside the file ({why}): save elsewhere")

    def offer_recovery(self) -> None:
        """Ask about edits that were never saved, if a journal holds any."""
        try:
            found = unsaved_edits(self.work, self.desk.routine)
        except RoutineFileError as error:
            self.say(str(error))
            return
        if found is not None:
            self._ask_about_recovery(found)

    def _ask_about_recovery(self, found: Recovered) -> None:
        last = found.edits[-1] if found.edits else "unknown"
        count = len(found.edits)
        question = (
            f"{count} edit{'s were' if count > 1 else ' was'} not saved; the last, "
            f"{when_words(found.last_time)}: {last}"
        )

        def answer(index: int | None) -> None:
            before = self.desk.history
            if index == 0:
                self.work.undecided = False
                self.message = self.desk.take_over("took up unsaved edits", found.routine)
                self.after_edit(before)
            elif index == 1:
                self._set_aside()
            else:
                self.say("the unsaved edits stay where they are; your next edit sets them aside")

        self.app.push_screen(Pick(question, _rows("Take them up", "Set them aside")), answer)

    def _set_aside(self) -> bool:
        try:
            self.say(f"the unsaved edits are set aside in {self.work.set_aside().name}")
        except ComposerError as error:
            self.say(str(error))
            return False
        return True

    # ------------------------------------------------------------------ saving

    def do_save(self) -> None:
        if self._saving:
            self._save_after = self.do_save
        elif self.work.changed_on_disk():
            self._ask_about_changed_file()
        else:
            self._save()

    def _save(self, then_leave: bool = False) -> None:
        """Write what is there now; asked for while a save is under way, do it after that one."""
        if self._saving:
            self._save_after = lambda: self._save(then_leave)
            return
        self._saving = True
        routine, work = self.desk.routine, self.work
        self.say(f"saving {work.path.name}")

        def write() -> None:
            try:
                work.save(routine)
            except ComposerError as error:
                self.from_thread(self._save_ended, str(error))
            else:
                self.from_thread(self._saved, routine, then_leave)

        self.run_worker(write, name="save", group="save", thread=True)

    def _saved(self, routine: Routine, then_leave: bool) -> None:
        self.desk.saved = routine
        if self.desk.is_saved:
            for work in (self.work, *self._left):
                work.saved()
        for left in self._left:
            left.close()
        self._left = ()
        self._save_ended(f"saved {self.work.path.name}")
        if then_leave and self.desk.is_saved:
            self.dismiss(None)

    def _save_ended(self, told: str) -> None:
        self._saving = False
        self.say(told)
        after, self._save_after = self._save_after, None
        if after is not None:
            after()

    def do_save_as(self) -> None:
        self.app.push_screen(Ask("Save under the name", str(self.work.path)), self._save_as)

    def _save_as(self, text: str | None) -> None:
        if not text or not text.strip():
            return
        path = Path(text.strip()).expanduser()
        path = path if path.suffix else path.with_suffix(".toml")
        if path == self.work.path:
            self.do_save()
            return
        try:
            if path.exists():
                raise RoutineFileError(f"{path} exists already; choose another name")
            work = open_work(path, self.work.journals)
        except ComposerError as error:
            self.say(str(error))
            return
        work.undecided = work.journal.path.exists()
        self._left, self.work = (*self._left, self.work), work
        self._save()

    def _ask_about_changed_file(self) -> None:
        def answer(index: int | None) -> None:
            before = self.desk.history
            try:
                if index == 0:
                    self._save()
                elif index == 1:
                    other = read_again(self.work)
                    self.message = self.desk.take_over("took the file from the disk", other)
                    self.desk.saved = self.desk.routine
                    self.after_edit(before)
            except ComposerError as error:
                self.say(str(error))

        question = f"{self.work.path.name} was changed by another program"
        rows = _rows("Keep mine: write over the other", "Take the other: mine stays in undo")
        self.app.push_screen(Pick(question, rows), answer)

    # ------------------------------------------------------------------ leaving

    def do_quit(self) -> None:
        if self.desk.is_saved:
            self.work.saved()
            self.dismiss(None)
            return

        def answer(index: int | None) -> None:
            if index == 0:
                self._save(then_leave=True)
            elif index == 1 or (index == 2 and self._set_aside()):
                self.dismiss(None)

        rows = _rows(
            "Save and leave",
            "Leave; these edits are offered the next time",
            "Leave and set these edits aside",
        )
        self.app.push_screen(Pick("There are unsaved edits", rows), answer)
