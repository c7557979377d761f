"""Builds killed at any moment, in short; DEVELOPERS.md holds the command of the long run and what it found."""

from __future__ import annotations

import os
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.campaign.kills import run

KILLS = int(os.environ.get("CAUSEBOOK_KILLS", "20"))


def test_a_build_after_a_killed_one_ships_what_a_clean_one_does(tmp_path: Path) -> None:
    running, wrong = run(KILLS, seed=1, folder=tmp_path)
    assert not wrong and running >= KILLS / 4
