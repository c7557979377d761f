"""From findings to a verdict: belief over sets of causes, roles by what-if, weight of each step, what to do next.

`diagnose(case, knowledge)` is the door.
"""

from causebook.diagnosis.diagnose import diagnose

__all__ = ["diagnose"]
