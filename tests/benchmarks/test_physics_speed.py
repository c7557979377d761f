"""How long the air path takes: one operating point with eight parts must stay under a millisecond."""

import numpy as np

from causebook.physics import fan
from causebook.physics.airpath import AirPath, Parallel, Part, Series, solve
from causebook.physics.fan import Fan
from causebook.quantity import q

TABLE = fan.fan_table(
    [q(tenth / 10, "inwc") for tenth in range(11)],
    {"high": [q(cfm, "cfm") for cfm in (1490, 1450, 1400, 1340, 1270, 1190, 1090, 960, 790, 560, 0)]},
)
BLOWER = Fan(TABLE, "high")
NAMES = ("grille", "return", "filter", "inlet", "exchanger", "coil", "trunk", "register")
ROW = AirPath(
    tuple(Part(name, 20.0 + 10 * i) for i, name in enumerate(NAMES[:4])),
    tuple(Part(name, 20.0 + 10 * i) for i, name in enumerate(NAMES[4:])),
)
TWO_RETURNS = AirPath(
    (
        Parallel(
            "returns",
            (
                Series("old", (Part("old grille", 80.0), Part("old duct", 150.0, 1.9))),
                Series("new", (Part("new grille", 30.0), Part("new duct", 60.0, 1.85))),
            ),
        ),
        Part("filter", 60.0, 1.5),
    ),
    (Part("coil", 100.0), Part("trunk", 50.0, 1.9), Part("register", 20.0)),
)


def test_eight_parts_in_a_row(benchmark, hold) -> None:
    point = benchmark(solve, ROW, BLOWER)
    assert len(point.drops_si) == 8
    hold(1e-3)


def test_eight_parts_with_two_returns_of_unequal_exponents(benchmark, hold) -> None:
    point = benchmark(solve, TWO_RETURNS, BLOWER)
    assert len(point.drops_si) == 11  # with the two ways and both together
    hold(1e-3)


def test_ten_thousand_variants_at_once(benchmark, hold) -> None:
    times = np.linspace(0.3, 5, 10_000)
    many = ROW.scaled({"filter": times, "coil": times[::-1]})
    point = benchmark(solve, many, BLOWER)
    assert point.airflow_si.shape == (10_000,)
    hold(0.1)
