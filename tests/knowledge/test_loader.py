"""Reading the data, a company's folder over it, and what is told about mistakes in one."""

import jsonschema
import pytest
import yaml

from causebook.casefile.read import read_case
from causebook.knowledge import KnowledgeError, json_schema, load
from causebook.knowledge.loader import DATA
from causebook.knowledge.model import slug
from causebook.workup import work_up
from make_library import DEMO


@pytest.fixture
def company(tmp_path):
    def write(text, name="causes.yml"):
        (tmp_path / name).write_text(text, encoding="utf-8")
        return tmp_path

    return write


def problems(folder):
    with pytest.raises(KnowledgeError) as error:
        load(folder)
    return error.value.problems


def test_every_file_of_ours_fits_the_schema():
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    for path in DATA.glob("*.yml"):
        # YAML 1.1 takes the key `on` for a truth; editors, like ours, read YAML 1.2.
        text = path.read_text(encoding="utf-8").replace("{on: ", '{"on": ')
        assert not [e.message for e in validator.iter_errors(yaml.safe_load(text))], path.name


@pytest.mark.parametrize(
    "text",
    [
        "causes: {new: {nmae: typing}}",
        "findings: {x: {leak: 1.2}}",
        "colors: {}",
        "tests: {t: {risk: deadly}}",
        "causes: {new: {basis: guess}}",
        "pairs: {a: b}",
    ],
)
def test_the_schema_refuses(text):
    assert list(jsonschema.Draft202012Validator(json_schema()).iter_errors(yaml.safe_load(text)))


def test_loaded_once_and_always_the_same():
    assert load() is load()
    assert len(load().version) == 16


def test_a_company_adds_a_cause(company):
    folder = company("""
defaults: {basis: expert estimate}
causes:
  mouse nest:
    name: Mouse nest in the blower box
    part: blower_wheel
    side: blower
    mechanism: The nest fills the inlet of the wheel.
    priors: {high_limit: 0.01}
    links: {f_wheel_dirty: 0.4, wheel loose: 0.1}
    remedies: [clean-wheel]
""")
    known = load(folder)
    cause = known.causes["mouse-nest"]
    assert cause.part == "blower-wheel" and cause.priors == {"high-limit": 0.01}
    assert cause.links == {"wheel-dirty": 0.4, "wheel-loose": 0.1}
    assert "mouse-nest" not in load().causes and known.version != load().version
    assert len(known.causes) == len(load().causes) + 1


def test_a_company_changes_one_number_and_keeps_the_rest(company):
    known = load(company("causes: {limit-weak: {priors: {high-limit: 0.04}, links: {happens-intermittently: ~}}}"))
    ours, theirs = load().causes["limit-weak"], known.causes["limit-weak"]
    assert theirs.priors["high-limit"] == 0.04
    assert theirs.links == {f: p for f, p in ours.links.items() if f != "happens-intermittently"}
    assert (theirs.name, theirs.effects, theirs.basis) == (ours.name, ours.effects, ours.basis)


def test_a_company_replaces_a_pair_whichever_way_round(company):
    known = load(company("pairs: [{first: wheel-dirty, second: coil-plugged, factor: 9, basis: expert estimate}]"))
    pairs = [p for p in known.pairs if {p.first, p.second} == {"wheel-dirty", "coil-plugged"}]
    assert [p.factor for p in pairs] == [9] and len(known.pairs) == len(load().pairs)


def test_a_company_takes_an_entry_away(company):
    assert "listen" not in load(company("tests: {listen: ~}")).tests


def test_a_company_s_finding_joins_the_stop_it_names(company):
    known = load(
        company(
            """
findings:
  flue-pipe-apart:
    {name: The flue pipe has come apart, leak: 0.003, stop: spillage, basis: plate, leak_basis: expert estimate}
tests:
  follow-the-flue: {name: Follow the flue pipe, minutes: 4, risk: low, reveals: [flue-pipe-apart], basis: plate}
""",
            "findings.yml",
        )
    )
    assert "flue-pipe-apart" in {c.finding for c in known.stops["spillage"].any_of}


def test_a_company_may_be_stricter_about_a_stop(company):
    ours = load().stops["gas"].any_of
    readings = [c.model_dump(exclude_defaults=True) for c in ours if c.reading]
    stricter = [*readings, {"reading": "gas-detector", "above": "5 %"}]
    known = load(company(yaml.safe_dump({"stops": {"gas": {"any_of": stricter}}})))
    assert len(known.stops["gas"].any_of) == len(ours) + 1


def test_an_accuracy_may_be_stated_outright(company):
    known = load(company("readings: {manifold: {accuracy: {fixed: 0.1 inH2O, basis: expert estimate}}}"))
    assert known.readings["manifold"].accuracy.fixed == "0.1 inH2O"


