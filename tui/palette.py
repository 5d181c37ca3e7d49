"""The searchable command list: every action of the screen it is opened on, with its key."""

from functools import partial

from textual.command import DiscoveryHit, Hit, Hits, Provider

from tui.actions import Action
from tui.views.key_lines import KeyTable


class ActionCommands(Provider):
    """Finds actions by their words; a screen has them in its ``KEYS`` and does them by name."""

    async def discover(self) -> Hits:
        for action in self._actions():
            yield DiscoveryHit(
                action.words, partial(self._act, action.name), help=self._help(action)
            )

    async def search(self, query: str) -> Hits:
        matcher = self.matcher(query)
        for action in self._actions():
            score = matcher.match(action.words)
            if score > 0:
                yield Hit(
                    score,
                    matcher.highlight(action.words),
                    partial(self._act, action.name),
                    help=self._help(action),
                )

    @property
    def _table(self) -> KeyTable:
        table: KeyTable = self.screen.KEYS  # type: ignore[attr-defined]
        return table

    def _actions(self) -> list[Action]:
        return [one for one in self._table.actions if not one.name[-1].isdigit()]

    def _help(self, action: Action) -> str:
        own = getattr(self.app, "own_keys", {})
        return f"{action.group} · {self._table.sign_of(action, own)}"

    def _act(self, name: str) -> None:
        self.screen.action_act(name)  # type: ignore[attr-defined]
