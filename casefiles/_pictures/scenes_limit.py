"""Scenes of the cases in which the limit opens."""

from __future__ import annotations

import air
import electric
import gas
import heat
from case_reading import figure, shown
from ink import ACCENT, GRAY, INK, PAPER, Sheet
from scene import TAP_WORDS_AT, bars, scene, tap_words

# ------------------------------------------------------------------ narrow-return


@scene("narrow-return/photos/filter.png", "The filter as found")
def _(sheet: Sheet) -> None:
    case = "narrow-return"
    drop = figure(case, 6, "tap before filter") - figure(case, 6, "tap after filter")
    air.filter_bowed(sheet, "16 × 20 × 1 in., fine pleated", "bowed 3/4 in.", f"{drop:.2f} in. w.c.")


@scene("narrow-return/photos/return.png", "The only return duct, to scale")
def _(sheet: Sheet) -> None:
    px = 17.5
    shapes = (
        ("found: 16 × 8 in.\n128 in²", 16, 8, ACCENT),
        ("code floor for 72,000 Btu/h\n144 in²", 18, 8, INK),
        ("what 1210 cfm asks for at 700 fpm\n249 in²", 20, 12.45, INK),
    )
    x = 60.0
    for words, wide, high, color in shapes:
        y = 430 - high * px / 2
        corners = [(x, y), (x + wide * px, y), (x + wide * px, y + high * px), (x, y + high * px)]
        sheet.shape(corners, PAPER, 4, color)
        sheet.hatch(corners, 16, 45, 1.2, color if color == ACCENT else GRAY)
        sheet.text((x, 590), words, 23, color)
        x += wide * px + 50
    sheet.line([(60, 720), (60 + 12 * px, 720)], 3)
    for end in (60, 60 + 12 * px):
        sheet.line([(end, 710), (end, 730)], 3)
    sheet.text((60 + 12 * px + 16, 720), "12 in.", 23, anchor="lm")


@scene("narrow-return/photos/taps.png", "Four taps, filter in, as found")
def _(sheet: Sheet) -> None:
    air.furnace_cut(sheet, narrow=True)
    air.taps(sheet, tap_words("narrow-return", 6), TAP_WORDS_AT, accent=(2, 3))


# ------------------------------------------------------------------ second-limit


@scene("second-limit/photos/plenum-heat.png", "The plenum through a thermal camera, tape and bare metal")
def _(sheet: Sheet) -> None:
    case = "second-limit"
    room, true = figure(case, 7, "return air"), figure(case, 7, "supply air at trip")
    bare = heat.apparent(true, room, 0.30)
    heat.picture(
        sheet,
        room,
        [
            ((250, 160, 760, 600), bare, bare - 3),
            ((420, 230, 600, 560), true - 1, true - 1),
            ((220, 600, 790, 740), room + 14, room + 6),
        ],
        [
            ((510, 390), f"matte tape {true - 1:.0f} °F", (510, 640)),
            ((330, 330), f"bare metal {bare:.0f} °F", (250, 190)),
            ((120, 480), f"wall {room:.0f} °F", (160, 420)),
        ],
        60,
        140,
    )


@scene("second-limit/photos/filter-gap.png", "Filter slot in section")
def _(sheet: Sheet) -> None:
    air.filter_gap(sheet, "gap 1 1/4 in.")


@scene("second-limit/photos/coil-found.png", "Entering face of the coil, as found")
def _(sheet: Sheet) -> None:
    air.coil_face(sheet, (360, 170), 0.86, "seen from below, through the tap hole")


@scene("second-limit/photos/coil-clean.png", "Entering face of the coil, cleaned")
def _(sheet: Sheet) -> None:
    air.coil_face(sheet, (360, 170), 0, "the same face after cleaning")


@scene("second-limit/photos/old-limit.png", "The limit taken out on the first visit, on the bench")
def _(sheet: Sheet) -> None:
    electric.limit_face(sheet, "marked 180 °F", "178 °F", "warm air bath")


# ------------------------------------------------------------------ quiet-faults


@scene("quiet-faults/photos/memory.png", "Fault memory, read before the power was cut")
def _(sheet: Sheet) -> None:
    electric.memory(
        sheet,
        (
            "open limit circuit",
            "",
            "Jan 02   05:12",
            "Jan 11   03:47",
            "Jan 20   02:26",
            "Jan 31   04:08",
            "faults counted  4",
        ),
        6,
    )


