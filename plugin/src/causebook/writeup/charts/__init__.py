"""The charts of a worked case, each answering one question in one sentence worked out from the data.

`charts_for(workup)` draws them in the order of the page.  `style` is their one look, `model` what a chart is to the
page, and every other module holds one chart.  Matplotlib is used through its objects only; nothing here keeps state
between two drawings, and the same workup gives the same bytes.
"""

from __future__ import annotations

import functools
from collections.abc import Callable

from causebook.problems import Fence
from causebook.workup import Workup
from causebook.writeup.charts import airpath, blower, chain, evidence, gas, onechange, returns, rooms, runlog, start
from causebook.writeup.charts.model import Chart, Missing

__all__ = ["Chart", "Missing", "charts_for"]

NOT_MADE = "this drawing could not be made"
_ORDER: tuple[tuple[str, str, Callable[[Workup], Chart | Missing]], ...] = (
    (chain.ID, chain.TITLE, chain.chart),
    (start.ID, start.TITLE, start.chart),
    (start.CIRCUIT_ID, start.CIRCUIT_TITLE, start.chart_of_circuit),
    (airpath.ID, airpath.TITLE, airpath.chart),
    (airpath.COMMON_ID, airpath.COMMON_TITLE, airpath.chart_at_one_airflow),
    (blower.ID, blower.TITLE, blower.chart),
    (runlog.ID, runlog.TITLE, runlog.chart),
    (onechange.ID, onechange.TITLE, onechange.chart),
    (evidence.ID, evidence.TITLE, evidence.chart),
    (returns.ID, returns.TITLE, returns.chart),
    (gas.ID, gas.TITLE, gas.chart),
    (rooms.ID, rooms.TITLE, rooms.chart),
)
_UNSAID = {airpath.COMMON_ID, rooms.ID, start.ID, start.CIRCUIT_ID}
"""Charts that most cases have no cause to draw: when they are missing, nothing is said about it."""


def charts_for(workup: Workup, fence: Fence | None = None) -> list[Chart | Missing]:
    """Every chart of the case in the order of the page, or why it was not drawn.

    A chart that fails is missing, and its fault is left with the fence.
    """
    fence = fence or Fence(workup.case.path)
    made = [
        fence.keep(f"drawing {title!r}", functools.partial(draw, workup), Missing(id_, title, NOT_MADE, failed=True))
        for id_, title, draw in _ORDER
    ]
    return [c for c in made if isinstance(c, Chart) or c.failed or c.id not in _UNSAID]
