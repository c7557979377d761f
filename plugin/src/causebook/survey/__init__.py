"""From readings to findings: reading sets, airflow by every method, drops, limit evidence, findings with probability.

`survey(case, knowledge)` is the door.
"""

from causebook.survey.survey import survey

__all__ = ["survey"]
