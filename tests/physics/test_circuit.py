"""Circuits against a nodal solution of the same string, complex impedance and label tolerances."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from causebook.physics import circuit
from causebook.physics.circuit import Contact, Fit, FlameSignal
from causebook.quantity import OutOfRange, q

SHUT, LOAD = 0.05, 60.0  # ohm


def metered(
    supply: float, closed: list[bool], meter: float, leak: float, load: float
) -> tuple[list[float], list[float]]:
    """Voltages to common and across each switch as a meter of finite resistance shows them: a nodal solution."""
    branches = [SHUT if shut else leak for shut in closed]

    def reading(high: int, low: int | None) -> float:
        # nodes 1 … n after each switch; node 0 is the supply, the load runs from node n to common
        count = len(branches)
        conductance, source = np.zeros((count, count)), np.zeros(count)

        def join(a: int, b: int | None, siemens: float) -> None:
            for here, there in ((a, b), (b, a)):
                if here is None or here == 0:
                    continue
                conductance[here - 1, here - 1] += siemens
                if there == 0:
                    source[here - 1] += siemens * supply
                elif there is not None:
                    conductance[here - 1, there - 1] -= siemens

        for i, ohms in enumerate(branches):
            join(i, i + 1, 1 / ohms)
        join(count, None, 1 / load)
        join(high, low, 1 / meter)
        volts = [supply, *np.linalg.solve(conductance, source)]
        return abs(float(volts[high] - (0.0 if low is None else volts[low])))

    return ([reading(i, None) for i in range(len(branches) + 1)], [reading(i, i + 1) for i in range(len(branches))])


switches = st.lists(st.booleans(), min_size=1, max_size=6)
meters = st.sampled_from([3e3, 1e6, 10e6])
leaks = st.floats(1e6, 1e9)


def _states(
    closed: list[bool], supply: float, meter: float, leak: float, load: float = LOAD, *, common: bool, across: bool
) -> list[Contact]:
    to_common, over = metered(supply, closed, meter, leak, load)
    found = circuit.read_switches(
        [f"switch {i}" for i in range(len(closed))],
        q(supply, "V"),
        [q(v, "V") for v in to_common] if common else None,
        [q(v, "V") for v in over] if across else None,
        q(LOAD, "ohm"),
        q(meter, "ohm"),
    )
    return [switch.state for switch in found]


@given(switches, st.floats(20, 28), meters, leaks, st.sampled_from([LOAD, 1e9]), st.booleans(), st.booleans())
def test_a_switch_is_never_called_the_wrong_thing(
    closed: list[bool], supply: float, meter: float, leak: float, load: float, common: bool, across: bool
) -> None:
    # a load of 1e9 ohm is a broken coil, which nobody has noticed
    truth = [Contact.CLOSED if shut else Contact.OPEN for shut in closed]
    states = _states(closed, supply, meter, leak, load, common=common, across=across)
    assert all(state in (true, Contact.UNKNOWN) for state, true in zip(states, truth, strict=True))


@given(switches, st.floats(20, 28), meters, st.floats(2e8, 1e9))
def test_voltages_to_common_find_the_first_open_switch_and_nothing_behind_it(
    closed: list[bool], supply: float, meter: float, leak: float
) -> None:
    first = closed.index(False) if False in closed else len(closed)
    states = _states(closed, supply, meter, leak, common=True, across=False)
    assert states[:first] == [Contact.CLOSED] * first
    assert states[first : first + 1] == [Contact.OPEN] * (first < len(closed))
    assert set(states[first + 1 :]) <= {Contact.UNKNOWN}


@given(switches, st.floats(20, 28), meters, leaks)
def test_readings_across_tell_all_when_one_is_open_and_nothing_when_two_are(
    closed: list[bool], supply: float, meter: float, leak: float
) -> None:
    states = _states(closed, supply, meter, leak, common=False, across=True)
    if closed.count(False) == 1:
        assert [state is Contact.OPEN for state in states] == [not shut for shut in closed]
        assert Contact.UNKNOWN not in states
    else:
        assert set(states) == {Contact.UNKNOWN}


def test_two_open_switches_read_near_zero_and_the_reason_says_so() -> None:
    found = circuit.read_switches(["limit", "roll-out"], q(24, "V"), across=[q(0.0, "V"), q(2.2, "V")])
    assert [switch.state for switch in found] == [Contact.UNKNOWN] * 2
    assert "also an open one while another in the string is open" in found[0].reason


def test_a_drop_across_a_loaded_contact_is_a_poor_contact() -> None:
    found = circuit.read_switches(["limit"], q(24, "V"), [q(24, "V"), q(20.8, "V")], [q(3.2, "V")])
    assert found[0].state is Contact.POOR
    assert found[0].reason == "3.2 V is lost across it while it carries the load"


def test_readings_that_contradict_are_not_believed() -> None:
    found = circuit.read_switches(["limit"], q(24, "V"), [q(24, "V"), q(24, "V")], [q(24, "V")])
    assert (found[0].state, found[0].reason) == (Contact.UNKNOWN, "the readings contradict each other: read again")


@pytest.mark.parametrize(
    ("to_common", "across", "reason"),
    [
        ([24, 0, 0], [None, None], "no voltage reaches it"),
        ([24, 24, 12], [None, None], "a voltage between full and none"),
        ([24, 24, None], [None, None], "not read on both sides"),
        ([24, 24, None], [None, 12], "neither full voltage nor none"),
    ],
)
def test_what_cannot_be_told_says_why(to_common: list[float | None], across: list[float | None], reason: str) -> None:
    volts = [[None if v is None else q(v, "V") for v in values] for values in (to_common, across)]
    found = circuit.read_switches(["limit", "roll-out"], q(24, "V"), *volts)[1]
    assert found.state is Contact.UNKNOWN and reason in found.reason


@pytest.mark.parametrize(
    ("measured", "fit"), [(4.69, Fit.LOW), (4.71, Fit.WITHIN), (5.29, Fit.WITHIN), (5.31, Fit.HIGH)]
)
def test_a_capacitor_is_held_to_its_label(measured: float, fit: Fit) -> None:
    assert circuit.judge_capacitor(q(measured, "uF"), q(5, "uF"), q(6, "percent_")) is fit


@pytest.mark.parametrize(
    ("microamps", "signal"),
    [
        (0, FlameSignal.NONE),
        (0.3, FlameSignal.BELOW_MINIMUM),
        (0.6, FlameSignal.NEAR_MINIMUM),
        (0.9, FlameSignal.BELOW_USUAL),
        (2.5, FlameSignal.USUAL),
    ],
)
def test_flame_current_against_minimum_and_usual(microamps: float, signal: FlameSignal) -> None:
    assert circuit.judge_flame_current(q(microamps, "uA"), q(0.5, "uA"), q(1, "uA")) is signal


def test_nonsense_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="2 switches need 3 voltages to common and 2 across; found 2 and 2"):
        circuit.read_switches(["a", "b"], q(24, "V"), [q(24, "V")] * 2)
    with pytest.raises(OutOfRange, match="voltage across is −1.0 V"):
        circuit.read_switches(["a"], q(24, "V"), across=[q(-1, "V")])
    with pytest.raises(OutOfRange, match="supply is 0.0 V"):
        circuit.read_switches(["a"], q(0, "V"))
    with pytest.raises(OutOfRange, match="meter resistance"):
        circuit.voltage_across_open_switch(q(24, "V"), meter_resistance=q(1, "ohm"))
    with pytest.raises(TypeError, match="current is 3.5; expected a current with its unit"):
        circuit.capacitance(3.5, q(370, "V"))
    with pytest.raises(OutOfRange, match="minimum flame current"):
        circuit.judge_flame_current(q(1, "uA"), q(0, "uA"), q(1, "uA"))
    with pytest.raises(ValueError, match="usual flame current"):
        circuit.judge_flame_current(q(1, "uA"), q(1, "uA"), q(0.5, "uA"))
