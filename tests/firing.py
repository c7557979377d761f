"""Steps that fire a stop, each with the stop it fires: every way there is.  The plate's limit opens at 200 °F."""

from __future__ import annotations

from typing import Any

RICH = {"read": {"co-in-flue": "214 ppm", "oxygen-in-flue": "10.8 %"}}
"""443 ppm free of air: 214 · 20.9 / (20.9 - 10.8)."""
SHIFT = {"read": {"oxygen-in-flue-before-blower": "7 %", "oxygen-in-flue-after-blower": "10 %"}}
CO_SHIFT = {"read": {"co-in-flue-before-blower": "20 ppm", "co-in-flue-after-blower": "60 ppm"}}
"""40 ppm; from 25 it counts."""
FIRING: list[tuple[dict[str, Any], str]] = [
    (RICH, "co-in-flue"),
    (SHIFT, "breach"),
    ({"read": {"co-indoors": "20 ppm", "co-outdoors": "0 ppm"}}, "co-indoors"),
    ({"read": {"co-indoors": "40 ppm", "co-outdoors": "0 ppm"}}, "co-indoors-raised"),
    ({"read": {"co-at-register": "36 ppm"}}, "co-indoors-raised"),
    ({"read": {"co-at-departure": "9 ppm"}}, "co-indoors"),
    ({"read": {"co-indoors": "80 ppm"}}, "co-indoors-high"),
    ({"read": {"co-at-register": "70 ppm"}}, "co-indoors-high"),
    ({"seen": {"people-ill": "yes"}}, "co-indoors-high"),
    ({"read": {"gas-detector": "12 %"}}, "gas"),
    ({"seen": {"gas-smell": "yes"}}, "gas"),
    ({"seen": {"crack-seen": "yes"}}, "breach"),
    ({"seen": {"scorch-at-burner": "yes"}}, "roll-out"),
    ({"seen": {"safety-bypassed": "yes"}}, "bypass"),
    ({"read": {"spillage-lasted": "6 min"}}, "spillage"),
    ({"seen": {"spillage-seen": "yes"}}, "spillage"),
    ({"seen": {"live-parts-exposed": "yes"}}, "shock"),
    ({"seen": {"water-on-electrics": "yes"}}, "wet-electrics"),
    ({"seen": {"orifice-not-as-plate": "yes"}}, "unlisted-part"),
    ({"seen": {"part-not-listed": "yes"}}, "unlisted-part"),
    ({"seen": {"limit-not-as-listed": "yes"}}, "unlisted-part"),
    ({"seen": {"rollout-switch-open": "yes"}}, "roll-out"),
    ({"seen": {"flame-outside-burner-box": "yes"}}, "roll-out"),
    ({"seen": {"co-keeps-climbing": "yes"}}, "co-in-flue"),
    ({"read": {"co-in-flue": "500 ppm"}}, "co-in-flue"),
    ({"seen": {"flame-moves-when-blower-starts": "yes"}}, "breach"),
    (CO_SHIFT, "breach"),
    ({"seen": {"limit-stays-closed-hot": "yes"}}, "limit-does-not-protect"),
    ({"read": {"limit-opened-at": "240 degF"}}, "limit-does-not-protect"),
    ({"read": {"limit-face": "225 degF"}}, "limit-does-not-protect"),
]
