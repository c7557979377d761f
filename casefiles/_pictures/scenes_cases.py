"""Scenes of the cases in which something else than the limit is complained of."""

from __future__ import annotations

import air
import electric
import gas
from case_reading import shown
from ink import ACCENT, GRAY, INK, Sheet
from scene import bars, scene

# ------------------------------------------------------------------ fading-suction


@scene("fading-suction/photos/suction.png", "Suction at the switch, minute by minute")
def _(sheet: Sheet) -> None:
    opened = shown("fading-suction", 4, "pressure switch opened at")
    rows = (
        ("0:30", "−1.08 in. w.c.", False),
        ("2:00", "−1.05", False),
        ("4:00", "−0.97", False),
        ("5:30", "−0.84", False),
        ("6:45", "−0.71", False),
        ("7:20", f"{opened}: the switch opens, marked −0.62", True),
    )
    gas.sequence(sheet, rows)


@scene("fading-suction/photos/drain.png", "The drain at four degrees outdoors")
def _(sheet: Sheet) -> None:
    gas.frozen_drain(sheet)


# ------------------------------------------------------------------ painted-bond


@scene("painted-bond/photos/current.png", "Flame current, in series with the rod")
def _(sheet: Sheet) -> None:
    electric.readouts(
        sheet,
        (
            ("after five seconds of flame", shown("painted-bond", 4, "flame current"), True),
            ("in the first second", shown("painted-bond", 4, "flame current at start"), False),
            ("least the control accepts", "0.5 µA", False),
            ("usual for this furnace", "2.8 µA", False),
        ),
    )


@scene("painted-bond/photos/bond-found.png", "The bond screw, as found")
def _(sheet: Sheet) -> None:
    electric.bond(sheet, False, "ring on paint: 4.2 V from neutral to burner")


@scene("painted-bond/photos/bond-after.png", "The bond screw, re-made")
def _(sheet: Sheet) -> None:
    electric.bond(sheet, True, "toothed washer on bare metal: 0.0 V")


# ------------------------------------------------------------------ silent-relay


@scene("silent-relay/photos/board.png", "Volts at the board, second minute of a heating call")
def _(sheet: Sheet) -> None:
    electric.readouts(
        sheet,
        (
            ("line", shown("silent-relay", 4, "line volts"), False),
            ("call for heat", shown("silent-relay", 4, "call volts"), False),
            ("heating lead of the blower", shown("silent-relay", 4, "volts at blower lead"), True),
            ("cooling lead, fan called", "121 V", False),
        ),
    )


@scene("silent-relay/photos/sequence.png", "One call, watched")
def _(sheet: Sheet) -> None:
    gas.sequence(
        sheet,
        (
            ("call", "inducer starts", False),
            ("0:00", "burner lights", False),
            ("0:30", "blower due: nothing", True),
            ("4:10", "limit opens, burner out", False),
            ("4:12", "power off", False),
        ),
    )


# ------------------------------------------------------------------ cold-corner-room


@scene("cold-corner-room/photos/door.png", "The shut door, blower on")
def _(sheet: Sheet) -> None:
    air.closed_door(sheet, shown("cold-corner-room", 3, "room pressure"), ("bedroom", "hall"))


@scene("cold-corner-room/photos/flex.png", "The run over the truss, as found")
def _(sheet: Sheet) -> None:
    air.flex_run(sheet, (60, 330), (1140, 330), 0.42)
    air.truss(sheet, 520, 690, 428)
    sheet.label("folded over the chord", (440, 600), (600, 380), 25, ACCENT)
    sheet.text((600, 690), "7 in. flex, four feet too long", 24, anchor="mm")


@scene("cold-corner-room/photos/flex-after.png", "The same run, shortened and stretched")
def _(sheet: Sheet) -> None:
    air.flex_run(sheet, (60, 350), (1140, 350), 1)
    for x in (330, 870):
        air.strap(sheet, x, 350)
    air.truss(sheet, 520, 690, 428)
    sheet.label("wide straps", (440, 600), (340, 404), 25)


# ------------------------------------------------------------------ summer-ice


@scene("summer-ice/photos/ice.png", "The coil on arrival")
def _(sheet: Sheet) -> None:
    air.iced_coil(sheet)


@scene("summer-ice/photos/blades-found.png", "Blades of the wheel in section, as found")
def _(sheet: Sheet) -> None:
    _blades(sheet, True, "hollows full: the wheel turns and grips no air")


@scene("summer-ice/photos/blades-after.png", "Blades of the wheel in section, washed")
def _(sheet: Sheet) -> None:
    _blades(sheet, False, "every hollow free")


def _blades(sheet: Sheet, caked: bool, words: str) -> None:
    air.blades(sheet, (170, 220), caked)
    sheet.arrow([(130, 170), (1060, 170)], 3, GRAY)
    sheet.text((130, 138), "turns this way", 22, GRAY, "lm")
    sheet.text((600, 690), words, 26, ACCENT if caked else INK, "mm")


# ------------------------------------------------------------------ short-calls


@scene("short-calls/photos/calls.png", "Two hours of the log at 31 °F outdoors")
def _(sheet: Sheet) -> None:
    calls = ((3, 3.8), (20, 3.5), (37, 4.2), (55, 3.7), (72, 3.2), (90, 4.0), (107, 4.6))
    scale = 1020 / 120
    for start, length in calls:
        x0, x1 = 90 + start * scale, 90 + (start + length) * scale
        corners = [(x0, 260), (x1, 260), (x1, 470), (x0, 470)]
        sheet.shape(corners, (236, 196, 176), 3, ACCENT)
        sheet.text(((x0 + x1) / 2, 236), f"{length:.1f}", 22, ACCENT, "mm")
    sheet.line([(90, 470), (1110, 470)], 3)
    for minute in range(0, 121, 30):
        x = 90 + minute * scale
        sheet.line([(x, 470), (x, 484)], 3)
        sheet.text((x, 504), f"{minute} min", 22, anchor="mm")
    sheet.text((90, 170), "burner on, minutes of each call", 24)
    sheet.text((90, 590), "ended by the thermostat: 7 of 7.  Faults in memory: 0.", 26)


@scene("short-calls/photos/size.png", "House and furnace to one scale")
def _(sheet: Sheet) -> None:
    bars(
        sheet,
        (
            ("heat loss of the house at 2 °F", 31200, False),
            ("output of the furnace", 80000, True),
            ("output of the one offered", 38000, False),
        ),
        "Btu/h",
        "2.6 times the house; the one offered 1.2 times",
    )


# ------------------------------------------------------------------ evening-gas


@scene("evening-gas/photos/line.png", "The gas line of the house")
def _(sheet: Sheet) -> None:
    case = "evening-gas"
    gas.gas_line(
        sheet,
        (("furnace", "70,000 Btu/h"), ("water heater", "180,000 Btu/h"), ("range", "small")),
        "1/2 in., 46 ft with its elbows",
        (
            ("nothing on", shown(case, 2, "gas inlet at rest")),
            ("furnace alone", shown(case, 2, "gas inlet")),
            ("everything on", shown(case, 3, "gas inlet all on")),
        ),
    )


@scene("evening-gas/photos/sequence.png", "One start with everything on")
def _(sheet: Sheet) -> None:
    gas.sequence(
        sheet,
        (
            ("0:00", "call, inducer, pressure switch made", False),
            ("0:30", "igniter white: 119 V", False),
            ("0:47", "valve opens: 25.4 V", False),
            ("0:48", "inlet falls to 2.9 in. w.c.: no flame", True),
            ("0:54", "valve shut, next try", False),
            ("4:20", "third try, lockout", False),
        ),
    )
