"""What a quantity refuses comes back whole from another process, so that one bad number stops no pool of builders."""

import pickle

import pytest

from causebook.quantity import OutOfRange, QuantityError


@pytest.mark.parametrize("fault", [
    QuantityError("3.5", "a gas pressure", "such as 3.5 inH2O"), QuantityError("lots", "a heat rate"),
    OutOfRange("temperature", "407 °F", "−148 °F to 392 °F")], ids=str)
def test_a_fault_keeps_its_words_and_its_parts(fault):
    back = pickle.loads(pickle.dumps(fault))
    assert type(back) is type(fault) and str(back) == str(fault) and vars(back) == vars(fault)
