"""Calls handed in as a zip: what is filed, and what no zip may do."""

from __future__ import annotations

import io
import stat
import zipfile
from collections.abc import Mapping
from pathlib import Path

import pytest

from causebook.cli import main
from causebook.library import parcels

CASE = b"""\
title: Short
complaint: {family: high limit, words: "It stops."}
visits:
  - date: 2026-02-03
    steps:
      - do: Read
        read: {supply air: 141 degF, return air: 68 degF}
"""


def zipped(path: Path, files: Mapping[str, bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return path


def test_a_parcel_becomes_a_case_and_only_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cases = tmp_path / "casefiles"
    path = zipped(tmp_path / "2026-02-03 Goes off (1).zip", {"case.yml": CASE, "logs/a.csv": b"x"})
    assert main(["take", str(path), "--casefiles", str(cases)]) == 0
    folder = cases / "2026-02-03-goes-off"
    assert (folder / "case.yml").read_bytes() == CASE and (folder / "logs/a.csv").exists()
    assert main(["take", str(path), "--casefiles", str(cases)]) == 0
    assert "filed before as" in capsys.readouterr().err
    other = zipped(tmp_path / "2026-02-03 Goes off.zip", {"case.yml": CASE + b"customer: Paid\n"})
    main(["take", str(other), "--casefiles", str(cases)])
    assert sorted(p.name for p in cases.iterdir()) == ["2026-02-03-goes-off", "2026-02-03-goes-off-2", "_in"]


def test_the_tray_is_emptied(tmp_path: Path) -> None:
    cases = tmp_path / "casefiles"
    (cases / parcels.TRAY).mkdir(parents=True)
    zipped(cases / parcels.TRAY / "a.zip", {"case.yml": CASE})
    assert [p.name for p in parcels.waiting(cases)] == ["a.zip"]
    assert main(["take", "--casefiles", str(cases)]) == 0
    assert not parcels.waiting(cases) and (cases / "a" / "case.yml").exists()


def test_a_case_with_an_error_is_filed_and_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = zipped(tmp_path / "a.zip", {"case.yml": CASE.replace(b"141 degF", b"141")})
    assert main(["take", str(path), "--casefiles", str(tmp_path / "casefiles")]) == 1
    assert "the unit is missing" in capsys.readouterr().out


def names(*names: str) -> dict[str, bytes]:
    return {"case.yml": CASE} | dict.fromkeys(names, b"x")


@pytest.mark.parametrize(
    ("files", "words"),
    [
        (names("../evil.csv"), "leads out"),
        (names("/etc/evil.csv"), "leads out"),
        (names("photos/../../evil.jpg"), "leads out"),
        (names("C:\\evil.csv"), "leads out"),
        (names("run.sh"), "photos and logs only"),
        (names("photos/.hidden.jpg"), "photos and logs only"),
        (names("deeper/photos/a.jpg"), "photos and logs only"),
        (names("photos/a.svg"), "photos and logs only"),
        ({"photos/a.jpg": b"x"}, "holds no case.yml"),
        (names(*(f"photos/{n}.jpg" for n in range(201))), "holds 202 files"),
        ({"case.yml": CASE + b"#" * 1_000_001}, "is larger than 1 MB"),
        ({"case.yml": CASE, "logs/bomb.csv": b"0" * 6_000_000}, "is larger than 5 MB"),
    ],
)
def test_what_is_none_of_ours_is_refused(tmp_path: Path, files: dict[str, bytes], words: str) -> None:
    parcel, problems = parcels.open_parcel(zipped(tmp_path / "a.zip", files))
    assert parcel is None and words in str(problems[0])


def test_two_files_of_one_name_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("case.yml", CASE)
        archive.writestr("CASE.YML", CASE)
    parcel, problems = parcels.open_parcel(path)
    assert parcel is None and "twice" in str(problems[0])


def test_a_link_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("case.yml", CASE)
        link = zipfile.ZipInfo("photos/a.jpg")
        link.external_attr = (stat.S_IFLNK | 0o777) << 16
        archive.writestr(link, "/etc/passwd")
    parcel, problems = parcels.open_parcel(path)
    assert parcel is None and "a link" in str(problems[0])


@pytest.mark.parametrize("data", [b"", b"no zip at all", b"PK\x03\x04" + bytes(40)])
def test_what_is_no_zip_is_refused(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "a.zip"
    path.write_bytes(data)
    parcel, problems = parcels.open_parcel(path)
    assert parcel is None and "cannot be opened" in str(problems[0])


def test_a_zip_cut_short_is_refused(tmp_path: Path) -> None:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("case.yml", CASE * 50)
    data = bytearray(held.getvalue())
    data[60:70] = bytes(10)
    path = tmp_path / "a.zip"
    path.write_bytes(bytes(data))
    parcel, problems = parcels.open_parcel(path)
    assert parcel is None and "cannot be opened" in str(problems[0])
