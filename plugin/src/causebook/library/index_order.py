"""The full-text index with its filters in one order, so that the same site has the same index, byte for byte.

Pagefind writes the filters, and the values of each, in another order at every run; all else it writes alike.  Its
files are a mark and CBOR (RFC 8949), packed by gzip; a filter file carries a digest in its name, and the list of the
index names it.  A file that looks otherwise is left as it is: the search works as well, only its bytes differ.
"""

from __future__ import annotations

import gzip
import hashlib
import json
from pathlib import Path
from typing import Any

try:
    import cbor2
except ImportError:  # as after an update of the program alone; see `in_order`
    cbor2 = None

_MARK = b"pagefind_dcd"
_VALUES = 1
"""Place of the values in a filter: [name, [[value, pages], ...]]."""
_FILTERS = 3
"""Place of the filters in the list of the index: [version, pages, words, [[filter, file], ...], ...]."""


class _Unknown(Exception):
    """A file of another form than is known here."""


def in_order(index: Path) -> bool:
    """Put the filters of an index in order.

    False, and nothing is changed, when its form is not the one known here or nothing is installed that reads it.
    """
    if cbor2 is None:
        return False
    try:
        entry = json.loads((index / "pagefind-entry.json").read_text(encoding="utf-8"))
        lists = {path.name: _unpacked(path) for path in index.glob("*.pf_meta")}
        filters = {path.name: _unpacked(path) for path in index.glob("filter/*.pf_filter")}
        for data in filters.values():
            data[_VALUES].sort()
        names = {name: _named(name, data) for name, data in filters.items()}
        bare = {name.partition(".")[0]: new.partition(".")[0] for name, new in names.items()}
        for data in lists.values():
            data[_FILTERS] = sorted([filter_, bare[file]] for filter_, file in data[_FILTERS])
        new_lists = {name: _named(name, data) for name, data in lists.items()}
        for language in entry["languages"].values():
            language["hash"] = new_lists[f"pagefind.{language['hash']}.pf_meta"].split(".")[1]
        entry["languages"] = dict(sorted(entry["languages"].items()))
    except (_Unknown, KeyError, IndexError, TypeError, ValueError, AttributeError):
        return False
    for folder, all_, renamed in ((index / "filter", filters, names), (index, lists, new_lists)):
        for name in all_:
            (folder / name).unlink()
        for name, data in all_.items():
            (folder / renamed[name]).write_bytes(_packed(data))
    (index / "pagefind-entry.json").write_bytes(
        json.dumps(entry, separators=(",", ":"), ensure_ascii=False).encode("utf-8")
    )
    return True


def _unpacked(path: Path) -> Any:
    whole = gzip.decompress(path.read_bytes())
    if not whole.startswith(_MARK):
        raise _Unknown
    data = cbor2.loads(whole[len(_MARK) :])
    if cbor2.dumps(data) != whole[len(_MARK) :]:
        raise _Unknown
    return data


def _packed(data: Any) -> bytes:
    return gzip.compress(_MARK + cbor2.dumps(data), mtime=0)


def _named(name: str, data: Any) -> str:
    """The file's name with the digest of its own content in place of the old one, as long as that was."""
    front, under, rest = name.partition("_")
    old, dot, ending = rest.partition(".")
    if not under or not dot:
        raise _Unknown
    return f"{front}_{hashlib.sha256(cbor2.dumps(data)).hexdigest()[: len(old)]}.{ending}"
