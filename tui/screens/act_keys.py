"""The keys of a table as a screen binds them."""

from collections.abc import Callable

from textual.binding import Binding, BindingType

from tui.actions import Action
from tui.views.key_lines import KeyTable


def act_bindings(
    table: KeyTable,
    *,
    wanted: Callable[[Action], bool] = lambda _: True,
    first: Callable[[Action], bool] = lambda _: False,
) -> list[BindingType]:
    """A binding to ``act(name)`` for each wanted action, by the name a keys file calls it.

    Those that are ``first`` hold before what the focused widget would do with the key.
    """
    return [
        Binding(
            action.keys,
            f"act('{action.name}')",
            action.words,
            show=False,
            priority=first(action),
            id=table.own_name(action),
        )
        for action in table.actions
        if wanted(action)
    ]