@scene("quiet-faults/photos/string.png", "The string of switches while it burns")
def _(sheet: Sheet) -> None:
    case = "quiet-faults"
    electric.chain(
        sheet,
        ("limit", "rollout", "pressure", "board input"),
        [
            shown(case, 5, r)
            for r in (
                "volts across limit",
                "volts across rollout switch",
                "volts across pressure switch",
                "volts at board limit input",
            )
        ],
        None,
        "volts across each closed device, call present",
    )


@scene("quiet-faults/photos/terminal.png", "The push-on terminal at the limit")
def _(sheet: Sheet) -> None:
    electric.terminal(
        sheet, ("meter lead", "grip a little open", "no color, no pitting", "neither a finding nor a clean bill")
    )


# ------------------------------------------------------------------ bent-flame


@scene("bent-flame/photos/flame-before.png", "Sight glass, blower not yet started")
def _(sheet: Sheet) -> None:
    _flame(sheet, None, "before the blower", "before blower")


@scene("bent-flame/photos/flame-after.png", "Sight glass, blower running")
def _(sheet: Sheet) -> None:
    _flame(sheet, 2, "one minute after it started", "after blower")


def _flame(sheet: Sheet, bent: int | None, words: str, when: str) -> None:
    gas.flames(sheet, (90, 170), bent, words)
    captions = {"oxygen in flue": "oxygen in flue", "co in flue": "CO in flue, as measured"}
    for i, (name, caption) in enumerate(captions.items()):
        sheet.readout(
            (680, 210 + i * 190),
            shown("bent-flame", 4, f"{name} {when}"),
            caption,
            400,
            INK if bent is None else ACCENT,
        )


@scene("bent-flame/photos/crack.png", "Cell 3 through the camera, furnace cold, gas and power off")
def _(sheet: Sheet) -> None:
    gas.cracked_cell(sheet, "split, 2 1/2 in.")


@scene("bent-flame/photos/notice.png", "Tag on the closed gas shutoff")
def _(sheet: Sheet) -> None:
    gas.notice(
        sheet,
        (
            "Furnace: heat exchanger split, cell 3",
            "Gas off, power off, January 27, 10:40",
            "Do not use. Not for one night.",
            "Other heat: three electric heaters on loan",
            "Gas company told: yes",
            "Told in writing: occupant, owner",
        ),
    )


# ------------------------------------------------------------------ tired-limit


@scene("tired-limit/photos/string.png", "The string at the moment of a trip")
def _(sheet: Sheet) -> None:
    electric.chain(
        sheet,
        ("limit", "rollout", "pressure"),
        [shown("tired-limit", 5, f"volts across {name}") for name in ("limit", "rollout switch", "pressure switch")],
        0,
        "all of the control voltage stands across the one contact that is open",
    )


@scene("tired-limit/photos/limit.png", "The limit in its place, slow approach")
def _(sheet: Sheet) -> None:
    electric.limit_face(sheet, "marked 190 °F", shown("tired-limit", 8, "limit opened at"))


# ------------------------------------------------------------------ weak-capacitor


@scene("weak-capacitor/photos/taps.png", "Four small pressures, 0.31 in. w.c. in all")
def _(sheet: Sheet) -> None:
    air.furnace_cut(sheet)
    air.taps(sheet, tap_words("weak-capacitor", 5), TAP_WORDS_AT)


@scene("weak-capacitor/photos/capacitor.png", "The run capacitor, discharged and out of its circuit")
def _(sheet: Sheet) -> None:
    electric.capacitor(
        sheet,
        "7.5 µF",
        shown("weak-capacitor", 7, "capacitor"),
        "power off, locked, tested dead,\ndischarged through a resistor",
    )


# ------------------------------------------------------------------ lowest-setting

_SETTINGS = ("high", "medium-high", "medium-low", "low")


@scene("lowest-setting/photos/leads.png", "Blower terminals of the new board, as found")
def _(sheet: Sheet) -> None:
    electric.leads(sheet, _SETTINGS, "low", "medium-high", ("heating lead, as found", "heating, by the sheet"))


@scene("lowest-setting/photos/leads-after.png", "The same terminals after the visit")
def _(sheet: Sheet) -> None:
    electric.leads(sheet, _SETTINGS, "medium-high", "", ("heating lead, as the sheet", ""))


# ------------------------------------------------------------------ wrong-orifices


