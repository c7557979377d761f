"""All workings by the name that a block gives."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from causebook.workings import airflow, airpath, control, evidence, fire, house, start
from causebook.workings.model import Working

WORKINGS: Mapping[str, Working] = MappingProxyType(
    {
        working.name: working
        for subject in (airflow, airpath, fire, house, control, start, evidence)
        for working in subject.KINDS
    }
)
