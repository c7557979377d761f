"""A library of hostile case files: each must be refused with a line of its own, or be built whole.

.venv/bin/python -m tests.campaign.hostile FOLDER      # lay the library down, to build it by hand
"""

from __future__ import annotations

import io
import sys
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import yaml
from PIL import Image

SECRET = "SECRETOFTHEHOUSE"
SCRIPT = "<script>window.pwned=1</script>"
TEXTS = {
    "script": SCRIPT,
    "handler": "<img src=x onerror=window.pwned=1>",
    "link": "[press](javascript:window.pwned=1)",
    "data-link": "[press](data:text/html;base64,PHNjcmlwdD4=)",
    "braces": "{{ 7*191 }} {% raw %} ${7*191}",
    "fence": "```\n</div></body>\n```",
    "bidi": "a\u202e\u2066b\u2069",
    "emoji": "🔥 👍🏽 ✅ ❌ 👨‍👩‍👧",
    "chinese": "過濾器很髒",
    "arabic": "المرشح متسخ",
    "hindi": "फ़िल्टर गंदा है",
    "korean": "필터가 더러움",
    "combining": "Z͑ͫ̓ͪ̂ͫ̽͏̴̙̤̞͉͚̯̞̠͍A̴̵̜̰͔ͫ͗͢L̠ͨͧͩ͘G̴̻͈͍͔̹̑͗̎̅͛́Ǫ̵̹̻̝̳͂̌̌͘",
    "astral": "𝔉𝔲𝔯𝔫𝔞𝔠𝔢 𐍈",
    "entities": "&lt;b&gt; &amp; &#x3c;script&#x3e;",
    "front-matter": "---\ntemplate: evil.html\n---",
    "table": "| a | b |\n|---|---|\n| c | d |",
    "snippet": '--8<-- "/etc/passwd"',
    "headings": "# One\n\n###### Six",
    "html-block": "<div markdown=1><style>*{display:none}</style></div>",
    "long-words": "x" * 999 + " " + "y" * 999,
    "brackets": "[" * 199,
    "quotes": "> " * 60 + "deep",
    "stars": "*" * 999,
    "ticks": "`" * 999,
    "backslashes": "\\" * 999,
    "long": "A long story of one step. " * 700,
    "path": "../../../../etc/passwd",
    "sql": "'; drop table cases; --",
    "search": "data-pagefind-body data-pagefind-ignore",
}
"""Texts that try to be more than text: by name."""
YAML = {
    "empty": "",
    "blank": "~\n",
    "list": "- a\n- b\n",
    "text": "just words\n",
    "tabs": "title: a\n\tcomplaint: b\n",
    "unclosed": 'title: "a\ncomplaint: {family: high-limit\n',
    "two-documents": "title: a\n---\ntitle: b\n",
    "tag": "title: !!python/object/apply:os.system [ls]\n",
    "own-tag": "title: !secret a\n",
    "alias-to-nothing": "title: *nowhere\n",
    "alias-in-itself": "title: &a [*a]\n",
    "bomb": "a: &a [x,x,x,x,x,x,x,x,x]\n"
    + "".join(f"{chr(98 + n)}: &{chr(98 + n)} [{','.join([f'*{chr(97 + n)}'] * 9)}]\n" for n in range(8)),
    "deep": "title: " + "[" * 60 + "]" * 60 + "\n",
    "very-deep": "title: " + "[" * 3000 + "]" * 3000 + "\n",
    "twice": "title: a\ntitle: b\n",
    "many-keys": "".join(f"key{n}: {n}\n" for n in range(3000)),
    "long-key": "k" * 50000 + ": a\n",
    "no-visits": "title: a\ncomplaint: {family: high-limit, words: a}\nvisits: []\n",
    "control": "title: a\x07b\n",
    "key-is-a-list": "? [a, b]\n: c\n",
    "merge": "base: &b {title: a}\n<<: *b\n",
    "huge-number": "title: a\ncomplaint: {family: high-limit, words: a}\nstudy: {level: "
    + "9" * 5000
    + "}\nvisits: []\n",
    "year-0": "title: a\ncomplaint: {family: high-limit, words: a}\nvisits: [{date: 0000-00-00, steps: [{do: a}]}]\n",
}
"""Files that are no case, as text: by name."""
BYTES = {
    "utf-16": "title: a\n".encode("utf-16"),
    "latin-1": "title: Mesuré\n".encode("latin-1"),
    "null": b"title: a\0b\n",
    "binary": bytes(range(256)) * 40,
    "cut": "title: é".encode()[:-1],
    "large": b"#" * 1_100_000,
    "bom-only": b"\xef\xbb\xbf",
}
READINGS = {
    "nan": {"supply air": "nan degF"},
    "infinite": {"supply air": "inf degF"},
    "overflow": {"supply air": "1e999 degF"},
    "tower": {"supply air": "1 m**9**9**9"},
    "no-unit": {"supply air": "146"},
    "other-unit": {"supply air": "146 cfm"},
    "digits": {"supply air": "9" * 400 + " degF"},
    "cold": {"supply air": "-500 degF"},
    "grid-of-nothing": {"flow grid airflow": "0.0053 cfm"},
    "grid-of-little": {"flow grid airflow": "0.05 cfm"},
    "input-of-nothing": {"clocked input": "0.003 Btu/h"},
    "oven": {"rise": "130 degF", "return air": "390 degF"},
    "oxygen": {"oxygen in flue": "79 %"},
    "unknown": {"suply air": "146 degF"},
    "list": {"supply air": ["146 degF"]},
    "no-accuracy": {"supply air": {"value": "146 degF", "accuracy": "0 degF"}},
}
"""Readings that are refused: by name."""
ODD_READINGS = {
    "swapped": {"supply air": "69 degF", "return air": "119 degF"},
    "digits-exchanged": {"supply air": "416 degF", "return air": "69 degF"},
    "hoses": {"tap before filter": "0.2 inH2O", "tap before coil": "-0.5 inH2O"},
    "uphill": {"tap before filter": "-0.5 inH2O", "tap after filter": "-0.1 inH2O", "blower box": "-0.9 inH2O"},
    "one-tap": {"tap after coil": "0.18 inH2O"},
    "zero-taps": {"tap before filter": "0 inH2O", "tap after filter": "0 inH2O", "tap before coil": "0 inH2O"},
    "tiny": {"tap before filter": "-1e-9 inH2O", "tap before coil": "1e-9 inH2O"},
    "all-oxygen": {"oxygen in flue": "21 %", "co in flue": "100000 ppm"},
    "least-input": {"clocked input": "1000 Btu/h", "supply air": "146 degF", "return air": "69 degF"},
    "most-input": {"clocked input": "3000000 Btu/h", "supply air": "146 degF", "return air": "69 degF"},
    "least-grid": {"flow grid airflow": "50 cfm", "supply air": "146 degF", "return air": "69 degF"},
    "stopped-motor": {"motor speed": "0 rpm", "motor amps": "0 A", "capacitor": "0 uF"},
    "limit-unmarked": {"limit opened at": "188 degF"},
    "no-rise": {"supply air": "70 degF", "return air": "70 degF"},
    "zero-volts": {"secondary volts": "0 V", "volts at gas valve": "0 V", "call volts": "0 V"},
    "exact": {"supply air": {"value": "146 degF", "accuracy": "0.000001 degF"}, "return air": "69 degF"},
    "vague": {"supply air": {"value": "146 degF", "accuracy": "1000 degF"}, "return air": "69 degF"},
    "most-co": {"co indoors": "100000 ppm"},
    "gas": {"gas detector": "100 %"},
}
"""Readings that are odd and are dealt with: by name."""
TABLES = {
    "rows-without-end": ("log", "time [s], T [degF]\n" + "0, 1\n" * 200_001, False),
    "time-back": ("log", "time [s], T [degF]\n0, 60\n5, 61\n3, 62\n", False),
    "long-log": ("log", "time [s], T [degF]\n" + "".join(f"{n}, {60 + n % 90}\n" for n in range(20_000)), True),
    "one-row": ("log", "time [s], T [degF]\n0, 60\n", True),
    "nan-cell": ("log", "time [s], T [degF]\n0, nan\n", False),
    "hot-cell": ("log", "time [s], T [degF]\n0, 99999\n", False),
    "script-column": ("log", f"time [s], T [degF], {SCRIPT}\n0, 60, 1\n9, 61, 1\n", True),
    "trips": (
        "log",
        "time [s], T [degF], limit\n" + "".join(f"{n}, {60 + n % 7 * 9}, {n % 7 == 6:d}\n" for n in range(700)),
        True,
    ),
    "far-apart": ("log", "time [s], T [degF]\n0, 60\n999999999, 61\n", True),
    "fan-of-many": (
        "fan",
        "static [inH2O], high [cfm]\n" + "".join(f"{n / 1e5}, {1500 - n / 100}\n" for n in range(100_000)),
        False,
    ),
    "fan-rising": ("fan", "static [inH2O], high [cfm]\n0.1, 900\n0.2, 1200\n", False),
    "fan-zero": ("fan", "static [inH2O], high [cfm]\n0, 0\n1, 0\n", False),
    "fan-steep": ("fan", "static [inH2O], high [cfm]\n0.1, 1200\n0.1000001, 1\n", True),
    "fan-semicolons": ("fan", "static [inH2O]; high [cfm]\n0.1; 1200\n0.5; 900\n", True),
    "fan-script": ("fan", f"static [inH2O], {SCRIPT} [cfm]\n0.1, 1200\n0.5, 900\n", True),
}
"""Logs and fan tables: by name, with whether the case stands."""