def test_editing_the_company_s_file_is_noticed(company):
    first = load(company("remedies: {motor: {text: A motor}}"))
    second = load(company("remedies: {motor: {text: Another motor}}"))
    assert (first.remedies["motor"].text, second.remedies["motor"].text) == ("A motor", "Another motor")


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("causes:\n  limit-weak:\n    links: {rise-hihg: 0.5}", 3, "'rise-high'"),
        ("causes:\n  limit-weak:\n    remedies: [limit,\n      limitt]", 4, "'limit'"),
        ("causes:\n  limit-weak:\n    part: limmit", 3, "'limit'"),
        ("causes:\n  limit-weak:\n    priors: {high-limits: 0.1}", 3, "'high-limit'"),
        ("causes:\n  limit-weak:\n    mechanims: Drift", 3, "'mechanism'"),
        ("causes:\n  limit-weak:\n    links:\n      rise-high: 1.5", 4, "less than or equal to 1"),
        ("causes:\n  limit-weak:\n    stop: breech", 3, "'breach'"),
        ("causes:\n  limit-weak:\n    effects:\n      - {on: limits, least: 1, most: 2, basis: plate}", 4, "'limit'"),
        ("causes:\n  limit-weak:\n    basis: hearsay", 3, "expert estimate"),
        ("findings:\n  rise-high:\n    basis: 'standard: ansi-z21-74'", 3, "'ansi-z21-47'"),
        ("tests:\n  listen:\n    reveals: [whistel-at-filter]", 3, "'whistle-at-filter'"),
        ("readings:\n  stack:\n    kind: temprature", 3, "'temperature'"),
        ("readings:\n  stack:\n    accuracy: thermocuple", 3, "'thermocouple'"),
        ("readings:\n  manifold:\n    accuracy: {fixed: 3 degF, basis: plate}", 3, "gas pressure"),
        ("stops:\n  gas:\n    any_of: [{reading: gas-detector, above: 10 V}]", 3, "share"),
        ("constants:\n  flame-current-least:\n    unit: parts", 3, "unit"),
        ("verification:\n  room-served:\n    reading: romm-temperature", 3, "'room-temperature'"),
        ("cautions:\n  gas:\n    triggers: [gas-smel]", 3, "'gas-smell'"),
        ("findings:\n  rise-high:\n    aliases: [rise-low]", 3, "already means"),
        ("causs:\n  limit-weak: {}", 1, "'causes'"),
        ("causes:\n  - limit-weak", 1, "mapping of ids"),
        ("pairs:\n  limit-weak: 2", 1, "a list"),
        ("causes:\n  limit-weak:\n    name: One\n    name: Two", 4, "written twice"),
        ("causes:\n  limit-weak: &one {name: One}\n  limit-wrong: *one", 2, "alias"),
        ("causes:\n  limit-weak: {name: [}", 2, "YAML"),
        ("proofs:\n  - {part: limit, finding: rise-high, how: By looking}", 2, "where its numbers come from"),
        ("causes:\n  limit-weak:\n    priors: {high-limit: 1}", 3, "less than 1"),
        ("causes:\n  limit-weak:\n    priors: {high-limit: -0.1}", 3, "greater than or equal to 0"),
        ("causes:\n  limit-weak:\n    links: {rise-high: -0.5}", 3, "greater than or equal to 0"),
        (
            "causes:\n  filter-loaded:\n    effects:\n      - {on: filter, least: 0, most: 1, basis: plate}",
            4,
            "above 0",
        ),
        ("causes:\n  limit-weak:\n    effects: [{on: limit, least: .nan, most: 9, basis: plate}]", 3, "finite"),
        (
            "causes:\n  return-leak:\n    effects:\n      - {on: recirculation, least: 0.1, most: 1.8, basis: plate}",
            4,
            "below 1",
        ),
        ("causes:\n  limit-weak: {often: [root]}\nfindings:\n  rise-high:\n    leak: 1", 5, "less than 1"),
        ("findings:\n  rise-high:\n    minutes: -2", 3, "greater than or equal to 0"),
        ("constants:\n  flame-current-least:\n    spread: -1", 3, "greater than or equal to 0"),
        ("constants:\n  flame-current-least:\n    unit: inwc", 3, "'uA', as built in"),
        ("constants:\n  flame-current-least: ~", 2, "taken away"),
        ("stops:\n  spillage: ~", 2, "taken away"),
        (
            "stops:\n  co-indoors:\n    any_of: [{reading: co-indoors, minus: co-outdoors, above: 90 ppm}]",
            3,
            "all that is built in",
        ),
        ("stops:\n  gas:\n    forbids: []", 3, "all that is built in"),
        ("stops:\n  breach:\n    allows: [short-firing]", 3, "none but those"),
        ("stops:\n  breach: {no_repair: no}", 2, "True, as built in"),
        ("findings:\n  crack-seen: {stop: ~}", 2, "'breach', as built in"),
        ("parts:\n  coil:\n    clean_drop: 0", 3, "greater than 0"),
        ("readings:\n  manifold:\n    kind: air pressure", 3, "'gas pressure'"),
        ("findings:\n  rise-high:\n    computed: nix", 3, "a rule that one of the built-in findings names"),
        ("findings:\n  rise-high:\n    computed: oversise", 3, "did you mean 'oversize'"),
        ("findings:\n  manifold-above-plate:\n    when: ~", 3, "taken away"),
        ("findings:\n  coil-drop-high:\n    when: {above: 3 degF}", 3, "air pressure"),
        ("findings:\n  coil-drop-high:\n    when: {read: drop-of-coyl}", 3, "did you mean 'drop-of-coil'"),
    ],
)
def test_a_mistake_is_told_with_its_line(company, text, line, says):
    folder = company(text)
    told = problems(folder)
    assert [(p.path, p.line) for p in told] == [(folder / "causes.yml", line)]
    assert says in str(told[0]), str(told[0])


