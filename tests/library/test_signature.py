"""Signatures of causes, held against balances that hold in any furnace, and against what the data says of each."""

from __future__ import annotations

import math

import pytest

from causebook.knowledge import load
from causebook.library.signature import (
    AFTER,
    BEFORE,
    COUNTED,
    EFFICIENCY,
    INPUT,
    READINGS,
    ROOM,
    Signature,
    signature,
    told_apart,
)
from causebook.library.signature_chart import beside_chart, parting_sentence, sizes_chart

K = load()
ALL = {id_: s for id_, cause in K.causes.items() if (s := signature(cause, K))}
PARTS = (*BEFORE, *AFTER)


def test_the_clean_furnace_is_the_usual_one() -> None:
    """At mid-rise: 64,000 Btu/h / (1.08 × 50 °F) = 1,185 cfm (ASHRAE Fundamentals 2017 ch. 1), each part at its clean
    drop, the plate's static their sum without what lies inside the cabinet."""
    clean = ALL["filter-loaded"].clean
    assert clean.airflow == pytest.approx(64_000 / (1.08 * 50), rel=1e-3)
    assert clean.readings["rise"] == pytest.approx(50, rel=1e-3)
    for part in PARTS:
        assert clean.readings[part] == pytest.approx(K.parts[part].clean_drop, rel=1e-3)
    assert clean.readings["static"] == pytest.approx(sum(K.parts[p].clean_drop for p in COUNTED), rel=1e-3)


@pytest.mark.parametrize("of", ALL.values(), ids=lambda s: s.cause.id)
def test_every_furnace_balances(of: Signature) -> None:
    """Heat to the air is 1.08 × cfm × rise; the static is the sum of the drops it counts; the taps are their sums."""
    for shown in (of.clean, *of.sizes):
        read = shown.readings
        output = INPUT * EFFICIENCY * read["input"] / 100
        assert 1.08 * shown.airflow * read["rise"] == pytest.approx(output, rel=1e-3)
        assert read["static"] == pytest.approx(sum(read[p] for p in COUNTED), abs=1e-6)
        assert shown.taps[3] == pytest.approx(-sum(read[p] for p in BEFORE), abs=1e-6)
        assert shown.taps[4] == pytest.approx(sum(read[p] for p in AFTER), abs=1e-6)
        body = ROOM + read["warm"] + K.constants["limit-body-factor"].value * read["rise"]
        hot_spot = any(e.on == "hot-spot" for e in of.cause.effects)
        assert hot_spot or shown.margin == pytest.approx(read["opens"] - body, abs=0.01)


@pytest.mark.parametrize("of", ALL.values(), ids=lambda s: s.cause.id)
def test_what_the_data_says_of_it_is_what_it_does(of: Signature) -> None:
    """A middling size lies 0.35 of the way from worth finding to gross, a factor by its logarithm."""
    clean, usual = of.clean, of.middling
    for effect in of.cause.effects:
        factor = effect.least**0.65 * effect.most**0.35 if effect.on != "limit" else math.nan
        if effect.on in PARTS:
            power = K.parts[effect.on].exponent
            grown = usual.readings[effect.on] / clean.readings[effect.on] * (clean.airflow / usual.airflow) ** power
            assert grown == pytest.approx(factor, rel=1e-3)
        elif effect.on in ("orifice", "derate"):
            assert usual.readings["input"] == pytest.approx(100 * factor)
        elif effect.on == "manifold":  # flow through an orifice goes with the root of the pressure
            assert usual.readings["input"] == pytest.approx(100 * math.sqrt(factor))
        elif effect.on == "limit":
            assert usual.readings["opens"] - clean.readings["opens"] == pytest.approx(
                0.65 * effect.least + 0.35 * effect.most
            )
        elif effect.on == "recirculation":
            supply = usual.readings["warm"] + usual.readings["rise"]
            assert usual.readings["warm"] == pytest.approx(factor * supply)  # mixing by mass
        elif effect.on == "motor":
            assert usual.readings["speed"] == pytest.approx(100 * factor)
            assert usual.airflow < clean.airflow
    away = [abs(s.margin - clean.margin) for s in (clean, *of.sizes)]
    assert away == sorted(away) and away[0] < away[-1]


def test_a_reading_tells_two_apart_only_where_no_size_of_one_looks_like_the_other() -> None:
    assert told_apart(ALL["coil-plugged"], ALL["supply-undersized"]).id == "coil"
    assert told_apart(ALL["wheel-dirty"], ALL["capacitor-weak"]).id == "speed"
    assert told_apart(ALL["filter-loaded"], ALL["filter-too-restrictive"]) is None
    for one in ALL.values():
        for other in ALL.values():
            reading = told_apart(one, other)
            assert (reading and reading.id) == ((back := told_apart(other, one)) and back.id)
            assert reading is None or reading.error < max(
                one.span(reading)[0] - other.span(reading)[1], other.span(reading)[0] - one.span(reading)[1]
            )


def test_what_leaves_no_steady_fire_has_no_signature() -> None:
    assert "fan-not-commanded" not in ALL and "rod-dirty" not in ALL


def test_the_charts_say_it_in_numbers() -> None:
    of = ALL["coil-plugged"]
    chart = sizes_chart(of)
    assert (
        chart.sentence.startswith("Gross: airflow goes from 1,185 to ") and "coil drop from 0.17 to " in chart.sentence
    )
    assert [row[0] for row in chart.table][:2] == ["Reading", "Airflow, cfm"] and len(chart.table[0]) == 5
    beside = beside_chart(of, ALL["supply-undersized"])
    assert beside.sentence == parting_sentence(of, ALL["supply-undersized"])
    assert "Coil drop tells them apart: " in beside.sentence
    assert {r.name for r in READINGS} >= {row[0].rsplit(", ", 1)[0] for row in chart.table[2:-1]}
    alike = parting_sentence(ALL["filter-loaded"], ALL["filter-too-restrictive"])
    assert alike.startswith("Readings of air and heat alone do not tell the two apart. ")