@dataclass(frozen=True, slots=True)
class Hostile:
    """One case folder: its files, and whether it must stand."""

    stands: bool
    files: dict[str, bytes] = field(default_factory=dict)


def _case(read: object = None, **more: object) -> dict[str, object]:
    step: dict[str, object] = {"do": "Looked", "read": read or {}} | more.pop("step", {})
    plain: dict[str, object] = {
        "title": "A hostile case",
        "complaint": {"family": "high-limit", "words": "It stops."},
        "furnace": {"kind": "non-condensing", "input": "80000 Btu/h", "rise": "35 to 65 degF"},
        "visits": [{"date": "2024-02-01", "steps": [step]}],
    }
    return plain | more


def _bytes(case: dict[str, object]) -> bytes:
    return yaml.safe_dump(case, sort_keys=False, allow_unicode=True).encode()


def _everywhere(text: str) -> dict[str, object]:
    """A case with a text in every place that takes any."""
    step = {
        "do": text, "why": text, "expect": text, "told": text, "flaw": text,
        "changed": {"blower wheel": text}, "seen": {"wheel dirty": "yes"},
    }  # fmt: skip
    return {
        "title": text[:300],
        "company": text,
        "complaint": {"family": "high-limit", "words": text},
        "site": {"place": text, "house": text},
        "filter": {"kind": text},
        "return": [{"what": text, "size": "14 x 8 in", "note": text}],
        "changed lately": [{"when": text, "what": text}],
        "visits": [
            {
                "date": "2024-02-01",
                "steps": [step],
                "concluded": {"root": {"wheel-dirty": text}, "also found": [text], "would settle": text},
                "options": [{"name": text, "change": {"filter": "clean"}, "why not": text}],
                "open": [text],
            }
        ],
        "follow up": [{"after": "9 min", "found": text}],
        "teach": {"questions": [{"ask": text, "answer": text}], "mistakes": [text]},
        "customer": text,
        "private": {"owner": SECRET},
    }


