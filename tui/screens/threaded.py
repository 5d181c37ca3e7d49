"""Screens that workers in threads report to."""

import contextlib
from collections.abc import Callable

from textual.css.query import NoMatches
from textual.screen import Screen
from textual.widget import Widget


class FromThreads:
    """A mix-in: a screen may be left at any time, what a thread brings too late is dropped."""

    def from_thread(  # type: ignore[misc]
        self: Widget, call: Callable[..., object], *values: object
    ) -> None:
        """Have the screen do something a worker asks for, unless it has been left meanwhile."""

        def if_still_here() -> None:
            if self.is_attached and self.is_running:
                with contextlib.suppress(NoMatches):  # it is being taken down just now
                    call(*values)

        with contextlib.suppress(RuntimeError):  # the app itself has ended
            self.app.call_from_thread(if_still_here)


class ThreadedScreen(FromThreads, Screen[None]):
    """One that ends with nothing."""
