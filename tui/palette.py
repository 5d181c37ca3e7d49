"""The searchable command list: every action of the composing screen, with its key."""

from functools import partial

from textual.command import DiscoveryHit, Hit, Hits, Provider

from tui.actions import ACTIONS, Action, key_words


class ActionCommands(Provider):
    """Finds actions by their words."""

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

    def _actions(self) -> list[Action]:
        return [action for action in ACTIONS if not action.name.startswith("place-")]

    def _help(self, action: Action) -> str:
        own = getattr(self.app, "own_keys", {})
        return f"{action.group} · {key_words(own.get(action.name, action.keys))}"

    def _act(self, name: str) -> None:
        self.screen.action_act(name)  # type: ignore[attr-defined]
