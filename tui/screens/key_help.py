"""Help of a screen beside the composing screen: how it is read, and its keys."""

from collections.abc import Mapping

from tui.screens.help import Help
from tui.views import words
from tui.views.key_lines import KeyTable, key_help
from tui.widgets.pick_list import PickList


class KeyHelp(Help):
    """Sentences to read, then every key of a table."""

    def __init__(self, table: KeyTable, reading: tuple[str, ...], keys: Mapping[str, str]) -> None:
        super().__init__(keys)
        self._table = table
        self._reading = reading

    def _fill(self) -> None:
        pick_list = self.query_one(PickList)
        reading = [line for text in self._reading for line in words.sentence(text, self.row_cells)]
        self._lines = [*reading, (), *key_help(self._table, self._keys)]
        pick_list.show(self._lines)
