"""The forms a part of an author's change may take, each read as a plan.  `changes` shows them all."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from causebook import quantity as qty
from causebook.casefile.possible import bounds, possible
from causebook.casefile.sizes import read_size
from causebook.equipment.furnace.system import mended, repairs
from causebook.knowledge.model import slug
from causebook.physics.airpath import Part
from causebook.physics.fan import ConstantAirflow
from causebook.physics.whatif import AddParallel, Plate, RemovePart, ReplacePart
from causebook.quantity import CFM, INWC, Kind
from causebook.sizing import blower as blowers
from causebook.sizing import gas_input
from causebook.sizing.filters import chosen, renewed
from causebook.sizing.job import Job
from causebook.sizing.plan import Plan, together
from causebook.sizing.replacement import load_works, loads, new_furnace
from causebook.sizing.return_air import USUAL_LENGTH, run_works
from causebook.sizing.runs import BRANCH_FITTINGS, RETURN_FITTINGS, ROUGHNESS, RUN_SPREAD, Run
from causebook.sizing.shapes import shape_of, text
from causebook.survey.model import Work

LABEL_SPREAD = 0.1
"""Standard uncertainty of a drop from a label or a drawing, as a share; expert estimate."""
HOLDS_TO = 0.5 * INWC
"""Static up to which a new blower is taken to hold its airflow where its plate is silent [Pa]."""

FORMS: Mapping[str, str] = MappingProxyType(
    {
        "filter": "{kind: deep media, size: 20 x 25 x 4 in}, clean or removed",
        "add return": "{duct: 14 in round, length: 22 ft, grille: 18 x 24 in} or {drop: 0.10 inH2O, at: 600 cfm}",
        "return": "{duct: 20 x 10 in, length: 30 ft}, {drop: 0.10 inH2O, at: 1000 cfm} or clean",
        "coil": "clean or {clean drop: 0.16 inH2O, at: 1000 cfm}",
        "supply": "{branches: 2, duct: 7 in round, length: 20 ft}, {drop: 0.12 inH2O, at: 1000 cfm} or opened",
        "blower": "{setting: high}, {capacitor: new} or clean",
        "orifices": "a drill number, a diameter or {from: 43, to: 45}",
        "manifold": "a pressure, such as 3.5 inH2O",
        "input": "a heat rate, such as 80000 Btu/h",
        "furnace": "{input: 60000 Btu/h, output: 57000 Btu/h}; also rise, outlet maximum, static maximum, airflow",
        "limit": "new or {opens: 200 degF}",
        "recirculation": "closed",
        "bypass": "closed or removed",
        "capacitor": "its value, or new",
        "wheel": "clean or new",
        "motor": "new",
        "add supply": "{duct: 8 in round, length: 4 ft}",
        "inlet": "one side, two sides or bottom",
    }
)
"""Part of a change -> what may stand behind it."""

BESIDE_THE_AIR = (
    "board",
    "control board",
    "thermostat",
    "bond",
    "drain",
    "trap",
    "vent",
    "intake",
    "gas line",
    "gas supply",
    "regulator",
    "igniter",
    "flame rod",
    "pressure switch",
    "hose",
    "inducer",
    "gas valve",
    "wiring",
    "transformer",
    "add transfer",
    "transfer",
    "blower on delay",
    "blower off delay",
    "filter slot",
    "logger",
)
"""Parts that an option may change without any effect on airflow or heat that the model holds."""
_CLEAN = ("clean", "cleaned", "new", "opened", "open", "cleared", "stretched", "renewed", "repaired")
_SIDES = {"one-side": 1, "two-sides": 2, "bottom": 2}


class NotUnderstood(ValueError):
    """A part of a change that could not be read: what was found; the message says what was expected."""

    def __init__(self, part: str, found: str, expected: str = "") -> None:
        super().__init__(f"{part}: {found}; expected {expected or FORMS.get(part, 'one of ' + ', '.join(FORMS))}")
        self.part, self.found, self.expected = part, found, expected or FORMS.get(part, "one of " + ", ".join(FORMS))


def read(part: str, value: Any, job: Job) -> Plan:
    name = " ".join(slug(part).split("-"))
    reader = _READERS.get(name)
    if name in BESIDE_THE_AIR:
        return Plan(name.replace(" ", "-"), part, (f"{part}: {value}",), effort=1)
    if reader is None:
        raise NotUnderstood(part, "is no part that can be changed", "one of " + ", ".join(FORMS))
    return reader(value, job)


# ---------------------------------------------------------------------------------------------- values


def _words(value: Any) -> str:
    return slug(str(value)) if isinstance(value, (str, int)) else ""


def _fields(part: str, value: Any, known: tuple[str, ...]) -> dict[str, Any]:
    if not isinstance(value, Mapping):
        raise NotUnderstood(part, f"{str(value)!r} is no form of it")
    strange = [k for k in value if k not in known]
    if strange:
        raise NotUnderstood(part, f"{strange[0]!r} is not known here", ", ".join(known))
    return dict(value)


_NEW = {
    "airflow": "new airflow",
    "air pressure": "rating of pressure",
    "heat rate": "input",
    "length": "length of a run",
}
"""Kind of quantity -> the bounds of what is put in new, in place of those of its kind."""


def _number(fields: Mapping[str, Any], key: str, kind: Kind) -> float | None:
    """The number behind a key [SI]; QuantityError for one that nothing put in can have."""
    if key not in fields:
        return None
    return qty.si(possible(qty.parse(str(fields[key]), kind), kind, bounds(_NEW.get(kind.name, kind.name))), kind)


def _needed(part: str, fields: Mapping[str, Any], key: str, kind: Kind) -> float:
    number = _number(fields, key, kind)
    if number is None:
        raise NotUnderstood(part, f"`{key}` is missing")
    return number


def _drawn(part: str, fields: Mapping[str, Any], drop: str, exponent: float) -> Part:
    """A part by a drop at an airflow, as a label or a drawing gives it for standard air."""
    pressure = _needed(part, fields, drop, qty.AIR_PRESSURE)
    return Part(part, pressure / _needed(part, fields, "at", qty.AIRFLOW) ** exponent, exponent)


def _repaired(part: str, name: str, job: Job) -> Plan:
    """A part made clean or as its table again, as the diagnosis repairs whatever acts on it."""
    effect = next(e for cause in job.knowledge.causes.values() for e in cause.effects if e.on == part)
    return Plan(part, name, (name,), tuple(repairs(job.found.path, job.found.moments, [effect])), frozenset({part}))


def _is_clean(value: Any) -> bool:
    """Does a text say that the part is clean, open or new again?"""
    return any(word in _CLEAN for word in _words(value).split("-"))


# ---------------------------------------------------------------------------------------------- readers


def _filter(value: Any, job: Job) -> Plan:
    if _words(value) == "removed":
        return Plan(
            "filter",
            "No filter",
            ("Filter taken out, for a test only",),
            (RemovePart("filter"),),
            frozenset({"filter"}),
            breaks=("no filter: a furnace does not run without one",),
        )
    if _is_clean(value):
        plan = _repaired("filter", "New filter of the same kind", job)
        same = renewed(job.case, job.found, job.airflow)
        return plan if same is None else replace(plan, changes=(same[0],), works=same[1])
    fields = _fields("filter", value, ("kind", "size", "clean drop", "at"))
    exponent = job.knowledge.parts["filter"].exponent
    words = " ".join(str(fields[k]) for k in ("kind", "size") if k in fields)
    if "clean drop" in fields:
        part = _drawn("filter", fields, "clean drop", exponent)
        return Plan(
            "filter",
            "Filter",
            (f"Filter: {words or 'as its label'}",),
            (ReplacePart("filter", job.found.fitted(part, job.airflow), LABEL_SPREAD),),
            frozenset({"filter"}),
        )
    if "size" not in fields:
        raise NotUnderstood("filter", "`size` is missing")
    fit = chosen(job.found, str(fields.get("kind", "")), str(fields["size"]), job.airflow)
    if fit is None:
        raise NotUnderstood(
            "filter", f"the kind {str(fields.get('kind', ''))!r} is not known and no clean drop is given"
        )
    return Plan("filter", "Filter", (f"Filter: {words}",), (fit[0],), frozenset({"filter"}), fit[1])


_RUN = ("duct", "length", "grille", "of", "slack", "count", "drop", "at")


def _run(part: str, fields: Mapping[str, Any], fittings: float) -> Run:
    if "duct" not in fields:
        raise NotUnderstood(part, "`duct` is missing")
    made = str(fields.get("of", "metal"))
    if made not in ROUGHNESS:
        raise NotUnderstood(part, f"`of: {made}` is not known", ", ".join(ROUGHNESS))
    grille = qty.si(read_size(str(fields["grille"])).area, qty.SMALL_AREA) if "grille" in fields else None
    return Run(
        shape_of(str(fields["duct"])),
        _number(fields, "length", qty.LENGTH) or USUAL_LENGTH,
        made,
        _number(fields, "slack", qty.SHARE) or 0.0,
        fittings,
        grille,
        int(str(fields.get("count", 1))),
    )


def _add_return(value: Any, job: Job) -> Plan:
    fields = _fields("add return", value, _RUN)
    if "drop" in fields:
        part = replace(_drawn("add return", fields, "drop", 2.0), name="new return")
        return Plan(
            "add-return",
            "Return added",
            ("Return added: as designed",),
            (AddParallel(("return",), part, LABEL_SPREAD),),
            frozenset({"return"}),
        )
    run = _run("add return", fields, RETURN_FITTINGS)
    words = ", ".join(f"{k} {fields[k]}" for k in ("duct", "length", "grille", "of") if k in fields)
    return Plan(
        "add-return",
        "Return added",
        (f"Return added: {words}",),
        (AddParallel(("return",), run.part("new return", _carried(run, job), job.found.density), RUN_SPREAD),),
        frozenset({"return"}),
        run_works("New return", run, _carried(run, job), job.found.density),
        effort=2,
    )


def _carried(run: Run, job: Job) -> float:
    """About what a run beside the old return carries [m³/s], of the airflow wanted."""
    flow = job.found.moments.airflow.value
    old = job.found.drop("return", flow) / flow**2
    new = run.drop(flow / 2 / run.count, job.found.density) / (flow / 2) ** 2
    return float(job.airflow * old**0.5 / (old**0.5 + new**0.5))


def _return(value: Any, job: Job) -> Plan:
    if _words(value).startswith("open"):
        plan = _repaired("return", "Return left open beside the furnace", job)
        return replace(
            plan,
            breaks=(
                "an open return draws air from beside the furnace, and exhaust with it where any "
                "spills: for a short test only",
            ),
        )
    if _is_clean(value):
        return _repaired("return", "Return cleared", job)
    fields = _fields("return", value, _RUN)
    if "drop" in fields:
        part, spread = _drawn("return", fields, "drop", 2.0), LABEL_SPREAD
        works: tuple[Work, ...] = ()
    else:
        run = _run("return", fields, RETURN_FITTINGS)
        part, spread = run.part("return", job.airflow, job.found.density), RUN_SPREAD
        works = run_works("Return", run, job.airflow, job.found.density)
    return Plan(
        "return",
        "Return replaced",
        ("Return replaced: " + ", ".join(f"{k} {v}" for k, v in fields.items()),),
        (ReplacePart("return", part, spread),),
        frozenset({"return"}),
        works,
        effort=2,
    )


def _coil(value: Any, job: Job) -> Plan:
    if _is_clean(value):
        return replace(_repaired("coil", "Coil cleaned", job), effort=2)
    fields = _fields("coil", value, ("clean drop", "at", "cooling"))
    part = _drawn("coil", fields, "clean drop", job.knowledge.parts["coil"].exponent)
    fit = ReplacePart("coil", job.found.fitted(part, job.airflow), LABEL_SPREAD)
    return Plan("coil", "Coil", ("Coil as its table",), (fit,), frozenset({"coil"}))


def _supply(value: Any, job: Job) -> Plan:
    if _is_clean(value):
        return _repaired("supply", "Supply opened", job)
    fields = _fields("supply", value, ("branches", "duct", "length", "of", "slack", "drop", "at"))
    if "duct" in fields and "branches" not in fields:
        run = _run("supply", fields, 0.0)
        return replace(
            _repaired("supply", "Section of the supply renewed", job),
            effort=2,
            scope=(f"Section renewed: {fields['duct']}, {text(run.length, qty.LENGTH)}; then as a usual supply",),
            works=run_works("New section", run, job.airflow, job.found.density),
        )
    if "drop" in fields:
        part = _drawn("supply", fields, "drop", job.knowledge.parts["supply"].exponent)
        return Plan(
            "supply",
            "Supply enlarged",
            ("Supply as designed",),
            (ReplacePart("supply", part, LABEL_SPREAD),),
            frozenset({"supply"}),
        )
    count = int(str(fields.get("branches", 0)))
    if count < 1:
        raise NotUnderstood("supply", "`branches` is missing")
    run = replace(_run("supply", {"duct": "6 in round", "length": "20 ft", **fields}, BRANCH_FITTINGS), count=count)
    part = run.part("new branches", count * 100 * CFM, job.found.density)
    return Plan(
        "supply",
        "Branches added",
        (f"Supply branches added, {count}: {fields.get('duct', '6 in round')}, {text(run.length, qty.LENGTH)}",),
        (AddParallel(("supply",), part, RUN_SPREAD),),
        frozenset({"supply"}),
        run_works("New branch", replace(run, count=1), 100 * CFM, job.found.density),
        effort=2,
    )


def _add_supply(value: Any, job: Job) -> Plan:
    fields = _fields("add supply", value, _RUN)
    return _supply({"branches": fields.pop("count", 1)} | {k: v for k, v in fields.items() if k != "grille"}, job)


def _blower(value: Any, job: Job) -> Plan:
    if _is_clean(value):
        return _mended(["wheel"], "wheel clean", job)
    fields = _fields("blower", value, ("setting", "capacitor", "motor", "wheel"))
    named = [k for k in _MENDED if k in fields]
    plans = [_mended(named, ", ".join(f"{k} {fields[k]}" for k in named), job)] if named else []
    if "setting" in fields:
        setting = blowers.known_setting(job.found, job.case, str(fields["setting"]))
        if setting is None:
            known = job.case.fan_table.airflow if job.case.fan_table is not None else ()
            raise NotUnderstood(
                "blower",
                f"no setting {fields['setting']!r} in a fan table of this case",
                "one of " + ", ".join(known) if known else "a fan table",
            )
        plans.append(blowers.set_to(job.case, setting, job.settings))
    if not plans:
        raise NotUnderstood("blower", "nothing is changed")
    return together(plans)


_MENDED = {"capacitor": "motor", "wheel": "blower", "motor": "motor"}
"""Part of the blower that is mended -> the unknown of the model it acts on."""


def _mended(parts: Sequence[str], how: str, job: Job, named: str = "blower") -> Plan:
    """Motor, wheel or both as new; what the other lacks stays."""
    on = frozenset(_MENDED[part] for part in parts)
    try:
        lift = mended(job.found.moments, on)
    except ValueError as problem:
        raise NotUnderstood(named, str(problem), "the motor's speed or the capacitor read, the wheel seen") from None
    return Plan(
        "blower",
        "Blower mended",
        (f"Blower mended: {how}; read its airflow again",),
        (lift,),
        on,
        effort=2 if "motor" in parts else 1,
    )


def _part_of_blower(part: str) -> Callable[[Any, Job], Plan]:
    """A part of the blower that stands by itself in the change."""
    return lambda value, job: _mended([part], f"{part} {value}", job, part)


def _orifices(value: Any, job: Job) -> Plan:
    old = None
    words = str(value)
    if isinstance(value, Mapping):
        fields = _fields("orifices", value, ("from", "to"))
        words = str(fields.get("to", ""))
        old = gas_input.drill_of(str(fields.get("from", "")))
    size = gas_input.drill_of(words)
    plan = gas_input.drilled(job.surveyed, job.found, size, old) if size is not None else None
    if plan is None:
        raise NotUnderstood(
            "orifices", f"{words!r}" if size is None else "neither the plate's orifice nor `from` is known"
        )
    return plan


def _manifold(value: Any, job: Job) -> Plan:
    plan = gas_input.pressed(job.surveyed, job.found, qty.si(qty.parse(str(value), qty.GAS_PRESSURE), qty.GAS_PRESSURE))
    if plan is None:
        raise NotUnderstood("manifold", "the pressure as found was not read", "a reading `manifold` as found")
    return plan


def _input(value: Any, job: Job) -> Plan:
    return gas_input.input_set(qty.parse(str(value), qty.HEAT_RATE))


_FURNACE = (
    "input",
    "output",
    "efficiency",
    "rise",
    "outlet maximum",
    "static maximum",
    "airflow",
    "holds to",
    "kind",
    "stages",
    "limit",
)


def _furnace(value: Any, job: Job) -> Plan:
    fields = _fields("furnace", value, _FURNACE)
    put_in = _needed("furnace", fields, "input", qty.HEAT_RATE)
    output, share = _number(fields, "output", qty.HEAT_RATE), _number(fields, "efficiency", qty.SHARE)
    if output is not None:
        share = output / put_in
    if share is None:
        raise NotUnderstood("furnace", "`output` is missing")
    old = job.found.system.plate
    low, high = qty.parse_range(str(fields["rise"]), qty.TEMPERATURE_DIFFERENCE) if "rise" in fields else (None, None)
    static = _number(fields, "static maximum", qty.AIR_PRESSURE)
    plate = Plate(
        qty.si(low, qty.TEMPERATURE_DIFFERENCE) if low is not None else old.rise_minimum,
        qty.si(high, qty.TEMPERATURE_DIFFERENCE) if high is not None else old.rise_maximum,
        _number(fields, "outlet maximum", qty.TEMPERATURE) or old.outlet_maximum,
        static or old.static_maximum,
        old.counted,
    )
    works = load_works(known, put_in * share) if (known := loads(job.surveyed)) else ()
    airflow = _number(fields, "airflow", qty.AIRFLOW)
    holding = (
        None
        if airflow is None
        else ConstantAirflow(airflow, _number(fields, "holds to", qty.AIR_PRESSURE) or static or HOLDS_TO)
    )
    return new_furnace(
        job.found,
        "furnace",
        "Other furnace",
        put_in,
        share,
        plate,
        works,
        holding,
        "" if airflow is None else f"blower set to {text(airflow, qty.AIRFLOW)}",
    )


def _limit(value: Any, job: Job) -> Plan:
    marked = job.found.evidence.limit_opens
    opens = (
        marked
        if _is_clean(value)
        else _needed("limit", _fields("limit", value, ("opens", "closes")), "opens", qty.TEMPERATURE)
    )
    if opens is None:
        raise NotUnderstood("limit", "the marking of the limit is not known", "`limit:` with `opens:` in `furnace:`")
    breaks = (
        ()
        if marked is None or opens <= marked + 0.5
        else (f"limit of {text(opens, qty.TEMPERATURE)} in the place of one marked {text(marked, qty.TEMPERATURE)}",)
    )
    return Plan(
        "limit",
        "Limit as marked",
        (f"Listed limit that opens at {text(opens, qty.TEMPERATURE)}",),
        (),
        frozenset({"limit"}),
        breaks=breaks,
        limit_opens=opens,
    )


def _recirculation(value: Any, job: Job) -> Plan:
    if _words(value) not in ("closed", "shut", "removed"):
        raise NotUnderstood("recirculation", f"{str(value)!r}")
    return _repaired("recirculation", "Way from supply to return closed", job)


def _inlet(value: Any, job: Job) -> Plan:
    sides = _SIDES.get(_words(value))
    if sides is None:
        raise NotUnderstood("inlet", f"{str(value)!r}")
    return Plan("inlet", "Inlet", (f"Air into the cabinet by {value}",), (), frozenset(), inlet_sides=sides)


_READERS: Mapping[str, Callable[[Any, Job], Plan]] = {
    "filter": _filter,
    "add return": _add_return,
    "return": _return,
    "coil": _coil,
    "supply": _supply,
    "blower": _blower,
    "orifices": _orifices,
    "manifold": _manifold,
    "input": _input,
    "furnace": _furnace,
    "limit": _limit,
    "recirculation": _recirculation,
    "bypass": _recirculation,
    "inlet": _inlet,
    "add supply": _add_supply,
    "capacitor": _part_of_blower("capacitor"),
    "wheel": _part_of_blower("wheel"),
    "motor": _part_of_blower("motor"),
}
