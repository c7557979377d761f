"""Seventy mistakes that people make while writing their first cases: each is understood, or told once and for all.

A message passes when it stands on the right line and holds the words an author needs; one that is understood passes
when the case is read.  The knowledge is the real one, so that its names and other words are tried too.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from causebook import knowledge
from causebook.casefile import read_case
from causebook.problems import errors

CASE = """\
title: "Goes off on limit, wheel full of lint"
complaint:
  family: high limit
  words: "Burner quits and the fan keeps blowing."
furnace:
  kind: non-condensing
  fuel: natural gas
  made: 2008
  input: 80000 Btu/h
  rise: 40 to 70 degF
  static maximum: 0.5 inH2O
  counted as external: [return, filter, coil, supply]
blower: {motor: split capacitor, capacitor: 7.5 uF, full load: 6.8 A, setting: high, fan table: fan.csv}
visits:
  - date: 2026-01-14
    steps:
      - do: Walked the house
        seen: {registers closed: yes}
        told: They shut the bedrooms upstairs
      - do: Temperatures and static at the furnace
        read: {supply air: 152 degF, return air: 69 degF, tap before filter: -0.2 inH2O}
      - do: Opened all registers
        with: {registers: opened}
        read: {rise: 77 degF}
      - do: Pulled the blower and washed the wheel
        changed: {wheel: clean}
      - do: Ran it
        after: repair
        read: {supply air: 127 degF, return air: 69 degF, motor amps: 5.1 A}
    concluded:
      root: {wheel dirty: "Rise from 77 to 58 after cleaning"}
