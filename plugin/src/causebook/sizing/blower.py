"""The blower setting that gives the airflow wanted at the static that will then exist."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from causebook import quantity as qty
from causebook.casefile.model import Case
from causebook.equipment.furnace.system import FOUND
from causebook.knowledge.model import slug
from causebook.physics.fan import Fan
from causebook.physics.whatif import SetSetting
from causebook.sizing.found import Found
from causebook.sizing.plan import Foretold, Plan, foretell
from causebook.sizing.shapes import text, work
from causebook.survey.model import Work


@dataclass(frozen=True, slots=True)
class Tried:
    """One setting of the fan table, and what the system would show at it."""

    setting: str
    told: Foretold

    @property
    def airflow(self) -> float:
        """[m³/s]"""
        return self.told.terms["airflow"].si

    @property
    def rise(self) -> float | None:
        """[K]"""
        term = self.told.get("rise")
        return None if term is None else term.si

    @property
    def static(self) -> float | None:
        """[Pa]"""
        term = self.told.get("static")
        return None if term is None else term.si


def tried(found: Found, plan: Plan) -> tuple[Tried, ...]:
    """Every setting of the printed table with the plan carried out, least airflow first; none without a table."""
    fan = found.system.fan
    if found.evidence.fan is None or not isinstance(fan, Fan):
        return ()
    each = [
        Tried(s, foretell(found, replace(plan, changes=(*plan.changes, SetSetting(s))))) for s in fan.table.settings
    ]
    return tuple(sorted(each, key=lambda t: t.airflow))


def setting_name(case: Case, setting: str) -> str:
    """A setting as the fan table calls it; the one found by its own name."""
    if setting != FOUND:
        return setting
    return case.file.blower.setting if case.file.blower is not None else setting


def known_setting(found: Found, case: Case, name: str) -> str | None:
    """The setting of the system that an author's word means; None for one the table does not hold."""
    fan = found.system.fan
    if found.evidence.fan is None or not isinstance(fan, Fan):
        return None
    return next((s for s in fan.table.settings if slug(setting_name(case, s)) == slug(name)), None)


def chosen(case: Case, all_: Sequence[Tried], needed: float | None, wanted: float) -> Plan | None:
    """The setting to choose: the one the instructions name if it is enough, else the smallest that is.

    Enough is an airflow of `needed` [m³/s] at least; where that is None the setting nearest to `wanted` is taken.
    None without a table or where the setting found is already the one.
    """
    if not all_:
        return None
    enough = [t for t in all_ if needed is None or t.airflow >= needed]
    instructed = case.file.blower.instructed_setting if case.file.blower is not None else ""
    best = next((t for t in enough if instructed and slug(setting_name(case, t.setting)) == slug(instructed)), None)
    if best is None:
        best = (
            (enough[0] if enough else all_[-1])
            if needed is not None
            else min(all_, key=lambda t: abs(t.airflow - wanted))
        )
    return None if best.setting == FOUND else set_to(case, best.setting, all_)


def next_up(case: Case, all_: Sequence[Tried]) -> Plan | None:
    """The next faster setting than the one found; None where there is none."""
    here = next((t.airflow for t in all_ if t.setting == FOUND), None)
    faster = [t for t in all_ if here is not None and t.airflow > here * 1.01]
    return set_to(case, faster[0].setting, all_) if faster else None


def set_to(case: Case, setting: str, all_: Sequence[Tried]) -> Plan:
    """A plan that chooses a setting, with what every setting would give."""
    name = setting_name(case, setting)
    return Plan(
        f"setting-{slug(name)}",
        f"Blower on {name}",
        (f"Blower on setting {name}; read static, rise and motor current after it",),
        (SetSetting(setting),),
        frozenset({"setting"}),
        (_work(case, all_),),
    )


def _work(case: Case, all_: Sequence[Tried]) -> Work:
    def told(t: Tried) -> str:
        parts = [text(t.airflow, qty.AIRFLOW)]
        parts += [f"rise {text(t.rise, qty.TEMPERATURE_DIFFERENCE)}"] if t.rise is not None else []
        parts += [f"static {text(t.static, qty.AIR_PRESSURE)}"] if t.static is not None else []
        return ", ".join(parts)

    return work(
        "What each setting would give",
        "the fan table's curve meets the air path as found",
        {setting_name(case, t.setting): told(t) for t in all_},
        f"{len(all_)} settings",
        "printed fan table; fan and system curves, ASHRAE Handbook—HVAC Systems and Equipment, Fans",
    )
