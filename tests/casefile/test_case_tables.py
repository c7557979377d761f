"""Temperature logs and fan tables: units from their headers, faults at their line."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from causebook.casefile.desk import Desk
from causebook.casefile.fan_csv import read_fan_csv
from causebook.casefile.logs import read_log
from causebook.casefile.model import FanTable, TemperatureLog

SHOWS = {"supply-air": "T1"}


def log(folder: Path, text: str) -> tuple[TemperatureLog | None, list[str]]:
    file, desk = folder / "log.csv", Desk(Path("log.csv"))
    file.write_text(text, encoding="utf-8")
    return read_log(file, Path("log.csv"), SHOWS, desk), [str(problem) for problem in desk.problems]


def fan(folder: Path, text: str) -> tuple[FanTable | None, list[str]]:
    file, desk = folder / "fan.csv", Desk(Path("fan.csv"))
    file.write_text(text, encoding="utf-8")
    return read_fan_csv(file, desk), [str(problem) for problem in desk.problems]


@pytest.mark.parametrize(
    ("header", "first"), [("T1 [degF]", 68.0), ("T1 [°F]", 68.0), ("T1 [degC]", 154.4), ("T1[K]", -337.27)]
)
def test_temperatures_come_out_in_fahrenheit(tmp_path: Path, header: str, first: float) -> None:
    found, problems = log(tmp_path, f"time [s],{header}\n0,68\n10,300\n")
    if first < -100:
        assert found is None and "check the decimal point" in problems[0]
    else:
        assert found is not None and found.columns["supply-air"][0] == pytest.approx(first)


@pytest.mark.parametrize(("header", "seconds"), [("time [s]", 2), ("Time [min]", 120), ("time [h]", 7200)])
def test_time_comes_out_in_seconds(tmp_path: Path, header: str, seconds: float) -> None:
    found, _ = log(tmp_path, f"{header},T1 [degF]\n0,68\n2,70\n")
    assert found is not None and found.seconds == pytest.approx((0, seconds))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("time [s],T2 [degF]\n0,68\n", "log.csv:1: T1: there is no such column; expected one of time, T2"),
        ("clock [s],T1 [degF]\n0,68\n", "log.csv:1: time: is missing; expected a column 'time [s]'"),
        ("time,T1 [degF]\n0,68\n", "log.csv:1: time: the unit is missing"),
        (
            "time [s],T1\n0,68\n",
            "log.csv:1: T1: the unit is missing; expected a header with a unit of probe temperature, such as",
        ),
        ("time [s],T1 [psi]\n0,68\n", "log.csv:1: T1: psi is not a unit of probe temperature"),
        ("time [s],T1 [degF]\n0,68\n10,\n", "log.csv:3: T1: nothing stands here; expected a number"),
        ("time [s],T1 [degF]\n0,68\n10,hot\n", "log.csv:3: T1: 'hot'; expected a number"),
        ("time [s],T1 [degF]\n0,68\n10,1e99\n", "log.csv:3: T1: "),
        ("time [s],T1 [degF]\n10,68\n5,69\n", "log.csv:3: time: does not rise"),
        ("time [s],T1 [degF]\n10,68\n15\n", "log.csv:3: 1 row(s), this the first, do not have 2 values"),
        ("time [s],T1 [degF]\n", "log.csv:1: there are no rows"),
        ("", "log.csv:1: there are no rows"),
        ("time [s],T1 [degF],T1 [degF]\n0,1,2\n", "log.csv:1: T1: is the name of two columns"),
        ("time [s],T1 [degF],limit\n0,68,shut\n", "log.csv:2: limit: 'shut'; expected one of 1, open, 0, closed"),
    ],
)
def test_a_fault_of_a_log_has_its_line(tmp_path: Path, text: str, message: str) -> None:
    found, problems = log(tmp_path, text)
    assert found is None and len(problems) == 1 and problems[0].startswith(message), problems


def test_comments_and_empty_rows_are_passed_over(tmp_path: Path) -> None:
    found, problems = log(tmp_path, "# probe 3\n\ntime [s],T1 [degF]\n0,68\n,\n# door open\n10,bad\n")
    assert found is None and problems[0].startswith("log.csv:7: ")


def test_a_fan_table_states_its_units(tmp_path: Path) -> None:
    plain, said = fan(tmp_path, "static,high\n0.1,1000\n0.5,800\n")
    assert plain is None and "'static [inH2O]'" in said[0] and "'high [cfm]'" in said[1]


def test_a_fan_table_of_a_spreadsheet_with_decimal_commas(tmp_path: Path) -> None:
    found, _ = fan(tmp_path, "static [inH2O];high [cfm]\n0,1;1000\n0,5;800\n")
    assert found is not None and found.curve("high") == ((0.1, 0.5), (1000, 800))


def test_a_fan_table_in_si_is_the_same_table(tmp_path: Path) -> None:
    # 1 in. w.c. (conventional) = 249.089 Pa; 1 cfm = 0.4719474 L/s: NIST SP 811, Appendix B.8 (from memory).
    found, _ = fan(tmp_path, "static [Pa],high [L/s]\n24.9089,471.9474\n124.5445,377.558\n")
    assert found is not None
    assert found.static == pytest.approx((0.1, 0.5), rel=1e-5) and found.airflow["high"] == pytest.approx(
        (1000, 800), rel=1e-5
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "high,static\n1000,0.1\n800,0.5\n",
            "fan.csv:1: high: stands first; expected the column 'static [inH2O]' first",
        ),
        ("static\n0.1\n0.2\n", "fan.csv:1: there is no setting"),
        ("static [inH2O],high [cfm]\n0.5,800\n0.1,1000\n", "fan.csv:3: static 0.1 follows 0.5"),
        ("static [inH2O],high [cfm]\n0.1,1000\n0.5,-\n", "fan.csv:2: high: 1 airflow(s) printed"),
        ("static [inH2O],high [cfm]\n0.1,1000\n0.5,80000\n", "fan.csv:3: high: 80000 cfm"),
        ("static [inH2O],high [cfm]\n0.1,1000\n-,800\n", "fan.csv:3: static: '-'; expected a number"),
        ("static [inH2O],high [degF]\n0.1,1000\n0.2,800\n", "fan.csv:1: high: degF is not a unit of airflow"),
    ],
)
def test_a_fault_of_a_fan_table_has_its_line(tmp_path: Path, text: str, message: str) -> None:
    found, problems = fan(tmp_path, text)
    assert found is None and any(problem.startswith(message) for problem in problems), problems


@given(
    data=st.one_of(
        st.binary(max_size=200), st.text('time [s],T1degF\n0123.-"#burnelimt ', max_size=120).map(str.encode)
    )
)
@settings(max_examples=300, deadline=None)
def test_any_bytes_are_a_table_or_refused(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    file = tmp_path_factory.getbasetemp() / "any.csv"
    file.write_bytes(data)
    for read in (lambda desk: read_log(file, file, SHOWS, desk), lambda desk: read_fan_csv(file, desk)):
        desk = Desk(file)
        assert (read(desk) is None) == bool(desk.problems)
