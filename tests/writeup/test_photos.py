"""Photos: upright, small, without the place they were taken at, and only from inside the case folder."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import pytest
import sample
from PIL import Image

from causebook.casefile.model import Case, Photo
from causebook.writeup.photos import Published, publish

_GPS, _ORIENTATION = 0x8825, 0x0112
RED, BLUE = (200, 30, 30), (30, 30, 200)


def case_with(folder: Path, *photos: Photo) -> Case:
    """The sample case in `folder`, its first step showing `photos`."""
    base = sample.case()
    first = base.steps[0]
    step = first.model_copy(update={"step": first.step.model_copy(update={"photo": photos})})
    rest = [s.model_copy(update={"step": s.step.model_copy(update={"photo": ()})}) for s in base.steps[1:]]
    return base.model_copy(update={"folder": folder, "steps": (step, *rest)})


def photographed(folder: Path, name: str, size: tuple[int, int] = (1800, 1200), orientation: int = 1) -> Photo:
    """A picture, red on its left half and blue on its right, that tells where it was taken."""
    image = Image.new("RGB", size, BLUE)
    image.paste(RED, (0, 0, size[0] // 2, size[1]))
    exif = image.getexif()
    exif[_ORIENTATION] = orientation
    exif.get_ifd(_GPS)[1] = "N"
    exif[0x010E] = "Pennock Mill, back door"
    (folder / name).parent.mkdir(parents=True, exist_ok=True)
    image.save(folder / name, exif=exif)
    return Photo(file=Path(name), shows="A filter")


def published(tmp_path: Path, *photos: Photo) -> Published:
    return publish(case_with(tmp_path / "case", *photos), tmp_path / "out")


def test_sizes_and_names(tmp_path: Path) -> None:
    (picture,) = published(tmp_path, photographed(tmp_path / "case", "photos/a.jpg")).pictures
    assert picture.widths == (480, 960, 1600)
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == sorted(picture.names)
    for width in picture.widths:
        with Image.open(tmp_path / "out" / picture.name(width)) as image:
            assert (image.format, image.size) == ("WEBP", (width, round(width * 1200 / 1800)))
    with Image.open(tmp_path / "out" / picture.name(960, "jpg")) as image:
        assert (image.format, image.size) == ("JPEG", (960, 640))
    assert picture.srcset("photos/").startswith(f"photos/{picture.name(480)} 480w, ")


def test_a_small_picture_is_not_enlarged(tmp_path: Path) -> None:
    (picture,) = published(tmp_path, photographed(tmp_path / "case", "a.png", (600, 300))).pictures
    assert (picture.widths, picture.fallback) == ((480, 600), 600)


def test_place_and_all_other_metadata_are_gone(tmp_path: Path) -> None:
    (picture,) = published(tmp_path, photographed(tmp_path / "case", "a.jpg")).pictures
    for name in picture.names:
        data = (tmp_path / "out" / name).read_bytes()
        assert b"Pennock" not in data and b"Exif" not in data and b"EXIF" not in data
        with Image.open(tmp_path / "out" / name) as image:
            assert dict(image.getexif()) == {}


@pytest.mark.parametrize(
    ("orientation", "size", "red_at"),
    [
        (1, (1000, 400), (0.25, 0.5)),
        (3, (1000, 400), (0.75, 0.5)),
        (6, (400, 1000), (0.5, 0.25)),
        (8, (400, 1000), (0.5, 0.75)),
    ],
)
def test_pictures_stand_upright(
    tmp_path: Path, orientation: int, size: tuple[int, int], red_at: tuple[float, float]
) -> None:
    """Exif 2.32, tag Orientation: 3 half a turn, 6 a quarter clockwise, 8 a quarter counter-clockwise (from memory)."""
    photo = photographed(tmp_path / "case", "a.jpg", (1000, 400), orientation)
    (picture,) = published(tmp_path, photo).pictures
    assert (picture.width, picture.height) == size
    with Image.open(tmp_path / "out" / picture.name(picture.fallback, "jpg")) as image:
        red, _, blue = image.convert("RGB").getpixel((int(red_at[0] * image.width), int(red_at[1] * image.height)))
        assert red > 150 > 90 > blue


def test_the_name_follows_the_content(tmp_path: Path) -> None:
    folder = tmp_path / "case"
    first, same, other = published(
        tmp_path,
        photographed(folder, "a.jpg"),
        photographed(folder, "b.jpg"),
        photographed(folder, "c.jpg", (1700, 1200)),
    ).pictures
    assert first.names == same.names
    assert set(first.names).isdisjoint(other.names)


def test_what_is_already_there_is_left_alone(tmp_path: Path) -> None:
    photo = photographed(tmp_path / "case", "a.jpg")
    (picture,) = published(tmp_path, photo).pictures
    kept = tmp_path / "out" / picture.names[0]
    kept.write_bytes(b"as it was")
    published(tmp_path, photo)
    assert kept.read_bytes() == b"as it was"


def refused(tmp_path: Path, photo: Photo) -> str:
    """What is said of a photo that must not be published; nothing may have been written for it."""
    result = published(tmp_path, photo)
    assert result.pictures == ()
    assert not (tmp_path / "out").exists()
    (problem,) = result.problems
    assert problem.line == sample.case().steps[0].line
    assert str(photo.file) in problem.field
    return problem.found


def test_only_pictures_inside_the_case_folder(tmp_path: Path) -> None:
    photographed(tmp_path, "secret.jpg")
    (tmp_path / "case").mkdir()
    (tmp_path / "case" / "link.jpg").symlink_to(tmp_path / "secret.jpg")
    for file in ("../secret.jpg", "link.jpg", str(tmp_path / "secret.jpg")):
        assert refused(tmp_path, Photo(file=Path(file), shows="x")) == "lies outside the case folder"


def test_a_link_inside_the_case_folder_is_fine(tmp_path: Path) -> None:
    photographed(tmp_path / "case", "a.jpg")
    (tmp_path / "case" / "b.jpg").symlink_to("a.jpg")
    assert published(tmp_path, Photo(file=Path("b.jpg"), shows="x")).pictures


def test_missing_damaged_and_false_pictures_are_problems(tmp_path: Path) -> None:
    folder = tmp_path / "case"
    good = photographed(folder, "good.jpg")
    whole = (folder / "good.jpg").read_bytes()
    (folder / "cut.jpg").write_bytes(whole[: len(whole) // 2])
    (folder / "words.jpg").write_text("no picture at all", encoding="utf-8")
    (folder / "page.png").write_text("<svg onload='alert(1)'/>", encoding="utf-8")
    assert refused(tmp_path, Photo(file=Path("none.jpg"), shows="x")) == "was not found"
    assert refused(tmp_path, Photo(file=Path("cut.jpg"), shows="x")) == "is damaged"
    for name in ("words.jpg", "page.png"):
        assert refused(tmp_path, Photo(file=Path(name), shows="x")) == "is not a picture that can be read"
    case = case_with(folder, Photo(file=Path("cut.jpg"), shows="x"), good)
    assert [p.found for p in publish(case, tmp_path / "out").problems] == ["is damaged"]
    both = published(tmp_path, Photo(file=Path("cut.jpg"), shows="x"), good)
    assert [p.photo for p in both.pictures] == [good]
    assert len(both.problems) == 1


def _claims(width: int, height: int) -> bytes:
    """A PNG of a few bytes that claims to be width × height."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


@pytest.mark.parametrize("side", [8000, 11000, 60000])
def test_a_picture_of_too_many_pixels_is_not_decoded(tmp_path: Path, side: int) -> None:
    (tmp_path / "case").mkdir()
    (tmp_path / "case" / "bomb.png").write_bytes(_claims(side, side))
    assert refused(tmp_path, Photo(file=Path("bomb.png"), shows="x")) == "has too many pixels"
