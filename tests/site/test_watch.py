"""`check --watch` runs again at a save, and only then."""

from __future__ import annotations

import threading
from pathlib import Path

from causebook.commands.watch import wait_for_save


def test_a_save_ends_the_wait(tmp_path: Path) -> None:
    file = tmp_path / "case" / "case.yml"
    file.parent.mkdir()
    file.write_text("a", encoding="utf-8")
    waiting = threading.Thread(target=wait_for_save, args=([tmp_path], 0.01), daemon=True)
    waiting.start()
    waiting.join(0.1)
    assert waiting.is_alive()
    file.write_text("longer", encoding="utf-8")
    waiting.join(30)
    assert not waiting.is_alive()
