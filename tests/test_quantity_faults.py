"""What a quantity refuses, and that a refusal comes back whole from another process, so that it stops no builders."""

import pickle

import pytest

from causebook.quantity import AIR_PRESSURE, AIRFLOW, FLAME_CURRENT, HEAT_RATE, OutOfRange, QuantityError, parse, us


@pytest.mark.parametrize(
    "fault",
    [
        QuantityError("3.5", "a gas pressure", "such as 3.5 inH2O"),
        QuantityError("lots", "a heat rate"),
        OutOfRange("temperature", "407 °F", "−148 °F to 392 °F"),
    ],
    ids=str,
)
def test_a_fault_keeps_its_words_and_its_parts(fault):
    back = pickle.loads(pickle.dumps(fault))
    assert type(back) is type(fault) and str(back) == str(fault) and vars(back) == vars(fault)


@pytest.mark.parametrize(
    ("text", "kind", "number"),
    [
        ("1,025 cfm", AIRFLOW, 1025),
        ("80,000 Btu/h", HEAT_RATE, 80_000),
        ("1,234,567.5 Btu/h", HEAT_RATE, 1_234_567.5),
        ("−1,200 cfm", AIRFLOW, -1200),
    ],
)
def test_a_comma_sets_off_thousands(text, kind, number):
    assert us(parse(text, kind), kind) == pytest.approx(number)


@pytest.mark.parametrize(
    ("text", "kind", "hint"),
    [
        ("0,4 uA", FLAME_CURRENT, "write 0.4"),
        ("-0,36 inH2O", AIR_PRESSURE, "write -0.36"),
        ("0,125 inH2O", AIR_PRESSURE, "write 0.125"),
        ("82,5 cfm", AIRFLOW, "write 82.5"),
        ("1000,5 cfm", AIRFLOW, "write 1000.5"),
        ("1.234,5 cfm", AIRFLOW, "with a point"),
        ("12,34,567 cfm", AIRFLOW, "with a point"),
    ],
)
def test_a_decimal_comma_is_refused_and_the_number_to_write_is_named(text, kind, hint):
    with pytest.raises(QuantityError, match="comma sets off thousands only") as refused:
        parse(text, kind)
    assert refused.value.hint.endswith(hint)
