"""The tour: a hint at a time, and the action that leads to the next one."""

from dataclasses import dataclass

from tui.views.paper import Line, Piece


@dataclass(frozen=True, slots=True)
class Stop:
    """What to try, why, and the actions that count as having tried it."""

    text: str
    actions: tuple[str, ...]


TOUR: tuple[Stop, ...] = (
    Stop("The sheet reads down, an eight a row. Press ↓ to go a row down.", ("next-row",)),
    Stop("→ goes a count on. R, L, B under a move: which heads pass down there.", ("next-count",)),
    Stop("] goes to the next phrase; its heading tells bars and length.", ("next-phrase",)),
    Stop("▲ and ✖ mark what does not fit or wrenches. n goes to the next one.", ("next-finding",)),
    Stop("i shows what mends it, each already tried: enter takes one, esc none.", ("mend",)),
    Stop("u takes back whatever was done, one edit at a time.", ("undo",)),
    Stop("enter lists what can follow here; type to narrow, esc leaves.", ("choose",)),
    Stop("x removes a move; 0 then shows whole fillings of what is free.", ("fill-free",)),
    Stop("+ and - lengthen and shorten the move under the cursor.", ("longer", "shorter")),
    Stop(". turns the motion on by an eighth of a turn; w runs it slowly.", ("step", "animate")),
    Stop("space plays from the cursor, space again stops.", ("play",)),
    Stop("? explains every key and word; ctrl+p finds any command. That is all.", ("help",)),
)


def tour_lines(stop: int) -> tuple[Line, ...]:
    """The hint of a stop, and its number."""
    number = f" tour, {stop + 1} of {len(TOUR)}; ctrl+t: enough of it"
    return ((Piece(f" {TOUR[stop].text}", "strong"),), (Piece(number, "quiet"),))


def next_stop(stop: int, action: str) -> int | None:
    """The stop after an action: the next one if it was asked for, None past the last."""
    if action not in TOUR[stop].actions:
        return stop
    return stop + 1 if stop + 1 < len(TOUR) else None
