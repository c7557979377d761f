"""What the knowledge must hold: enough of it, every number with a basis, nothing that advises against safety."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import causebook
from causebook import quantity as qty
from causebook.knowledge import load

K = load()

# What technicians write elsewhere for the same findings; either word must be understood.
SHORT_FORMS = """
    f_limit_code f_burner_off_fan_on f_return_share_high f_return_area_low f_filter_fine_thin f_filter_drop_high
    f_rise_high f_tesp_high x_filter_out x_return_open f_after_filter_change f_whistle f_coil_drop_high
    f_supply_share_high f_input_high f_wheel_dirty f_cfm_below_fan_table f_limit_low_temp f_rise_ok_at_trip
    x_registers_open f_return_temp_high f_filter_dirty f_two_filters f_grille_blocked f_coil_dirty
    f_no_filter_history f_orifice_mismatch f_co_high f_o2_low f_stack_hot f_after_gas_work
    f_conversion_label_missing f_manifold_high f_co_very_high f_tesp_low_rise_high f_hot_dust_smell f_rpm_low
    f_cap_low f_wheel_loose f_tap_low f_screech f_ps_falls f_trap_blocked f_water_seen f_vent_slope_bad
    f_vent_block_seen f_ps_open_good_pressure f_inducer_slow f_hose_port f_ua_low f_ground_bad f_rod_dirty
    f_ua_restored_clean f_inlet_low f_flame_bad f_burner_dirty f_board_output_lost f_co_alarm f_co_room
    f_flame_moves_fan f_o2_shift f_crack_seen f_scorch f_spill_seen f_gas_smell f_intermittent f_limit_volt_drop
    f_call_drops f_blower_late f_zone_pattern f_limit_part_mismatch f_baffle_gone f_trip_after_call f_wire_burnt
    f_ice f_cfm_ton_low f_after_equipment x_speed_up f_suction_low_air_ok f_one_room f_doors_help
    f_room_pressure f_room_flow_low f_duct_crushed x_door_open_flow f_duct_open f_registers_closed
    f_return_temp_low f_oversize x_supply_open x_no_change_open f_which_safety_open f_board_input_lost
    f_24v_missing f_igniter_ohms_open f_valve_cmd_no_gas f_no_fan_volts
""".split()

READINGS = """
    tap behind grille; tap before filter; tap after filter; blower box; tap before coil; tap after coil; end of
    trunk; behind register; supply air; supply air at trip; return air; time to trip; meter time; manifold; gas
    inlet; co in flue; oxygen in flue; stack; co outdoors; co indoors; limit opened at; room temperature; room
    pressure; room flow open; room flow closed; register sum; flow grid airflow; motor amps; motor speed; line
    volts; volts at motor; capacitor; flame current; neutral to burner volts; suction at pressure switch;
    suction at start; suction at end; inducer volts; secondary volts; infrared on plenum; infrared on limit
    face; limit face temperature; drain pint time; saturated suction; cooling tons; co in flue before blower; co
    in flue after blower; oxygen in flue before blower; oxygen in flue after blower; volts across limit; volts
    to common after limit; volts to common before limit; volts across rollout switch; volts across pressure
    switch
