"""The practice plan as lines: what to loop next and why, with a small chart of its days."""

from collections.abc import Sequence

from composer.playback.plan import DayTally, Proposal
from tui.views.paper import Line, Piece, shortened

CHART_DAYS = 10
HEIGHTS = "▁▂▃▄▅▆▇█"


def plan_line(proposal: Proposal, days: Sequence[DayTally], columns: int) -> Line:
    """A transition: its chart, the speed to practise at, its name, the reason."""
    chart = day_chart(days)
    words = f"{proposal.percent:>3} %  {proposal.transition.words}: {proposal.reason}"
    return (
        Piece(f" {chart:>{CHART_DAYS}} ", "sound"),
        Piece(shortened(words, max(0, columns - CHART_DAYS - 2))),
    )


def day_chart(days: Sequence[DayTally]) -> str:
    """The share of clean passes on each of the last days practised: low fumbled, high clean."""
    bars = []
    for day in days[-CHART_DAYS:]:
        share = day.clean / (day.clean + day.fumbled)
        bars.append(HEIGHTS[round(share * (len(HEIGHTS) - 1))])
    return "".join(bars)
