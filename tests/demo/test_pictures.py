"""The drawn pictures: all there, small enough, said to be drawn, and drawn again the same."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from systems import CASES

from causebook.casefile.read import read_cases
from causebook.knowledge import load

sys.path.insert(0, str(CASES / "_pictures"))  # the drawing program is no package

import draw


def _same_pixels(one: Image.Image, other: Image.Image) -> float:
    """Share of pixels that differ visibly."""
    left, right = (np.asarray(image.convert("RGB"), float) for image in (one, other))
    return float((np.abs(left - right).max(axis=2) > 24).mean()) if left.shape == right.shape else 1.0


@pytest.mark.parametrize(
    "name",
    ["narrow-return/photos/taps.png", "second-limit/photos/plenum-heat.png", "second-limit/photos/coil-found.png"],
)
def test_a_scene_drawn_again_is_the_stored_picture(name: str, tmp_path: Path) -> None:
    first, second = tmp_path / "first.png", tmp_path / "second.png"
    draw.drawn(name).save(first)
    draw.drawn(name).save(second)
    assert first.read_bytes() == second.read_bytes()
    # Another Pillow may round a glyph's edge differently, so not every pixel need be the stored one.
    assert _same_pixels(Image.open(first), Image.open(CASES / name)) < 0.005


def test_every_photo_has_a_scene_and_every_scene_a_photo() -> None:
    cases, _ = read_cases(CASES, load())
    photos = {f"{case.id}/{photo.file.as_posix()}" for case in cases for _, photo in case.photos}
    assert photos == set(draw.SCENES)


def test_photos_are_small_and_said_to_be_drawn() -> None:
    cases, _ = read_cases(CASES, load())
    # What is settled by a meter at a connector or by a hose that was split needs no picture; most cases have them.
    assert {case.id for case in cases if not case.photos} == {"new-board-old-wire", "split-hose"}
    for case in cases:
        assert not case.photos or 2 <= len(case.photos) <= 5, case.id
        for _, photo in case.photos:
            content = (case.folder / photo.file).read_bytes()
            assert photo.drawn, photo.file
            assert len(content) <= 150_000, photo.file
            assert max(Image.open(io.BytesIO(content)).size) <= 1600, photo.file
