"""What the trade knows, as data: families, readings, findings, causes, tests, remedies, stops, and their loader.

Start at `load()`; the shape of the data is in `model`, the data itself in `data/*.yml`.  Company files are laid over
it by `files`, checked by `checks`, and described for editors by `json_schema()`.
"""

from causebook.knowledge.loader import KnowledgeError, load
from causebook.knowledge.model import Knowledge, slug
from causebook.knowledge.schema import json_schema

__all__ = ["Knowledge", "KnowledgeError", "json_schema", "load", "slug"]