@scene("wrong-orifices/photos/meter.png", "The clock at the meter, everything else off")
def _(sheet: Sheet) -> None:
    electric.readouts(
        sheet,
        (
            ("one turn of the 2 ft³ dial", shown("wrong-orifices", 7, "meter time"), True),
            ("heating value of the gas", "1031 Btu/ft³", False),
            ("input by the clock", "88,300 Btu/h", True),
            ("input by the plate", "75,000 Btu/h", False),
            ("manifold", shown("wrong-orifices", 6, "manifold"), False),
            ("clock over plate", "118 %", True),
        ),
    )


@scene("wrong-orifices/photos/orifices.png", "Orifices from the front, bores to one scale")
def _(sheet: Sheet) -> None:
    gas.orifices(
        sheet,
        (("found: No. 38, 0.1015 in.", 0.1015, True), ("plate: No. 42, 0.0935 in.", 0.0935, False)),
        "(0.1015 / 0.0935)² = 1.18 times the area",
    )


# ------------------------------------------------------------------ thin-air


@scene("thin-air/photos/input.png", "Three inputs to one scale")
def _(sheet: Sheet) -> None:
    bars(
        sheet,
        (
            ("plate, at sea level", 80000, False),
            ("clocked at 6100 ft", 71600, True),
            ("allowed at 6100 ft by this sheet", 60500, False),
        ),
        "Btu/h",
        "118 % of what is allowed, although it is under the plate",
    )


@scene("thin-air/photos/orifices.png", "Orifices from the front, bores to one scale")
def _(sheet: Sheet) -> None:
    gas.orifices(
        sheet,
        (("found: No. 45, 0.0820 in.", 0.0820, True), ("for 6100 ft: No. 48, 0.0760 in.", 0.0760, False)),
        "(0.0760 / 0.0820)² = 0.86 times the area",
    )


# ------------------------------------------------------------------ warm-return


@scene("warm-return/photos/ducts-heat.png", "Painted ducts through a thermal camera, at the trip")
def _(sheet: Sheet) -> None:
    case = "warm-return"
    room, back = figure(case, 3, "rooms mean temperature"), figure(case, 3, "return air")
    out = figure(case, 3, "supply air at trip")
    heat.picture(
        sheet,
        room,
        [
            ((140, 250, 350, 560), out - 8, out - 1),
            ((90, 140, 400, 250), out - 2, out - 3),
            ((350, 300, 640, 372), out - 3, out - 2),
            ((640, 110, 800, 300), room + 1, room),
            ((640, 300, 800, 740), back, back - 1),
            ((140, 600, 350, 740), room + 10, room + 24),
        ],
        [
            ((245, 330), f"plenum {out - 1:.0f} °F", (245, 210)),
            ((500, 336), f"bypass {out - 3:.0f} °F", (500, 440)),
            ((720, 190), f"return before it {room:.0f} °F", (700, 140)),
            ((720, 600), f"after it {back:.0f} °F", (720, 690)),
        ],
        60,
        140,
    )


@scene("warm-return/photos/bypass.png", "The bypass that was left behind")
def _(sheet: Sheet) -> None:
    air.furnace_cut(sheet, bypass=True)
    sheet.arrow([(606, 135), (690, 135)], 5, ACCENT)
    sheet.label("8 in. round, blade open", (866, 100), (650, 126), 23, ACCENT)
    sheet.label("82 °F at the furnace", (866, 640), (700, 690), 24, ACCENT)
    sheet.label("68 °F from the rooms", (866, 330), (770, 330), 24)
    sheet.text((866, 740), "a fifth of the air goes round", 23, GRAY)


# ------------------------------------------------------------------ ceiling-trunk


@scene("ceiling-trunk/photos/trunk.png", "Two taps, nine feet apart, a finished ceiling between them")
def _(sheet: Sheet) -> None:
    figures = [
        f"{figure('ceiling-trunk', step, reading):+.2f} in. w.c."
        for step, reading in ((5, "tap after coil"), (6, "end of trunk"))
    ]
    air.trunk(sheet, figures, ("20 × 8 in.", "nine feet not seen", "20 × 8 in."))


@scene("ceiling-trunk/photos/taps.png", "Four taps, everything open")
def _(sheet: Sheet) -> None:
    air.furnace_cut(sheet)
    air.taps(sheet, tap_words("ceiling-trunk", 5), TAP_WORDS_AT, accent=(6,))
