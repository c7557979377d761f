"""What happened: the case file's schema, its reader with line marks, temperature logs and the review of the reasoning.

`read_cases(folder, knowledge)` is the door: it returns the sound cases and every problem of all of them.
"""

from causebook.casefile.model import Case
from causebook.casefile.read import read_case, read_cases

__all__ = ["Case", "read_case", "read_cases"]
