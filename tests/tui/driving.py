"""Driving a screen in a test: keys in, the whole screen as plain text out."""

from collections.abc import Callable

from textual.pilot import Pilot

from tui.app import PetalbarApp
from tui.desk import Desk
from tui.screens.compose import ComposeScreen

Opened = Callable[..., PetalbarApp]


def shown(pilot: Pilot[int]) -> str:
    """The whole screen as plain text, line by line."""
    strips = pilot.app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip) for strip in strips)


async def press(pilot: Pilot[int], *keys: str) -> None:
    await pilot.press(*keys)
    await pilot.pause()


async def settled(pilot: Pilot[int]) -> None:
    """Until no thread works for the screen and the findings of the present routine are shown."""
    for _ in range(500):
        await pilot.app.workers.wait_for_complete()
        await pilot.pause(0.01)
        if not any(getattr(screen, "checks_run", False) for screen in pilot.app.screen_stack):
            break
    await pilot.pause()


def compose_screen(pilot: Pilot[int]) -> ComposeScreen:
    """The composing screen, dialogs over it or not."""
    return next(one for one in pilot.app.screen_stack if isinstance(one, ComposeScreen))


def desk_of(pilot: Pilot[int]) -> Desk:
    return compose_screen(pilot).desk


def moves_of(pilot: Pilot[int], performer: str = "Wren") -> list[tuple[int, int, str]]:
    part = desk_of(pilot).routine.part(performer)
    return [(int(p.span.start_beat), int(p.span.length_beats), p.move) for p in part.placements]
