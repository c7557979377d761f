"""Makes `sample`, the workup made by hand, importable from every test below this folder."""

from __future__ import annotations

import pytest
import sample

from causebook.workup import Workup


@pytest.fixture
def workup() -> Workup:
    """A case with everything read, settled and corrected."""
    return sample.workup()
