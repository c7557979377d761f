"""Photos of a case: decoded within limits, turned upright, stripped of everything but their pixels, made smaller.

A phone writes the place into every picture it takes, and a case folder is filled by many hands.  So a picture is
read only from inside its case folder, only in three formats, only up to a size, and what is published is drawn
anew from its pixels.  Names come from the content: the same picture keeps its name, a changed one gets another.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from PIL import Image, ImageOps

from causebook.casefile.model import Case, CaseStep, Photo
from causebook.problems import Problem, fault_of, of_the_machine

WIDTHS = (480, 960, 1600)
"""Widths published [pixel], as far as the picture reaches."""
FALLBACK = 960
"""Width of the JPEG for browsers without WebP [pixel]."""
MOST_BYTES = 40_000_000
MOST_PIXELS = 60_000_000
FORMATS = ("JPEG", "PNG", "WEBP")
MOST_SIDE = 16_383
"""The longest side that a WebP can have [pixel] (WebP Container Specification, 2.7: 14 bits)."""
_WEBP_QUALITY, _JPEG_QUALITY = 78, 80
_SETTINGS = repr((WIDTHS, FALLBACK, _WEBP_QUALITY, _JPEG_QUALITY)).encode()
_SIDEWAYS = {5, 6, 7, 8}
_ORIENTATION = 0x0112


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo fit to be published: where it is, its size when upright [pixel], and the digest of its content."""

    photo: Photo
    step: int
    source: Path
    digest: str
    width: int
    height: int

    @property
    def widths(self) -> tuple[int, ...]:
        """The widths it is published in; never larger than it is, nor so wide that its height is more than can be."""
        widest = self._widest
        return (*(w for w in WIDTHS if w < widest), *((widest,) if widest <= WIDTHS[-1] else ()))

    @property
    def fallback(self) -> int:
        """Width of its JPEG."""
        return min(FALLBACK, self._widest)

    @property
    def _widest(self) -> int:
        return self.width if self.height <= MOST_SIDE else max(1, self.width * MOST_SIDE // self.height)

    def height_at(self, width: int) -> int:
        """Its height at one of its widths; a strip narrower than can be shown is squeezed."""
        return min(MOST_SIDE, max(1, round(self.height * width / self.width)))

    def name(self, width: int, format_: str = "webp") -> str:
        """File name of one published size."""
        return f"{self.digest}-{width}.{format_}"

    @property
    def names(self) -> tuple[str, ...]:
        """All files published for it."""
        return (*(self.name(w) for w in self.widths), self.name(self.fallback, "jpg"))

    def srcset(self, base: str) -> str:
        """The `srcset` of its WebP sizes below the path `base`."""
        return ", ".join(f"{base}{self.name(w)} {w}w" for w in self.widths)


@dataclass(frozen=True, slots=True)
class Published:
    """The pictures of a case that can be shown, in the order of its steps, and what is wrong with the others."""

    pictures: tuple[Picture, ...]
    problems: tuple[Problem, ...]


class _Refused(Exception):
    """A picture that is not published: what was found, and what was expected."""

    def __init__(self, found: str, expected: str, hint: str = "") -> None:
        super().__init__(found)
        self.found, self.expected, self.hint = found, expected, hint


def publish(case: Case, folder: Path) -> Published:
    """Write the smaller copies of all photos of `case` into `folder`; those already there are left as they are.

    A photo that cannot be published is a problem of its case file, at the line of its step, and stops no other.
    """
    return _each(case, lambda picture: _write(picture, folder))


def _each(case: Case, use: Callable[[Picture], object]) -> Published:
    pictures, problems = [], []
    for step, photo in case.photos:
        try:
            picture = _look(case, step, photo)
            use(picture)
        except _Refused as refused:
            problems.append(
                Problem(
                    case.path,
                    step.line,
                    0,
                    f"photo {photo.file}",
                    refused.found,
                    refused.expected,
                    refused.hint,
                    rule="photo",
                )
            )
        except Exception as fault:
            if of_the_machine(fault):
                raise
            problems.append(replace(fault_of(case.path, f"photo {photo.file}", fault), line=step.line))
        else:
            pictures.append(picture)
    return Published(tuple(pictures), tuple(problems))


def _look(case: Case, step: CaseStep, photo: Photo) -> Picture:
    """Find a photo, check it against the limits and read its size, without decoding it."""
    source = _inside(case.folder, photo.file)
    if source.stat().st_size > MOST_BYTES:
        raise _Refused("is too large a file", f"at most {MOST_BYTES // 1_000_000} MB")
    with _opened(source) as image:
        width, height = image.size
        if image.getexif().get(_ORIENTATION) in _SIDEWAYS:
            width, height = height, width
    digest = hashlib.blake2b(source.read_bytes() + _SETTINGS, digest_size=8).hexdigest()
    return Picture(photo, step.number, source, digest, width, height)


def _inside(folder: Path, file: Path) -> Path:
    root = folder.resolve()
    source = (root / file).resolve()
    if not source.is_relative_to(root):
        raise _Refused("lies outside the case folder", "a file below the case folder, not a link out of it")
    if not source.is_file():
        raise _Refused("was not found", "a file below the case folder")
    return source


def _opened(source: Path) -> Image.Image:
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        try:
            image = Image.open(source, formats=FORMATS)
        except (Image.DecompressionBombError, Image.DecompressionBombWarning):
            raise _too_many_pixels() from None
        except Exception:  # decoders raise many unrelated classes for a file that is no picture
            raise _Refused("is not a picture that can be read", "a JPEG, PNG or WebP picture") from None
    if image.width * image.height > MOST_PIXELS:
        image.close()
        raise _too_many_pixels()
    return image


def _too_many_pixels() -> _Refused:
    return _Refused("has too many pixels", f"at most {MOST_PIXELS // 1_000_000} million")


def _write(picture: Picture, folder: Path) -> None:
    wanted = [name for name in picture.names if not (folder / name).exists()]
    if not wanted:
        return
    upright = _pixels(picture)
    folder.mkdir(parents=True, exist_ok=True)
    for width, name in _sizes(picture):
        if name in wanted:
            small = upright.resize((width, picture.height_at(width)), Image.Resampling.LANCZOS)
            _save(small, folder / name)


def _sizes(picture: Picture) -> Iterator[tuple[int, str]]:
    yield from ((w, picture.name(w)) for w in picture.widths)
    yield picture.fallback, picture.name(picture.fallback, "jpg")


def _pixels(picture: Picture) -> Image.Image:
    """The picture upright, as bare pixels: nothing of what its file said besides is carried over."""
    try:
        with _opened(picture.source) as image:
            image.draft("RGB", (WIDTHS[-1], WIDTHS[-1]))
            upright = ImageOps.exif_transpose(image).convert("RGBA")
    except _Refused:
        raise
    except Exception:  # decoders raise many unrelated classes for a damaged file
        raise _Refused("is damaged", "a picture that can be decoded to its end", "save it anew") from None
    paper = Image.new("RGB", upright.size, "white")
    paper.paste(upright, mask=upright.getchannel("A"))
    return paper


def _save(image: Image.Image, path: Path) -> None:
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".part-")
    try:
        with os.fdopen(handle, "wb") as out:
            if path.suffix == ".webp":
                image.save(out, "WEBP", quality=_WEBP_QUALITY, method=4)
            else:
                image.save(out, "JPEG", quality=_JPEG_QUALITY, optimize=True, progressive=True)
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