"""
FAN = "static [inH2O],high [cfm]\n0.1,1400\n0.5,1000\n"

# Name: what is typed in place of what, and what it is read as (nothing more to say: it is understood).
UNDERSTOOD = {
    "F": ("152 degF", "152 F"),
    "degrees sign": ("152 degF", "152 °F"),
    "Celsius": ("152 degF", "66.7 C"),
    "no space": ("152 degF", "152F"),
    "MFD": ("7.5 uF", "7.5 MFD"),
    "MBH": ("80000 Btu/h", "80 MBH"),
    "BTUH": ("80000 Btu/h", "80000 BTUH"),
    "thousands": ("80000 Btu/h", "80,000 BTU"),
    "amps": ("5.1 A", "5.1 amps"),
    "inWG": ("-0.2 inH2O", "-.20 inWG"),
    "inch sign": ("-0.2 inH2O", '-0.20" w.c.'),
    "wc": ("-0.2 inH2O", "-0.20 wc"),
    "iwc": ("-0.2 inH2O", "-0.20 iwc"),
    "dash in a range": ("40 to 70 degF", "40-70 F"),
    "delta T": ("rise: 77 degF", "delta T: 77 F"),
    "PSC": ("split capacitor", "PSC"),
    "80 percent": ("kind: non-condensing", "kind: 80%"),
    "gas": ("fuel: natural gas", "fuel: gas"),
    "LP": ("fuel: natural gas", "fuel: LP"),
    "open loop": ("motor amps: 5.1 A", "igniter resistance: OL"),
    "microamps": ("motor amps: 5.1 A", "flame current: 2.1 µA DC"),
    "Y": ("registers closed: yes", "registers closed: Y"),
    "question mark": ("registers closed: yes", "registers closed: '?'"),
    "capitals": ("registers closed: yes", "Registers_Closed: YES"),
    "title in capitals": ("title:", "Title:"),
    "commas within braces": ("rise: 77 degF}", "rise: 77 degF, clocked input: 79,500 BTUH}"),
}

# Name: what is typed in place of what, the line of the message, and the words that it must hold.
TOLD = {
    "unit missing": ("152 degF", "152", 21, ("the unit is missing", "147.4 degF")),
    "wrong kind of unit": ("152 degF", "152 cfm", 21, ("cfm is not a unit of probe temperature",)),
    "no unit at all": ("152 degF", "152 zz", 21, ("unknown unit 'zz'", "147.4 degF")),
    "decimal comma": ("152 degF", "146,4 degF", 21, ("write 146.4",)),
    "range with one end": ("40 to 70 degF", "70 degF", 10, ("two numbers: low and high", "35 to 65 degF")),
    "range without unit": ("40 to 70 degF", "40-70", 10, ("'40-70'", "the unit is missing", "35 to 65 degF")),
    "range upside down": ("40 to 70 degF", "70-40 F", 10, ("from low to high",)),
    "ECM": ("split capacitor", "ECM", 13, ("constant torque", "constant airflow", "the blower table tells which")),
    "85 percent": ("kind: non-condensing", "kind: 85%", 6, ("80 %: metal vent", "90 % and up")),
    "oil": ("fuel: natural gas", "fuel: oil", 7, ("'natural gas' (gas from the street)", "'propane' (LP")),
    "open winding": ("motor amps: 5.1 A", "winding resistance: OL", 29, ("an open circuit has no ohms", "told")),
    "bare pressure switch": (
        "  made: 2008",
        "  made: 2008\n  pressure switch: -0.65",
        9,
        ("write `pressure switch: {closes: -0.65 inH2O}`",),
    ),
    "bare limit": ("  made: 2008", "  made: 2008\n  limit: 170 F", 9, ("write `limit: {opens: 170 F}`",)),
    "bare finding": ("seen: {registers closed: yes}", "seen: registers closed", 18, ("{registers closed: yes}",)),
    "finding in a list": (
        "seen: {registers closed: yes}",
        "seen: [registers closed]",
        18,
        ("{registers closed: yes}",),
    ),
    "bare root": ('{wheel dirty: "Rise from 77 to 58 after cleaning"}', "wheel dirty", 31, ("{wheel dirty: why",)),
    "bare photo": ("told: They", "photo: x.jpg\n        told: They", 19, ("write `photo: {file: x.jpg, shows: …}`",)),
    "bare state": ("with: {registers: opened}", "with: registers opened", 23, ("write `with: {registers: opened}`",)),
    "bare change": ("changed: {wheel: clean}", "changed: the wheel", 26, ("{the wheel: new}",)),
    "bare reading": ("read: {rise: 77 degF}", "read: 77 degF", 24, ("write `read: {supply air: 146 F}`",)),
    "dash of a step missing": ("      - do: Opened", "        do: Opened", 22, ("written twice", "`- do: …`")),
    "dash missing, moved out": ("      - do: Opened", "      do: Opened", 22, ("begins with a dash",)),
    "dash of the visit missing": ("  - date", "    date", 14, ("expected a list, each item after a dash",)),
    "colon in a text": ("told: They", "told: They said: we", 19, ("put quotes around a text that holds ': '",)),
    "at sign": ("told: They", "told: @They", 19, ("quote texts that start with % @",)),
    "quote left open": ("told: They", 'told: "They', 19, ("opens a quote and does not close it",)),
    "brace left open": ("{registers: opened}", "{registers: opened", 24, ("close the { }",)),
    "no space after a colon": ("{registers: opened}", "{registers:opened}", 23, ("unknown part",)),
    "finding without a space": (
        "{registers closed: yes}",
        "{registers closed:yes}",
        18,
        ("put a space after the colon: `registers",),
    ),
    "tab": ("        with:", "\twith:", 23, ("indent with spaces, not tabs",)),
    "key twice": ("  made: 2008", "  made: 2008\n  made: 2009", 9, ("written twice", "line 8")),
    "misspelt reading": ("supply air: 152", "suply air: 152", 21, ("did you mean 'supply-air'",)),
    "misspelt finding": ("registers closed: yes", "registers close: yes", 18, ("did you mean 'registers-closed'",)),
    "words turned round": ("registers closed: yes", "closed registers: yes", 18, ("did you mean 'registers-closed'",)),
    "misspelt cause": ("root: {wheel dirty:", "root: {whel dirty:", 31, ("did you mean 'wheel-dirty'",)),
    "cause among findings": ("registers closed: yes", "filter loaded: yes", 18, ("is a cause", "what shows it")),
    "finding among readings": ("rise: 77 degF", "filter dirty: yes", 24, ("write it under `seen`",)),
    "unknown family": ("family: high limit", "family: limit", 3, ("did you mean 'high-limit'",)),
    "misspelt part": ("{registers: opened}", "{regsters: opened}", 23, ("did you mean 'registers'",)),
    "unknown state": ("{registers: opened}", "{registers: wobbly}", 23, ("opened, closed",)),
    "US date": ("2026-01-14", "1/14/2026", 15, ("write 2026-01-14",)),
    "date in words": ("2026-01-14", "14 Jan 2026", 15, ("write 2026-01-14",)),
    "date to come": ("2026-01-14", "2062-01-14", 15, ("lies in the future", "check the year")),
    "short year": ("made: 2008", "made: '08'", 8, ("at least 1900 (the whole year)",)),
    "year": ("made: 2008", "year: 2008", 8, ("write `made:`",)),
    "btu": ("input: 80000 Btu/h", "btu: 80000", 9, ("write `input:`",)),
    "notes": ("told: They", "notes: They", 19, ("write `told:`",)),
    "key of another block": ("blower: {motor", "elevation: 5 ft\nblower: {motor", 13, ("belongs under `site`",)),
    "fixed": ("complaint:", "outcome: fixed\ncomplaint:", 2, ("'settled and corrected' (proven, fixed",)),
    "after: yes": ("after: repair", "after: yes", 28, ("'repair' (read after it was fixed)",)),
    "maybe": ("registers closed: yes", "registers closed: maybe", 18, ("'yes', 'no', 'unclear'",)),
    "minutes with a unit": ("after: repair", "minutes: 5 min", 28, ("write the number alone",)),
    "phone's picture": (
        "told: They",
        "photo: {file: IMG_1.HEIC, shows: x}\n        told: They",
        19,
        ("there is no file", "save it as .jpg"),
    ),
    "swapped hose": ("-0.2 inH2O", "0.20 inH2O", 21, ("before the wheel", "swapped hoses")),
    "fan table missing": ("fan table: fan.csv", "fan table: fam.csv", 13, ("did you mean 'fan.csv'",)),
    "setting not in the table": (
        "setting: high",
        "setting: hi",
        13,
        ("the fan table has no 'hi'", "did you mean 'high'"),
    ),
    "read and changed in one step": (
        "changed: {wheel: clean}",
        "changed: {wheel: clean}\n        read: {rise: 60 degF}",
        25,
        ("before or after the change", "`after: repair`"),
    ),
    "static without its boundary": (
        "  counted as external: [return, filter, coil, supply]\n",
        "",
        11,
        ("boundary is not stated", "`counted as external:`"),
    ),
}

# The fan table's own file: its text, and what must be said (nothing: it is understood).
TABLES = {
    "semicolons and decimal commas": ("static [inH2O];high [cfm]\n0,1;1400\n0,5;1000\n", ()),
    "unit of static missing": ("static,high [cfm]\n0.1,1400\n0.5,1000\n", ("fan.csv:1: static", "'static [inH2O]'")),
    "another first column": ("esp [inH2O],high [cfm]\n0.1,1400\n0.5,1000\n", ("'static [inH2O]' first",)),
    "decimal commas alone": ("static [inH2O],high [cfm]\n0,1,1400\n", ("write a point, or part the cells",)),
}


def read(folder: Path, case: str, fan: str = FAN) -> tuple[bool, list[str], list[int]]:
    """Whether the case is read, and what is said of it, with the lines."""
    folder.mkdir()
    (folder / "case.yml").write_text(case, encoding="utf-8")
    (folder / "fan.csv").write_text(fan, encoding="utf-8")
    found, problems = read_case(folder, knowledge.load())
    assert (found is None) == bool(errors(problems))
    return found is not None, [str(p) for p in problems], [p.line for p in problems]


def test_there_are_seventy() -> None:
    assert len(UNDERSTOOD) + len(TOLD) + len(TABLES) >= 70


def test_the_case_itself_is_sound(tmp_path: Path) -> None:
    assert read(tmp_path / "mill", CASE) == (True, [], [])


@pytest.mark.parametrize("name", UNDERSTOOD)
def test_it_is_understood(tmp_path: Path, name: str) -> None:
    right, typed = UNDERSTOOD[name]
    assert right in CASE
    sound, said, _ = read(tmp_path / "mill", CASE.replace(right, typed, 1))
    assert sound and not said, said


@pytest.mark.parametrize("name", TOLD)
def test_it_is_told(tmp_path: Path, name: str) -> None:
    right, typed, line, words = TOLD[name]
    assert right in CASE
    _, said, lines = read(tmp_path / "mill", CASE.replace(right, typed, 1))
    assert any(at == line and all(word in text for word in words) for at, text in zip(lines, said, strict=True)), said


@pytest.mark.parametrize("name", TABLES)
def test_a_fan_table(tmp_path: Path, name: str) -> None:
    text, words = TABLES[name]
    sound, said, _ = read(tmp_path / "mill", CASE, text)
    assert sound is not bool(words) and all(any(word in one for one in said) for word in words), said