def pictures() -> Iterator[tuple[str, str, bytes]]:
    """Pictures that are too tall, too many, of another kind or broken: name, name of the file, bytes."""

    def saved(image: Image.Image, kind: str, **how: object) -> bytes:
        out = io.BytesIO()
        image.save(out, kind, **how)
        return out.getvalue()

    sound = saved(Image.new("RGB", (64, 48), "gray"), "JPEG")
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as made:
        made.writestr("a.txt", SECRET)
    yield "tall", "photo.png", saved(Image.new("1", (900, 20_000)), "PNG")
    yield "wide", "photo.png", saved(Image.new("1", (20_000, 3)), "PNG")
    yield "dot", "photo.png", saved(Image.new("RGB", (1, 1)), "PNG")
    yield "bomb", "photo.png", saved(Image.new("1", (20_000, 20_000)), "PNG")
    yield "cmyk", "photo.jpg", saved(Image.new("CMYK", (64, 48)), "JPEG")
    yield "palette", "photo.png", saved(Image.new("P", (64, 48)), "PNG")
    yield "deep", "photo.png", saved(Image.new("I;16", (64, 48)), "PNG")
    yield "cut", "photo.jpg", sound[: len(sound) // 2]
    yield "nothing", "photo.jpg", b""
    yield "zip", "photo.jpg", archive.getvalue()
    yield "gif", "photo.jpg", saved(Image.new("P", (9, 9)), "GIF")
    yield "svg", "photo.png", f'<svg xmlns="http://www.w3.org/2000/svg">{SCRIPT}</svg>'.encode()
    yield "tail", "photo.jpg", sound + SCRIPT.encode() + SECRET.encode()
    yield "comment", "photo.jpg", saved(Image.new("RGB", (64, 48)), "JPEG", comment=SECRET)


def library() -> dict[str, Hostile]:
    """Every hostile case folder, by its name."""
    made: dict[str, Hostile] = {}
    for name, text in TEXTS.items():
        made[f"text-{name}"] = Hostile(True, {"case.yml": _bytes(_everywhere(text))})
    for name, text in YAML.items():
        made[f"yaml-{name}"] = Hostile(False, {"case.yml": text.encode()})
    for name, data in BYTES.items():
        made[f"bytes-{name}"] = Hostile(False, {"case.yml": data})
    for name, read in READINGS.items():
        made[f"reading-{name}"] = Hostile(False, {"case.yml": _bytes(_case(read))})
    for name, read in ODD_READINGS.items():
        made[f"odd-{name}"] = Hostile(True, {"case.yml": _bytes(_case(read))})
    for name, (sort, table, stands) in TABLES.items():
        if sort == "log":
            case = _case(step={"log": {"file": "log.csv", "shows": {"supply air": "T"}}})
        else:
            case = _case(
                {"tap before filter": "-0.3 inH2O"}, blower={"motor": "split capacitor", "fan table": "fan.csv"}
            )
        made[f"table-{name}"] = Hostile(stands, {"case.yml": _bytes(case), f"{sort}.csv": table.encode()})
    for name, file, data in pictures():
        case = _case(step={"photo": {"file": file, "shows": "The wheel"}})
        made[f"photo-{name}"] = Hostile(True, {"case.yml": _bytes(case), file: data})
    for name, file in {"outside": "../../../etc/passwd", "absolute": "/etc/passwd", "gone": "gone.jpg"}.items():
        case = _case(step={"photo": {"file": file, "shows": "The wheel"}})
        made[f"file-{name}"] = Hostile(False, {"case.yml": _bytes(case)})
    for name, key in {"capitals": "PRIVATE", "spaced": " private ", "plain": "private"}.items():
        made[f"private-{name}"] = Hostile(
            True, {"case.yml": _bytes(_case(**{key: {"owner": SECRET, "list": [SECRET]}}))}
        )
    return made


def lay_down(folder: Path, names: Iterable[str] | None = None) -> dict[str, Hostile]:
    """Write the library, or the case folders of these names, into a folder."""
    every = library()
    if names is not None:
        every = {name: every[name] for name in names}
    for name, hostile in every.items():
        for file, data in hostile.files.items():
            path = folder / name / file
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
    return every


if __name__ == "__main__":
    print(f"{len(lay_down(Path(sys.argv[1])))} case folders")
