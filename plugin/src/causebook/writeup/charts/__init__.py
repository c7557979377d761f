"""The charts of a worked case, each answering one question in one sentence worked out from the data.

`charts_for(workup)` draws them in the order of the page.  `style` is their one look, `model` what a chart is to the
page, and every other module holds one chart.  Matplotlib is used through its objects only; nothing here keeps state
between two drawings, and the same workup gives the same bytes.
"""

from __future__ import annotations

from causebook.workup import Workup
from causebook.writeup.charts import airpath, blower, chain, evidence, gas, onechange, returns, rooms, runlog
from causebook.writeup.charts.model import Chart, Missing

__all__ = ["Chart", "Missing", "charts_for"]

_ORDER = (
    chain.chart,
    airpath.chart,
    airpath.chart_at_one_airflow,
    blower.chart,
    runlog.chart,
    onechange.chart,
    evidence.chart,
    returns.chart,
    gas.chart,
    rooms.chart,
)
_UNSAID = {airpath.COMMON_ID, rooms.ID}
"""Charts that most cases have no cause to draw: when they are missing, nothing is said about it."""


def charts_for(workup: Workup) -> list[Chart | Missing]:
    """Every chart of the case in the order of the page, or why it was not drawn."""
    made = [draw(workup) for draw in _ORDER]
    return [c for c in made if isinstance(c, Chart) or c.id not in _UNSAID]