"""


def cites(basis):
    return basis is not None and (basis.kind != "standard" or basis.source.split(",")[0].split(";")[0] in K.sources)


def test_there_is_enough_of_everything():
    ranked = [c for c in K.causes.values() if not c.residual]
    assert len(K.families) == 12 and all(f.complaint for f in K.families.values())
    assert len(ranked) >= 63 and sum(c.residual for c in K.causes.values()) == 12
    assert len(K.findings) >= 128 and len(K.remedies) >= 64 and len(K.verification) >= 14
    assert len(K.stops) >= 11 and len(K.pairs) >= 12 and sum(len(c.links) for c in K.causes.values()) >= 467
    assert {p.part for p in K.parts.values()} == {"return", "filter", "inlet", "coil", "supply"}


def test_every_family_has_causes_that_add_up_and_its_own_something_else():
    for family in K.families:
        priors = {c.id: c.priors[family] for c in K.causes.values() if family in c.priors}
        others = [c for c in priors if K.causes[c].residual]
        assert len(others) == 1 and len(priors) >= 6, family
        # Causes come together, so a family's shares may sum above one; far above would be a slip of a decimal.
        assert 0.7 <= sum(priors.values()) <= 1.6, (family, sum(priors.values()))


def test_a_weak_limit_is_rare_beside_want_of_air():
    """Most limit calls are want of air, a weak limit about one in fifty.  Expert estimate, as the data says."""
    priors = {c: e.priors["high-limit"] for c, e in K.causes.items() if "high-limit" in e.priors}
    airside = sum(p for c, p in priors.items() if K.causes[c].side in ("return", "blower", "supply"))
    assert airside / sum(priors.values()) > 0.7 and priors["limit-weak"] / sum(priors.values()) < 0.03


def test_every_ranked_cause_can_be_seen_corrected_and_checked():
    for cause in K.causes.values():
        if cause.residual:
            continue
        assert cause.links and cause.remedies and cause.verify and cause.mechanism, cause.id
        assert cause.priors or cause.underlying, cause.id
        assert max(cause.links.values()) >= 0.7, f"nothing shows {cause.id} well"
        for finding, chance in cause.links.items():
            assert chance > K.findings[finding].leak, f"{cause.id} says nothing by {finding}"


def test_every_cause_can_be_told_by_a_test_and_every_finding_found():
    revealed = {f for t in K.tests.values() for f in t.reveals}
    assert set(K.findings) <= revealed, set(K.findings) - revealed
    assert [t.id for t in K.tests.values() if t.first] == ["arrive-with-co-meter"]
    assert {t.risk for t in K.tests.values()} <= {"none", "low", "moderate", "high"}


def test_no_test_waits_for_itself():
    def before(test, seen=()):
        assert test not in seen, f"{test} waits for itself"
        for need in K.tests[test].needs:
            before(need, (*seen, test))

    for test in K.tests:
        before(test)


def test_a_limit_is_faced_only_after_air_and_gas_are_proven():
    assert {"static-map", "clock-gas"} <= set(K.tests["limit-face-test"].needs)


def test_every_number_has_a_basis():
    for section in (K.findings, K.causes, K.tests, K.cautions, K.stops, K.verification, K.parts, K.constants):
        for entry in section.values():
            assert cites(entry.basis), entry.id if hasattr(entry, "id") else entry
    assert all(cites(f.leak_basis) for f in K.findings.values())
    assert all(cites(e.basis) for e in (*K.pairs, *K.context, *K.proofs))
    assert all(cites(e.basis) for c in K.causes.values() for e in c.effects)
    assert all(cites(r.accuracy.basis) for r in K.readings.values())
    assert all(cites(r.basis) for r in K.remedies.values() if r.sizing or re.search(r"\d", r.text))


def test_only_a_finding_that_data_cannot_say_keeps_a_limit_beside_its_rule():
    for finding in K.findings.values():
        assert finding.limit is None or (finding.computed and finding.limit_unit and not finding.when), finding.id


def test_the_model_weighs_what_it_can_and_nothing_seen():
    physical = {f.id for f in K.findings.values() if f.physical}
    assert {
        "rise-high",
        "static-high",
        "coil-drop-high",
        "airflow-below-table",
        "input-high",
        "limit-opens-low",
        "return-warm",
        "filter-out-rise-falls",
    } <= physical
    assert all(K.findings[f].when or K.findings[f].computed for f in physical)
    assert not physical & {"filter-dirty", "crack-seen", "wheel-dirty", "manifold-above-plate"}


def test_causes_that_act_on_air_or_heat_say_how_much():
    on = {c.id: {e.on for e in c.effects} for c in K.causes.values() if c.effects}
    assert on["filter-loaded"] == {"filter"} and on["furnace-too-big-for-ducts"] == {"return", "supply"}
    assert on["capacitor-weak"] == {"capacitor"} and on["manifold-high"] == {"manifold"}
    slower, more_or_less = (0.02, 0.97), (0.05, 4)
    for cause in K.causes.values():
        for effect in cause.effects:
            assert effect.on in K.unknowns, (cause.id, effect)
            low, high = {
                "blower": slower,
                "motor": slower,
                "capacitor": slower,
                "setting": slower,
                "limit": (-150, -5),
                "recirculation": (0.02, 0.5),
                "hot-spot": (1.02, 1.6),
                "manifold": more_or_less,
                "orifice": more_or_less,
                "derate": more_or_less,
                "delay": (1.2, 10),
            }.get(effect.on, (1.03, 40))
            assert low <= effect.least <= high and low <= effect.most <= high, (cause.id, effect)
            # `most` is the gross end: further from a sound part (a factor of 1, a share or a shift of 0) than `least`.
            sound = 0 if effect.on in ("limit", "recirculation") else 1
            assert abs(effect.most - sound) > abs(effect.least - sound), (cause.id, effect)
            assert (effect.most - sound) * (effect.least - sound) > 0, (cause.id, effect)


def test_a_slow_blower_lowers_static():
    """A noisy-OR can only raise a finding; what lowers one must be said."""
    for cause in ("capacitor-weak", "wheel-dirty", "motor-failing", "wheel-loose", "ecm-fault", "speed-low"):
        assert K.causes[cause].pushes_down["static-high"] < 1


@pytest.mark.parametrize("word", SHORT_FORMS)
def test_short_forms_of_findings_are_understood(word):
    assert K.resolve(word) in K.findings


@pytest.mark.parametrize("word", [w.strip() for w in READINGS.split(";")])
def test_readings_an_author_needs_exist(word):
    assert K.resolve(word) in K.readings


def test_readings_are_of_known_kinds_and_taps_in_the_order_of_the_air():
    assert {r.kind for r in K.readings.values()} <= set(qty.KINDS)
    taps = {r.tap: r.id for r in K.readings.values() if r.tap}
    assert [taps[n] for n in sorted(taps)] == [
        "tap-behind-grille",
        "tap-before-filter",
        "tap-after-filter",
        "blower-box",
        "tap-before-coil",
        "tap-after-coil",
        "end-of-trunk",
        "behind-register",
    ]
    assert all(K.readings[r].kind == "probe temperature" for r in ("supply-air", "return-air", "supply-air-at-trip"))


def test_struck_readings_know_their_rules():
    assert "coil-iced" in K.readings["tap-before-coil"].voided_by
    assert "infrared-on-bare-metal" in K.readings["infrared-on-plenum"].voided_by
    for void in K.voids.values():
        assert void.states and void.why and void.when, void.id


def test_belief_words_stand_in_order():
    limits = [K.constants[c].value for c in ("ruled-out-below", "unlikely-below", "likely-from", "settled-from")]
    assert limits == sorted(limits) == [0.01, 0.10, 0.50, 0.90]
    assert 0.5 <= K.constants["undetermined-below"].value < 0.9


def test_clean_parts_make_a_usual_external_static():
    """A well-made system stays near 0.50 in. w.c., the usual rating.  Common practice, no source."""
    outside = sum(p.clean_drop for p in K.parts.values() if not p.inside)
    assert 0.35 <= outside <= 0.60
    assert all(p.clean_drop < p.look_closer for p in K.parts.values())


def test_damage_runs_one_way():
    does = {}
    for edge in K.damage:
        does.setdefault(edge.cause, set()).add(edge.does)

    def reach(cause, seen=()):
        assert cause not in seen, f"{cause} would damage itself"
        for other in does.get(cause, ()):
            reach(other, (*seen, cause))

    for cause in does:
        reach(cause)


def test_what_facts_of_the_equipment_rule_out():
    ruled = {(c.fact, c.value): {k for k, v in c.factors.items() if v == 0} for c in K.context}
    assert "coil-plugged" in ruled["coil", "none"]
    assert "ecm-fault" in ruled["motor", "split capacitor"] and "capacitor-weak" in ruled["motor", "constant airflow"]
    assert "secondary-matted" in ruled["condensing", False] and "zone-fault" in ruled["zoned", False]


# ------------------------------------------------------------------------------------------------------------- safety


@pytest.mark.parametrize(
    ("finding", "stop"),
    [
        ("crack-seen", "breach"),
        ("flame-moves-when-blower-starts", "breach"),
        ("gas-smell", "gas"),
        ("co-flue-very-high", "co-in-flue"),
        ("scorch-at-burner", "roll-out"),
        ("rollout-switch-open", "roll-out"),
        ("safety-bypassed", "bypass"),
        ("spillage-seen", "spillage"),
        ("people-ill", "co-indoors-high"),
        ("water-on-electrics", "wet-electrics"),
        ("limit-not-as-listed", "unlisted-part"),
        ("live-parts-exposed", "shock"),
        ("limit-stays-closed-hot", "limit-does-not-protect"),
        ("co-in-rooms", "co-indoors"),
    ],
)
def test_findings_that_stop_a_furnace(finding, stop):
    assert K.findings[finding].stop == stop
    assert finding in {c.finding for c in K.stops[stop].any_of}


def test_every_stop_can_fire_and_takes_out_of_service():
    for stop in K.stops.values():
        assert stop.any_of and stop.do and stop.notice and stop.out_of_service, stop.id
        for condition in stop.any_of:
            assert bool(condition.finding) != bool(condition.reading)
            assert condition.finding or condition.above or condition.below


def test_co_levels_are_those_of_alarms_and_air_standards():
    """70 ppm: first response level of UL 2034; 9 and 35 ppm: EPA NAAQS over 8 h and 1 h.  Second-hand, see sources."""

    def levels(stop):
        return {c.above for c in K.stops[stop].any_of if c.reading}

    ladder = K.cautions["carbon-monoxide"].ladder
    assert [levels(id_) for id_ in ladder] == [{"9 ppm"}, {"35 ppm"}, {"70 ppm"}]
    assert all(K.stops[id_].level and K.stops[id_].technician for id_ in ladder)
    assert [set(K.stops[id_].covers) for id_ in ladder] == [set(ladder[:n]) for n in range(3)]
    assert all(c.minus == "co-outdoors" for c in K.stops["co-indoors"].any_of if c.reading)


def test_a_breach_is_believed_to_stop_and_never_called_sound():
    assert K.causes["hx-breach"].stop == "breach" and "out-of-service" in K.causes["hx-breach"].remedies
    proof = next(p for p in K.proofs if p.part == "heat-exchanger")
    assert proof.clears == () and "never 'good'" in proof.how


BRIDGES = re.compile(r"\b(bypass|jump(er)?\b|bridg|short(ed)? out|defeat|tape[sd]?\b|tie[sd]?\b)", re.IGNORECASE)
FORBIDS = re.compile(
    r"\b(no|never|not|stop|stops|close|found|restore|slips|feeds|fail|smoke|jump duct|trace|removed)"
    r"\b",
    re.IGNORECASE,
)


def said():
    """Every text that tells somebody to do something."""
    for cause in K.causes.values():
        yield from (cause.mechanism, cause.told_apart_by)
    yield from (f.how for f in K.findings.values())
    yield from (f"{t.name}. {t.how}" for t in K.tests.values())
    yield from (r.text for r in K.remedies.values())
    yield from (v.text for v in K.verification.values())
    yield from (p.how for p in K.proofs)
    for stop in K.stops.values():
        yield from (stop.do, stop.notice, stop.when)
    yield from (c.text for c in K.cautions.values())


def test_nothing_advises_to_put_a_safety_out_of_action():
    for text in said():
        for sentence in re.split(r"(?<=[.!?;])\s+", text):
            if BRIDGES.search(sentence):
                assert FORBIDS.search(sentence) or "what was already" in sentence, sentence


@pytest.mark.parametrize(
    "text", ["Bridge the limit and watch.", "Jumper the switch for the test.", "Tape the door switch."]
)
def test_the_search_for_such_advice_finds_it(text):
    assert BRIDGES.search(text) and not FORBIDS.search(text)


def test_usual_cautions_are_complete():
    assert {
        "general",
        "bypassing",
        "carbon-monoxide",
        "gas",
        "electric",
        "hot-and-moving",
        "breach",
        "roll-out-and-spillage",
        "short-test-opened-air-path",
        "cold-house",
        "who-decides",
    } <= set(K.cautions)
    for caution in K.cautions.values():
        assert caution.triggers or caution.states or caution.id == "general", caution.id


def test_a_pressure_switch_is_never_replaced_by_a_weaker_one():
    assert "never a lower one" in K.remedies["pressure-switch"].text


def test_high_risk_and_refrigerant_work_is_licensed():
    for test in K.tests.values():
        if test.risk == "high" or test.id in ("refrigerant-check", "pull-orifice", "gas-leak-search"):
            assert test.licensed, test.id


def names_in_the_code() -> Iterator[str]:
    """Every text in the package's code that may be a name, as a pattern: "risk-minutes-{risk}" with its gap open."""
    for path in Path(causebook.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            parts = node.values if isinstance(node, ast.JoinedStr) else [node]
            told = [part.value if isinstance(part, ast.Constant) else None for part in parts]
            if isinstance(told[0], str) and re.fullmatch("[a-z][a-z0-9-]*-[a-z0-9-]*", told[0]):
                yield "".join("[a-z]+" if text is None else re.escape(str(text)) for text in told)


def test_every_constant_is_read_by_some_code():
    read = re.compile("|".join(set(names_in_the_code())))
    assert [name for name in K.constants if not read.fullmatch(name)] == []
