"""Scenes of the cases in which the limit opens."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import air
import electric
import gas
import heat
from case_reading import figure, shown, tap
from ink import ACCENT, GREY, INK, PAPER, STEEL, WIND, Sheet

Scene = Callable[[Sheet], None]
SCENES: dict[str, tuple[str, Scene]] = {}

_AT = {2: (872, 470), 3: (500, 764), 5: (30, 300), 6: (30, 215)}
_TAPS = {2: "tap before filter", 3: "tap after filter", 5: "tap before coil", 6: "tap after coil"}


def scene(name: str, title: str) -> Callable[[Scene], Scene]:
    """Enter a scene under its file and title."""
    def enter(function: Scene) -> Scene:
        SCENES[name] = title, function
        return function
    return enter


def tap_words(case: str, step: int) -> Mapping[int, str]:
    """The readings of the four taps of one step, for the cutaway."""
    return {number: tap(case, step, reading) for number, reading in _TAPS.items()}


# ------------------------------------------------------------------ narrow-return

@scene("narrow-return/photos/filter.png", "The filter as found")
def _(sheet: Sheet) -> None:
    case = "narrow-return"
    drop = figure(case, 6, "tap before filter") - figure(case, 6, "tap after filter")
    air.filter_bowed(sheet, "16 × 20 × 1 in., fine pleated", "bowed 3/4 in.", f"{drop:.2f} in. w.c.")


@scene("narrow-return/photos/return.png", "The only return duct, to scale")
def _(sheet: Sheet) -> None:
    px = 17.5
    shapes = (("found: 16 × 8 in.\n128 in²", 16, 8, ACCENT), ("code floor for 72,000 Btu/h\n144 in²", 18, 8, INK),
              ("what 1210 cfm asks for at 700 fpm\n249 in²", 20, 12.45, INK))
    x = 60.0
    for words, wide, high, colour in shapes:
        y = 430 - high * px / 2
        corners = [(x, y), (x + wide * px, y), (x + wide * px, y + high * px), (x, y + high * px)]
        sheet.shape(corners, PAPER, 4, colour)
        sheet.hatch(corners, 16, 45, 1.2, colour if colour == ACCENT else GREY)
        sheet.text((x, 590), words, 23, colour)
        x += wide * px + 50
    sheet.line([(60, 720), (60 + 12 * px, 720)], 3)
    for end in (60, 60 + 12 * px):
        sheet.line([(end, 710), (end, 730)], 3)
    sheet.text((60 + 12 * px + 16, 720), "12 in.", 23, anchor="lm")


@scene("narrow-return/photos/taps.png", "Four taps, filter in, as found")
def _(sheet: Sheet) -> None:
    air.furnace_cut(sheet, narrow=True)
    air.taps(sheet, tap_words("narrow-return", 6), _AT, accent=(2, 3))


# ------------------------------------------------------------------ second-limit

@scene("second-limit/photos/plenum-heat.png", "The plenum through a thermal camera, tape and bare metal")
def _(sheet: Sheet) -> None:
    case = "second-limit"
    room, true = figure(case, 7, "return air"), figure(case, 7, "supply air at trip")
    bare = heat.apparent(true, room, 0.30)
    heat.picture(
        sheet, room,
        [((250, 160, 760, 600), bare, bare - 3), ((420, 230, 600, 560), true - 1, true - 1),
         ((220, 600, 790, 740), room + 14, room + 6)],
        [((510, 390), f"matte tape {true - 1:.0f} °F", (510, 640)),
         ((330, 330), f"bare metal {bare:.0f} °F", (250, 190)), ((120, 480), f"wall {room:.0f} °F", (160, 420))],
        60, 140)


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
    electric.memory(sheet, ("open limit circuit", "", "Jan 02   05:12", "Jan 11   03:47", "Jan 20   02:26",
                            "Jan 31   04:08", "faults counted  4"), 6)


@scene("quiet-faults/photos/string.png", "The string of switches while it burns")
def _(sheet: Sheet) -> None:
    case = "quiet-faults"
    electric.chain(sheet, ("limit", "roll-out", "pressure", "board input"),
                   [shown(case, 5, r) for r in ("volts across limit", "volts across rollout switch",
                                                "volts across pressure switch", "volts at board limit input")],
                   None, "volts across each closed device, call present")


@scene("quiet-faults/photos/terminal.png", "The push-on terminal at the limit")
def _(sheet: Sheet) -> None:
    electric.terminal(sheet, ("recorder lead", "grip a little open", "no colour, no pitting",
                              "neither a finding nor a clean bill"))


# ------------------------------------------------------------------ bent-flame

@scene("bent-flame/photos/flame-before.png", "Sight glass, blower not yet started")
def _(sheet: Sheet) -> None:
    _flame(sheet, None, "before the blower", "before blower")


@scene("bent-flame/photos/flame-after.png", "Sight glass, blower running")
def _(sheet: Sheet) -> None:
    _flame(sheet, 2, "one minute after it started", "after blower")


def _flame(sheet: Sheet, bent: int | None, words: str, when: str) -> None:
    gas.flames(sheet, (90, 170), bent, words)
    for i, (name, caption) in enumerate((("oxygen in flue", "oxygen in flue"), ("co in flue", "CO in flue, as measured"))):
        sheet.readout((680, 210 + i * 190), shown("bent-flame", 4, f"{name} {when}"), caption, 400,
                      INK if bent is None else ACCENT)


@scene("bent-flame/photos/crack.png", "Cell 3 through the camera, furnace cold and isolated")
def _(sheet: Sheet) -> None:
    gas.cracked_cell(sheet, "split, 2 1/2 in.")


@scene("bent-flame/photos/notice.png", "Notice on the closed gas cock")
def _(sheet: Sheet) -> None:
    gas.notice(sheet, ("Furnace: heat exchanger split, cell 3", "Gas off, power off, 27 January, 10:40",
                       "Must not be used. Not for one night.", "Other heat: three electric heaters lent",
                       "Gas supplier told: yes", "Told in writing: occupant, owner"))
