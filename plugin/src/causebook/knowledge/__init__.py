"""What the trade knows, as data: families, readings, findings, causes, tests, remedies, stops, and their loader.

Start at `load()`; the shape of the data is in `model`, the data itself in `data/*.yml`.
"""

from causebook.knowledge.loader import load
from causebook.knowledge.model import Knowledge, slug

__all__ = ["Knowledge", "load", "slug"]
