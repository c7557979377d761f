"""The worked case's page: what stands where, what appears only with data, and what never appears."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
import sample
import yaml
from test_photos import photographed
from worked import Outline, closed, demo, html, with_file, with_step, worked

from causebook.belief.after_repair import AfterRepair
from causebook.belief.verdict import Role, Spoke
from causebook.casefile.model import CaseOption, Conclusion, Job, Mark, Opening, Outcome, Photo, Teach
from causebook.quantity import q
from causebook.survey.model import FindingState, State
from causebook.workup import StepCaution, Workup
from causebook.writeup.answer import answer
from causebook.writeup.charts.model import Chart, Missing
from causebook.writeup.customer import status
from causebook.writeup.page import Beside, case_page, proof_page
from causebook.writeup.photos import publish
from causebook.writeup.sections import PROOF, STORY
from causebook.writeup.steps import step_views
from causebook.writeup.workit import work_page

ALL = [sample.workup, sample.stopped, sample.sparse, sample.off_the_fan_line, sample.without_tap_before_coil]


def headings(markdown: str) -> list[tuple[int, str]]:
    """Level and text of every heading in Markdown."""
    return [(len(marks), text) for marks, text in re.findall(r"^(#+) (.*)$", markdown, re.MULTILINE)]


def without_options(base: Workup) -> Workup:
    """Nothing sized, and nothing offered on the job."""
    visits = tuple(v.model_copy(update={"options": ()}) for v in base.case.file.visits)
    return with_file(replace(base, options=(), return_size=None), visits=visits)


def sections(workup: Workup) -> dict[str, str]:
    """Heading of each second-level section -> its text."""
    pages = (case_page(workup).markdown, proof_page(workup).markdown)
    found: dict[str, str] = {}
    for markdown in pages:
        _, *parts = re.split(r"^## (.*)\n", markdown.replace("\u00a0", " "), flags=re.MULTILINE)
        found |= dict(zip(parts[::2], parts[1::2], strict=True))
    return found


def first(workup: Workup) -> str:
    """The first screen, as it is read."""
    markdown = case_page(workup).markdown.replace("\u00a0", " ")
    screen = re.search(r'<div class="cb-first" markdown>(.*?)</div>\n\n## ', markdown, re.DOTALL)
    assert screen is not None
    return re.sub(r"<[^>]+>", "", screen[1])


# ---------------------------------------------------------------- the document


def test_front_matter_says_what_the_page_is() -> None:
    page = case_page(worked())
    front, _, body = page.text.removeprefix("---\n").partition("---\n")
    meta = yaml.safe_load(front)
    assert meta["title"] == sample.FILE["title"]
    assert meta["causebook"] == {
        "page": "case",
        "case": "two-faults-one-return",
        "outcome": "settled and corrected",
        "family": "high-limit",
        "date": "2024-02-13",
        "stop": False,
    }
    assert "Undersized return" in meta["description"]
    assert body.strip() == page.markdown.strip()


@pytest.mark.parametrize("made", ALL)
def test_one_first_heading_and_no_level_skipped(made) -> None:
    levels = [level for level, _ in headings(case_page(worked(made())).markdown)]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


@pytest.mark.parametrize("made", ALL)
def test_markdown_leaves_the_html_whole(made) -> None:
    page = case_page(worked(made()))
    seen = Outline(html(page.markdown))
    assert seen.unpaired == [] and seen.open == []
    in_blocks = [tag for tag, _ in Outline(page.markdown).tags]
    assert [tag for tag, _ in seen.tags if tag in ("table", "details", "div", "tr")] == [
        tag for tag in in_blocks if tag in ("table", "details", "div", "tr")
    ]
    assert not re.search(r"&lt;(div|table|p|span|dl)", html(page.markdown))


@pytest.mark.parametrize("made", ALL)
def test_no_inline_style_script_or_handler(made) -> None:
    seen = Outline(html(case_page(worked(made())).markdown))
    assert not {"script", "style", "iframe"} & {tag for tag, _ in seen.tags}
    names = {name for _, attributes in seen.tags for name in attributes}
    assert "style" not in names and not [n for n in names if n.startswith("on")]


# ---------------------------------------------------------------- case text

HOSTILE = '<script>alert(1)</script> [x](javascript:alert(1)) {{ 7*7 }}\n\n```\n--8<-- "secret"'


def test_case_text_is_harmless_everywhere_it_may_stand() -> None:
    base = worked()
    first = base.case.steps[0].step
    for field in type(first).model_fields:
        if isinstance(getattr(first, field), str) and field not in ("after", "mode", "state", "void"):
            base = with_step(base, 1, **{field: HOSTILE})
    file = base.case.file
    base = with_file(
        base,
        title=HOSTILE,
        company=HOSTILE,
        customer=HOSTILE,
        complaint=file.complaint.model_copy(update={"words": HOSTILE}),
        teach=Teach(questions=({"ask": HOSTILE, "answer": HOSTILE},), mistakes=(HOSTILE,)),
        visits=tuple(
            v.model_copy(
                update={
                    "open": (HOSTILE,),
                    "concluded": Conclusion(
                        root={"return-undersized": HOSTILE}, also_found=(HOSTILE,), stop=HOSTILE, stop_closed=HOSTILE
                    ),
                }
            )
            for v in file.visits
        ),
    )
    page = case_page(base)
    made = html(page.markdown)
    seen = Outline(made)
    assert "script" not in {tag for tag, _ in seen.tags}
    assert not [a for a in seen.named("a") if "javascript" in a.get("href", "")]
    assert seen.unpaired == [] and seen.open == []
    assert "".join(t for _, t in seen.texts).count("<script>alert(1)</script>") >= 10
    assert "{{" not in page.markdown and "```" not in page.markdown and "--8<--" not in page.markdown


# ---------------------------------------------------------------- order and presence


@pytest.mark.parametrize(
    ("heading", "without"),
    [
        ("The limit: hot, or weak?", lambda w: replace(w, survey=replace(w.survey, limit=None))),
        (
            "The limit: hot, or weak?",
            lambda w: replace(w, survey=replace(w.survey, limit=replace(w.survey.limit, verdict="", switch=""))),
        ),
        ("After the repair", lambda w: replace(w, after=())),
        ("Fixes considered", without_options),
        ("Expected and read", lambda w: replace(w, verdict=replace(w.verdict, expected=()))),
        ("More tests", lambda w: replace(w, verdict=replace(w.verdict, next_tests=(), would_settle=()))),
        ("Proven good", lambda w: replace(w, verdict=replace(w.verdict, proven_good=()))),
        (
            "Still open",
            lambda w: with_file(
                w, follow_up=(), visits=tuple(v.model_copy(update={"open": ()}) for v in w.case.file.visits)
            ),
        ),
        ("Numbers behind it", lambda w: replace(w, survey=replace(w.survey, works=(), sets=()))),
    ],
)
def test_a_section_appears_only_with_data(heading: str, without) -> None:
    assert heading in sections(worked())
    assert heading not in sections(without(worked()))


def test_a_chance_that_nothing_tells_is_not_printed() -> None:
    base, heading = worked(), "The limit: hot, or weak?"
    assert "Chance that it really was too hot" in sections(base)[heading]
    limit = replace(base.survey.limit, overheating=None)
    assert "Chance" not in sections(replace(base, survey=replace(base.survey, limit=limit)))[heading]


def test_what_was_not_looked_for_is_listed_apart_and_never_as_absent() -> None:
    base = worked()
    assert "Not checked" not in sections(base)
    finding = FindingState("crack-seen", "Crack seen", State.NOT_LOOKED_FOR, 0.0, 0)
    shown = sections(replace(base, survey=replace(base.survey, findings=(*base.survey.findings, finding))))
    assert "Crack seen" in shown["Not checked"]
    assert "Crack seen" not in shown["What each step did"]


# ---------------------------------------------------------------- safety


def test_every_page_defers_to_plate_code_and_license() -> None:
    for made in ALL:
        end = case_page(worked(made())).markdown.rstrip().splitlines()[-1]
        assert "plate" in end and "local code" in end and "license" in end


# ---------------------------------------------------------------- the answer


def test_what_was_written_of_the_house_and_the_plate_stands_at_the_door() -> None:
    base = worked()
    file = base.case.file
    furnace = file.furnace.model_copy(
        update={
            "adjusted_input": q(60000, "btu_it/hour"),
            "derate_rule": "4 % above <2000 ft>",
            "blower_on_delay": q(30, "s"),
            "blower_off_delay": q(90, "s"),
        }
    )
    blower = file.blower.model_copy(update={"airflow_setting": q(1100, "cfm")})
    duct = Opening(what="attic run", size="7 in round", note="one sharp dip")
    text = sections(
        with_file(
            base,
            furnace=furnace,
            blower=blower,
            supply=(duct,),
            site=file.site.model_copy(update={"place": "Pennock Mill"}),
        )
    )["Furnace and house"]
    for name, said in (
        ("Adjusted input", "60,000 Btu/h"),
        ("Adjusted input", "; 4 % above &lt;2000 ft&gt;"),
        ("Blower starts after", "30 s"),
        ("Blower stops after", "90 s"),
        ("Told to hold", "1,100 cfm"),
        ("Supply", "attic run 7 in round (one sharp dip)"),
        ("Place", "Pennock Mill"),
    ):
        assert said in re.search(f"<dt>{name}</dt><dd>(.*?)</dd>", text)[1], name


def test_the_reason_why_a_rule_does_not_hold_is_told() -> None:
    text = sections(with_file(worked(), answered={"taps-differ": "Drilled only at the *repair*."}))["Still open"]
    assert "taps that were read as found. <strong>Here:</strong> Drilled only at the <em>repair</em>." in text


def test_a_first_answer_that_was_wrong_is_kept() -> None:
    base = worked()
    visits = base.case.file.visits
    first = visits[0].model_copy(update={"concluded": Conclusion(root={"limit-weak": "the message named it"})})
    last = visits[1].model_copy(update={"concluded": Conclusion(root={"return-undersized": "not tested"})})
    base = with_step(with_file(base, visits=(first, last)), 3, flaw="the run was shorter than the time to trip")
    shown = sections(base)["The first answer, and what it missed"]
    assert "Limit opens too low" in shown and "the message named it" in shown
    assert "the run was shorter than the time to trip" in shown


def test_a_repair_visit_that_ends_a_stop_keeps_the_first_answer_and_calls_it_no_other() -> None:
    base = worked()
    first, last = base.case.file.visits
    own = first.concluded.model_copy(update={"also_found": ("Dryer vent off",)})
    visits = (
        first.model_copy(update={"concluded": own}),
        last.model_copy(update={"concluded": Conclusion(stop_closed="put back")}),
    )
    shown = sections(with_file(base, visits=visits))
    assert "The first answer, and what it missed" not in shown
    assert any("Dryer vent off" in text for text in shown.values())


# ---------------------------------------------------------------- the steps


def steps_of(workup: Workup) -> dict[int, str]:
    _, *parts = re.split(r"^### Step (\d+)", sections(workup)["Step by step"], flags=re.MULTILINE)
    return {int(n): text for n, text in zip(parts[::2], parts[1::2], strict=True)}


def test_a_void_reading_is_struck_with_its_reason_and_used_nowhere() -> None:
    base = worked()
    step = steps_of(base)[2]
    assert re.search(r"<s>plenum infrared</s>.*<s>.*96\.0 °F.*</s> Does not count: bare galvanized", step, re.DOTALL)
    rest = "".join(text for heading, text in sections(base).items() if heading != "Step by step")
    assert "plenum infrared" not in rest and "96.0 °F" not in rest


# ---------------------------------------------------------------- for and against, roles, options


def test_for_and_against_can_be_added_up() -> None:
    text = sections(worked())["What each step did"]
    assert text.index("Undersized return</th>") < text.index("Coil plugged</th>")
    assert "strongly for (+13.5)" in text and "no view" in text
    assert 'aria-hidden="true">▮▮▮</span> strongly for' in text
    assert re.findall(r"\d+ %|under 1 %", text[text.index("<tfoot>") : text.index("</tfoot>")]) == [
        "99 %",
        "94 %",
        "under 1 %",
    ]


def test_expected_against_read_by_suspect() -> None:
    text = sections(worked())["Expected and read"]
    assert "<strong>Undersized return</strong> alone explains every reading taken." in text
    assert "<strong>Coil plugged</strong> alone leaves tap before filter unexplained." in text
    assert text.count("<table") == 1
    row = re.search(r'<th scope="row">Tap before filter</th>.*', text)[0]
    read, root, coil = re.findall(r"<td.*?</td>", row)
    assert 'data-label="was read"' in read and "−0.37 in. w.c." in read
    assert "−0.45 to −0.25 in. w.c." in root and "does not fit" not in root
    assert "−0.12 to −0.04 in. w.c." in coil and "does not fit" in coil


def test_roles_in_order_with_the_table_that_decided_them() -> None:
    text = sections(worked())["What it was and what it was not"]
    places = [text.index(f'<td data-label="Role">{role}<') for role in ("cause", "contributing")]
    places.append(text.index("<strong>Not it:</strong>"))
    assert places == sorted(places)
    assert "Fixes both complaint and reading: new return, ordinary clean filter." in text
    assert "cause: Undersized return (rise out of range with no filter at all, in range with the return opened)" in text
    assert "ordinary clean filter, old return" in text and "−3.0 °F" in text
    assert "no CO alarm upstairs" in text


def test_a_reason_that_is_not_known_leaves_its_cell_empty() -> None:
    base = worked()
    first, *rest = base.verdict.causes
    silent = replace(base, verdict=replace(base.verdict, causes=(replace(first, why=""), *rest)))
    assert '<td data-label="Why" class="cb-none"></td>' in sections(silent)["What it was and what it was not"]


def test_options_say_what_stays_out_of_range() -> None:
    text = sections(worked())["Fixes considered"]
    assert "Stops the tripping and leaves the rise at 65 °F, above the plate's 60." in text.replace("&#39;", "'")
    assert "Outside the plate: external static. Never recommended." in text
    assert '<strong class="cb-mark-word">chosen</strong>' in text and "recommended</strong>" not in text
    assert "65.1 ± 2.2 °F" in text and "112 in²" in text and "207 in²" in text


def test_a_cause_that_never_was_a_suspect_stands_apart() -> None:
    base = worked()
    verdict, no_conclusion = (
        base.verdict,
        tuple(v.model_copy(update={"concluded": None}) for v in base.case.file.visits),
    )
    aside = replace(verdict.causes[-1], id="vent-blocked", name="Vent blocked", why="clear to the end")
    base = with_file(replace(base, verdict=replace(verdict, causes=(*verdict.causes, aside))), visits=no_conclusion)
    text = sections(base)["What it was and what it was not"]
    story, _, rest = text.partition("Never likely")
    assert "Coil plugged" in story  # 22 % at step 3
    assert "Vent blocked" not in story and "Vent blocked: clear to the end" in rest
    assert "Limit opens too low" not in story and "Limit opens too low" in rest  # never above 5 %
    assert (
        "Limit opens too low" in sections(worked())["What it was and what it was not"].partition("Never likely")[0]
    )  # ruled out by name on the job


def test_an_option_offered_on_the_job_but_not_sized_is_still_told() -> None:
    base = worked()
    first, last = base.case.file.visits
    offer = CaseOption(name="Leave it as it is", why_not="the limit would go on opening")
    text = sections(with_file(base, visits=(first.model_copy(update={"options": (*first.options, offer)}), last)))
    assert "<strong>Leave it as it is</strong>: the limit would go on opening" in text["Fixes considered"]
    assert "Offered on the job" not in sections(base)["Fixes considered"]


# ---------------------------------------------------------------- charts and photos


def chart(id_: str) -> Chart:
    return Chart(
        id_,
        f"Title of {id_}",
        "Where does it go?",
        f"Sentence of {id_}.",
        "<svg>wide</svg>",
        "<svg>narrow</svg>",
        (("Part", "Drop"), ("filter", "0.33")),
        "Solid is measured.",
    )


def test_photos_with_marks_and_pairs(tmp_path: Path) -> None:
    before = photographed(tmp_path, "a.jpg").model_copy(
        update={"pair": "coil", "drawn": True, "marks": (Mark(at=(0.25, 0.5), note="bowed *3/4 in.*"),)}
    )
    after = photographed(tmp_path, "b.jpg", (1500, 1000)).model_copy(
        update={"pair": "coil", "shows": 'The same, "clean"'}
    )
    base = with_step(with_step(worked(), 2, photo=(before,)), 9, photo=(after,))
    base = replace(base, case=base.case.model_copy(update={"folder": tmp_path}))
    pictures = publish(base.case, tmp_path / "out").pictures
    made = html(case_page(base, pictures=pictures, photo_base="p/").markdown)
    images = list(Outline(made).named("img"))
    assert [i["alt"] for i in images] == ["A filter", "A filter", 'The same, "clean"']
    assert all(i["width"] and i["height"] and i["src"].startswith("p/") for i in images)
    names = {name for p in pictures for name in p.names}
    linked = {link.split()[0] for source in Outline(made).named("source") for link in source["srcset"].split(", ")}
    assert {link.removeprefix("p/") for link in linked | {i["src"] for i in images}} <= names
    assert "Drawn picture: A filter" in made
    assert '<circle cx="250" cy="334" r="34"/>' in made  # 1000 wide, 1000 × 1200 / 1800 high
    assert "<li>bowed <em>3/4\u00a0in.</em></li>" in made
    pair = made[made.index('<div class="cb-pair">') :]
    assert "Before, step 2." in pair and "After, step 9." in pair


def test_a_photo_that_was_refused_leaves_no_hole() -> None:
    assert "<img" not in case_page(worked(), pictures=()).markdown
    assert Photo.model_fields["shows"].is_required()


def test_a_wrong_first_favorite_stands_at_the_step_where_it_led() -> None:
    """Told as it was then, not in hindsight."""
    for id_, step, name in (
        ("painted-bond", 0, "Dirty or broken flame sensor"),
        ("silent-relay", 1, "Weak run capacitor"),
    ):
        assert any(shift.name.startswith(name) for shift in step_views(demo(id_))[step].shifts), id_


def test_suspects_that_never_were_serious_are_not_told_of() -> None:
    shifts = [s for view in step_views(demo("weak-capacitor")) for s in view.shifts]
    assert not any("too big for the ductwork" in s.name or "No 24 volts" in s.name for s in shifts)


def test_a_sign_that_moves_its_cause_down_is_explained() -> None:
    told = [text for view in step_views(demo("painted-bond")) for text in view.despite]
    assert told == [
        "Flame signal is low: 0.4 µA, needs 1.4 µA. That is a sign of dirty or broken flame sensor, but the step as a "
        "whole speaks for bad burner ground, or hot and neutral reversed"
    ]
    told = [text for view in step_views(demo("wrong-orifices")) for text in view.despite]
    assert told and all("but the step as a whole speaks" in t or "expected after the steps before" in t for t in told)


def test_what_the_company_keeps_of_the_job_stands_with_the_call() -> None:
    job = Job.model_validate({"code": "4 flashes", "parts": ["limit"], "time on site": "95 min", "serial": "S1"})
    call = case_page(with_file(worked(), job=job)).markdown.replace("\u00a0", " ")
    assert "<strong>Code on the board:</strong> 4 flashes." in call
    assert "<strong>Parts used:</strong> limit." in call and "<strong>Time on site:</strong> 1 h 35 min." in call
    assert "Time on site" not in case_page(worked()).markdown


def test_only_what_was_read_is_held_against_what_suspects_predicted() -> None:
    page = case_page(demo("silent-relay")).markdown
    assert "explains every reading taken" not in page and "298 to 520" not in page


def test_something_else_carries_the_name_of_its_complaint() -> None:
    names = [c.name for c in demo("short-calls").verdict.causes]
    assert len(set(names)) == len(names)


def test_what_was_learned_later_is_not_known_at_the_door() -> None:
    for id_ in ("bent-flame", "short-calls"):
        assert not any("design heat loss" in text for text in step_views(demo(id_))[0].means), id_


# ---------------------------------------------------------------- the first screen


def test_the_pages_show_their_sections_in_order() -> None:
    for page, order in ((case_page(worked()), STORY), (proof_page(worked()), PROOF)):
        found = [text for level, text in headings(page.markdown) if level == 2]
        names = [heading for heading, _ in order]
        assert found and found == [name for name in names if name in found]


def test_the_first_screen_names_cause_helper_fix_and_readings() -> None:
    text = first(worked())
    for said in (
        "Cause: Undersized return (99 %).",
        "Contributing: Filter too restrictive",
        "Wide filter cabinet and a second return",
        "74.6 → 54.9 °F",
        "695 → 945 cfm",
    ):
        assert said in text, said
    assert "Not the same answer" not in text
    assert re.search(r"Is yours the same\? .* \(\d+ min\)\. Yes if: .* Else", first(demo("narrow-return")))


@pytest.mark.parametrize(
    ("outcome", "short", "said"),
    [
        (Outcome.CORRECTED, "Yes, with this open item:", "External static 0.66 in. w.c., at most 0.50 in. w.c."),
        (Outcome.FIRST_WRONG, "Yes, with this open item:", "External static 0.66 in. w.c."),
        (Outcome.NOT_CORRECTED, "Yes, with this open item:", "not fixed yet"),
        (Outcome.LIKELY, "Cause not proven.", "likely"),
        (Outcome.UNDETERMINED, "Cause not proven.", "Nobody has found the cause"),
        (Outcome.STOPPED, "Do not run.", "It was stopped for safety."),
    ],
)
def test_ok_to_run_has_three_kinds_and_an_open_stop_goes_before_all(outcome: Outcome, short: str, said: str) -> None:
    answered, why = answer(with_file(worked(), outcome=outcome)).may_run
    assert answered == short and said in why
    out, why = answer(with_file(worked(sample.stopped()), outcome=outcome)).may_run
    assert out == "Do not run." and why.startswith("It is out of service")
    if outcome is not Outcome.STOPPED:
        answered, ended = answer(with_file(closed(worked(sample.stopped())), outcome=outcome)).may_run
        assert answered == short and ended.startswith("It was stopped for safety.")
        assert "What ended the notice: Burner put right, test repeated on 20 February." in ended


def test_nothing_beyond_the_plate_is_a_plain_yes_and_a_rise_above_it_a_no() -> None:
    furnace = worked().case.file.furnace
    wide = with_file(worked(), furnace=furnace.model_copy(update={"static_maximum": sample.inwc(0.66)}))
    assert answer(wide).may_run[0] == "Yes."
    low = (furnace.rise[0], q(54.8, "delta_degF"))
    hot = with_file(worked(), furnace=furnace.model_copy(update={"rise": low}))
    assert answer(hot).may_run[0] == "Do not run." and "54.9" in answer(hot).may_run[1]
    just = with_file(worked(), furnace=furnace.model_copy(update={"rise": (low[0], q(54.9, "delta_degF"))}))
    assert answer(just).may_run[0] == "Yes, with this open item:"


@pytest.mark.parametrize("outcome", [Outcome.CORRECTED, Outcome.FIRST_WRONG])
@pytest.mark.parametrize(
    ("repair", "page", "customer"),
    [
        (AfterRepair(True, ()), "External static", "Fixed."),
        (AfterRepair(False, ()), "Nothing read or seen after the repair", "Not fixed yet."),
        (AfterRepair(False, ("The limit opened",)), "it still showed: The limit opened.", "Not fixed yet."),
    ],
)
def test_an_outcome_alone_clears_nothing(outcome: Outcome, repair: AfterRepair, page: str, customer: str) -> None:
    """What the author calls corrected is said so only where readings or looks after the repair bear it out."""
    shown = replace(with_file(worked(), outcome=outcome), repair=repair)
    assert page in " ".join(answer(shown).may_run)
    assert status(shown, answer(shown))[0] == customer


def test_a_replaced_furnace_and_its_successor_are_two_answers() -> None:
    short, why = answer(demo("bent-flame")).may_run
    assert short == "Old furnace: do not run. New furnace: yes."
    assert status(demo("bent-flame"), answer(demo("bent-flame")))[0] == "Fixed."


def test_what_is_still_out_of_use_does_not_run() -> None:
    base = worked()
    first_, last = base.case.file.visits
    out = with_file(base, visits=(first_.model_copy(update={"concluded": Conclusion(stop="Burner off")}), last))
    back = with_file(
        base,
        visits=(
            first_.model_copy(update={"concluded": Conclusion(stop="Burner off")}),
            last.model_copy(update={"concluded": Conclusion(stop_closed="proven and put back")}),
        ),
    )
    assert "nothing here says how that ended" in answer(out).may_run[1]
    assert answer(back).may_run[0] != "Do not run."
    assert "Burner off." in sections(out)["Still open"]


def test_another_conclusion_than_the_readings_is_not_hidden() -> None:
    base = worked()
    visits = base.case.file.visits
    said = Conclusion(root={"limit-weak": "the message named it"})
    text = first(with_file(base, visits=(visits[0].model_copy(update={"concluded": said}), visits[1])))
    assert "Not the same answer" in text and "The job was closed as:" in text


def test_a_root_that_did_the_damage_the_readings_point_to_is_no_other_answer() -> None:
    """Along a known edge only, and never backward: a crack does not make a furnace too big for its ducts."""
    base = demo("bent-flame")

    def told(found: str, said: str) -> str:
        root = replace(next(c for c in base.verdict.causes if c.id == found), role=Role.ROOT)
        others = tuple(replace(c, role=Role.ALSO_FOUND) for c in base.verdict.causes if c.id != found)
        verdict = replace(base.verdict, answered=True, causes=(root, *others))
        visits = base.case.file.visits
        closed_as = Conclusion(root={said: "said on the job"})
        changed = with_file(base, visits=tuple(v.model_copy(update={"concluded": closed_as}) for v in visits))
        return first(replace(changed, verdict=verdict))

    assert "What did the damage:" in told("hx-breach", "furnace-too-big-for-ducts")
    assert "Not the same answer" not in told("hx-breach", "furnace-too-big-for-ducts")
    assert "Not the same answer" in told("furnace-too-big-for-ducts", "hx-breach")
    assert "Not the same answer" in told("hx-breach", "filter-loaded")
    same = told("hx-breach", "hx-breach")
    assert "What did the damage:" not in same and "Not the same answer" not in same


def test_without_a_proven_cause_the_first_screen_says_so_and_the_story_what_to_check() -> None:
    base = with_file(worked(sample.sparse()), outcome=Outcome.UNDETERMINED)
    assert "Not proven yet:" in first(base)
    assert "static at the taps" in sections(base)["Check this next"].lower()
    assert "Check this next" not in sections(worked())


def test_a_stop_that_fired_is_one_line_first_and_nobody_is_sent_to_fire_the_burner() -> None:
    text = first(worked(sample.stopped()))
    assert text.strip().startswith("Do not run: Heat exchanger suspected open.")
    assert "Do not fire it to find out." in text
    markdown = case_page(worked(sample.stopped())).markdown
    assert "Out of service: Heat exchanger suspected open" in markdown
    inside = [within for within, text in Outline(html(markdown)).texts if "Out of service: Heat" in text]
    assert inside and not any("details" in within for within in inside)
    assert first(closed(worked(sample.stopped()))).strip().startswith("It was shut down:")


# ---------------------------------------------------------------- the story


def test_a_step_says_what_it_read_and_one_thing_it_means() -> None:
    base = worked()
    evidence = (
        Spoke("filter-drop-high", State.PRESENT, "Filter drop 0.33 in. w.c. is too high"),
        Spoke("coil-drop-high", State.ABSENT, "Coil drop 0.11 in. w.c. is normal"),
    )
    weighed = replace(base.verdict.steps[2], evidence=evidence)
    base = replace(
        base, verdict=replace(base.verdict, steps=(*base.verdict.steps[:2], weighed, *base.verdict.steps[3:]))
    )
    step = steps_of(base)[4]
    assert "−0.37 in. w.c." in step and "14 min" in step
    assert step.count("Means:") == 1 and "Filter drop 0.33 in. w.c. is too high." in step
    assert "Coil drop 0.11" not in step
    absent = replace(weighed, evidence=evidence[1:])
    base = replace(
        base, verdict=replace(base.verdict, steps=(*base.verdict.steps[:2], absent, *base.verdict.steps[3:]))
    )
    assert "Means:</strong> Coil drop 0.11 in. w.c. is normal." in steps_of(base)[4]


def test_a_caution_is_one_line_with_its_action_and_full_where_the_step_is_risky() -> None:
    cautions = (
        *sample.workup().cautions,
        StepCaution("refrigerant", "Refrigerant", "Licensed only. Then more text.", 6),
    )
    base = worked(replace(sample.workup(), cautions=cautions))
    told = next(n for n, text in steps_of(base).items() if "Refrigerant:" in text)
    assert "Licensed only." in steps_of(base)[told]
    assert "Then more text" not in case_page(base).markdown
    assert sum("Refrigerant:" in text for text in steps_of(base).values()) == 1


def test_the_repair_says_whether_it_came_as_predicted() -> None:
    base = worked()
    assert "Matched the prediction: airflow and rise." in steps_of(base)[9]
    off = replace(base.after[1], inside=False)
    said = steps_of(replace(base, after=(base.after[0], off)))[9]
    assert "Matched the prediction: airflow. Off the prediction: rise." in said


def test_the_story_shows_the_chart_of_its_cause_and_the_proof_the_others() -> None:
    charts = (chart("air-path"), chart("cause-chain"), Missing("run-log", "Run log", "no temperatures were logged"))
    story, proof = case_page(worked(), charts=charts).markdown, proof_page(worked(), charts=charts).markdown
    assert story.count('data-chart="air-path"') == 1 and 'data-chart="air-path"' not in proof
    assert 'data-chart="cause-chain"' in proof and "cause-chain" not in story
    assert "no temperatures were logged" not in story + proof
    assert "<svg>wide" not in story + proof


def test_a_flame_call_shows_no_chart_of_heat_and_air() -> None:
    flame = with_file(worked(), complaint=worked().case.file.complaint.model_copy(update={"family": "flame-lost"}))
    for page in (case_page(flame, charts=(chart("air-path"),)), proof_page(flame, charts=(chart("air-path"),))):
        assert "air-path" not in page.markdown
    assert "The limit: hot, or weak?" not in sections(flame)


def test_ids_are_unique_and_the_pages_beside_are_linked() -> None:
    beside = Beside(proof="proof.md", work="work.md", customer="customer.md", cautions="../cautions.md")
    markdown = case_page(worked(), beside=beside).markdown
    ids = [attributes["id"] for _, attributes in Outline(html(markdown)).tags if "id" in attributes]
    assert ids and len(ids) == len(set(ids))
    for target in ("proof.md", "work.md", "customer.md", "../cautions.md"):
        assert f"]({target})" in markdown
    assert "](" not in case_page(worked()).markdown.split("## The call")[0]


# ---------------------------------------------------------------- work this call


def test_the_exercise_tells_neither_cause_nor_title_before_it_is_asked() -> None:
    for id_ in ("weak-capacitor", "painted-bond"):
        workup = demo(id_)
        page = work_page(workup)
        made = html(page.markdown)
        open_ = "".join(text for within, text in Outline(made).texts if "details" not in within)
        roots = [c.name for c in answer(workup).roots]
        assert roots and workup.case.file.title not in page.text
        # Each stands once at every step, among the causes to choose from, and nowhere else in sight.
        steps = made.count('class="cb-task"') - made.count("cb-task-end")
        assert all(open_.count(name) == len(re.findall(r'aria-label="Step \d+"', made)) for name in roots), steps
        assert not re.search(r"\d\s*%", open_)


def test_the_exercise_asks_before_each_step_what_leads_what_next_and_what_number() -> None:
    made = html(work_page(demo("weak-capacitor")).markdown)
    tasks = re.findall(r'<section class="cb-task".*?</section>', made, re.DOTALL)
    assert tasks and all("What leads?" in task for task in tasks)
    chosen = [task for task in tasks if "What do you check next?" in task]
    assert len(chosen) >= len(tasks) - 1
    assert all(task.count("data-taken") == 1 and task.count('name="next-') == 3 for task in chosen)
    assert any("data-read" in task for task in tasks)
    assert all(task.index("What leads?") < task.index("<details") for task in tasks)