def test_a_rule_taken_away_is_told(company):
    told = problems(company("findings:\n  motor-amps-low: {computed: ~}"))
    assert any(p.field == "findings.motor-amps-low.computed" and "taken away" in str(p) for p in told)


def test_all_mistakes_are_told_together(company):
    company("causes:\n  limit-weak:\n    part: limmit\n    stop: breech")
    folder = company("tests:\n  listen:\n    risk: some", "tests.yml")
    told = [(p.path.name, p.line) for p in problems(folder)]
    assert told == [("causes.yml", 3), ("causes.yml", 4), ("tests.yml", 3)]


def test_a_change_to_one_of_ours_is_told_in_the_company_s_file(company):
    """The rest of the entry stands in our file; the mistake is where it was made."""
    folder = company("findings:\n  rise-high:\n    leak: often")
    assert [(p.path, p.line) for p in problems(folder)] == [(folder / "causes.yml", 3)]


def test_what_is_missing_from_a_new_entry_is_told(company):
    told = problems(company("causes:\n  mouse-nest:\n    name: Nest\n    basis: expert estimate"))
    assert {p.field for p in told} == {f"causes.mouse-nest.{f}" for f in ("part", "side", "mechanism")}
    assert {p.line for p in told} == {2}


@pytest.mark.parametrize("name", ["own.yaml", "own.YML", "more/own.yml"])
def test_a_file_that_is_not_read_is_told(company, tmp_path, name):
    (tmp_path / "more").mkdir()
    assert load(tmp_path).version == load().version
    (told,) = problems(company("causes: {}", name))
    assert told.path == tmp_path / name and "ends in .yml" in str(told)


@pytest.mark.filterwarnings("error::RuntimeWarning")
def test_chances_at_their_bounds_are_worked_with(company):
    """What the bounds let in, the core can compute."""
    known = load(
        company("""
causes:
  return-undersized: {priors: {high-limit: 0}, links: {return-area-low: 1, limit-opened-while-watched: 1}}
  filter-loaded: {priors: {high-limit: 0.999}, links: {filter-dirty: 1, rise-high: 0}, pushes_down: {rise-low: 0}}
findings: {filter-dirty: {leak: 0}, return-area-low: {leak: 0.999, minutes: 0}}
""")
    )
    case, _ = read_case(DEMO / "narrow-return", known)
    causes = {c.id: c.probability for c in work_up(case, known).verdict.causes}
    assert "return-undersized" not in causes and all(0 <= p <= 1 for p in causes.values())


def test_a_folder_that_is_not_there_is_told(tmp_path):
    assert "no such folder" in str(problems(tmp_path / "company")[0])


@pytest.mark.parametrize(
    "word", ["Tap before filter", "tap_before_filter", " tap-before  filter ", "TAP BEFORE FILTER"]
)
def test_one_form_of_an_id(word):
    assert slug(word) == "tap-before-filter"
    assert load().resolve(word) == "tap-before-filter"


def test_names_that_are_not_known_stay_as_they_are():
    assert load().resolve("Some new thing") == "some-new-thing"


def test_no_alias_hides_an_id():
    known = load()
    for alias, id_ in known.aliases.items():
        for section in (known.readings, known.findings, known.causes):
            assert alias not in section or alias == id_
