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
from causebook.casefile.model import CaseOption, Conclusion, Mark, Opening, Outcome, Photo, Teach
from causebook.quantity import q
from causebook.survey.model import FindingState, State
from causebook.workup import StepCaution, Workup
from causebook.writeup.answer import answer
from causebook.writeup.charts.model import Chart, Missing
from causebook.writeup.customer import customer_sections
from causebook.writeup.page import case_page
from causebook.writeup.photos import publish
from causebook.writeup.sections import SECTIONS
from causebook.writeup.steps import step_views

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
    markdown = case_page(workup).markdown.replace("\u00a0", " ")
    _, *parts = re.split(r"^## (.*)\n", markdown, flags=re.MULTILINE)
    return dict(zip(parts[::2], parts[1::2], strict=True))


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


@pytest.mark.parametrize("made", ALL)
def test_tables_have_captions_scopes_and_named_cells(made) -> None:
    made_html = html(case_page(worked(made())).markdown)
    tables = re.findall(r"<table.*?</table>", made_html, re.DOTALL)
    for table in tables:
        assert "<caption>" in table
        assert all("scope" in attributes for attributes in Outline(table).named("th"))
        if "cb-stack" in table:
            assert all(attributes.get("data-label") for attributes in Outline(table).named("td"))
    assert made_html.count("<details") == made_html.count("<summary>")


def test_ids_are_unique_and_links_within_the_page_arrive() -> None:
    cautions = (*sample.workup().cautions, StepCaution("gas", "Gas", "Leak-check every joint.", 6))
    seen = Outline(html(case_page(worked(replace(sample.workup(), cautions=cautions))).markdown))
    ids = [attributes["id"] for _, attributes in seen.tags if "id" in attributes]
    assert len(ids) == len(set(ids))
    targets = {a["href"][1:] for a in seen.named("a") if a.get("href", "").startswith("#")}
    assert targets and targets <= set(ids)


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
    assert "".join(t for _, t in seen.texts).count("<script>alert(1)</script>") >= 12
    assert "{{" not in page.markdown and "```" not in page.markdown and "--8<--" not in page.markdown


# ---------------------------------------------------------------- order and presence


def test_the_order_of_the_page() -> None:
    found = [text for level, text in headings(case_page(worked(sample.stopped())).markdown) if level == 2]
    order = ["Stop-use notice", *(heading for heading, _ in SECTIONS)]
    assert found == [heading for heading in order if heading in found]
    assert found[1] == "The answer"
    assert {
        "At the door",
        "Step by step",
        "The numbers, worked",
        "For and against",
        "Expected and read",
        "Roles, and what decided them",
        "The limit: hot, or wrong?",
        "What could be done",
        "After the repair",
        "What stays open",
        "What to test next",
        "Proven good",
        "Questions",
        "Common mistakes",
    } <= set(found)


@pytest.mark.parametrize(
    ("heading", "without"),
    [
        ("The limit: hot, or wrong?", lambda w: replace(w, survey=replace(w.survey, limit=None))),
        (
            "The limit: hot, or wrong?",
            lambda w: replace(w, survey=replace(w.survey, limit=replace(w.survey.limit, verdict="", switch=""))),
        ),
        ("After the repair", lambda w: replace(w, after=())),
        ("What could be done", without_options),
        ("Expected and read", lambda w: replace(w, verdict=replace(w.verdict, expected=()))),
        ("What to test next", lambda w: replace(w, verdict=replace(w.verdict, next_tests=(), would_settle=()))),
        ("Proven good", lambda w: replace(w, verdict=replace(w.verdict, proven_good=()))),
        ("Questions", lambda w: with_file(w, teach=Teach(mistakes=("one",)))),
        ("Common mistakes", lambda w: with_file(w, teach=Teach())),
        (
            "What stays open",
            lambda w: with_file(
                w, follow_up=(), visits=tuple(v.model_copy(update={"open": ()}) for v in w.case.file.visits)
            ),
        ),
        ("The numbers, worked", lambda w: replace(w, survey=replace(w.survey, works=(), sets=()))),
    ],
)
def test_a_section_appears_only_with_data(heading: str, without) -> None:
    assert heading in sections(worked())
    assert heading not in sections(without(worked()))


def test_a_chance_that_nothing_tells_is_not_printed() -> None:
    base, heading = worked(), "The limit: hot, or wrong?"
    assert "Chance that it really was too hot" in sections(base)[heading]
    limit = replace(base.survey.limit, overheating=None)
    assert "Chance" not in sections(replace(base, survey=replace(base.survey, limit=limit)))[heading]


def test_what_was_not_looked_for_is_listed_apart_and_never_as_absent() -> None:
    base = worked()
    assert "Not looked for" not in sections(base)
    finding = FindingState("crack-seen", "Crack seen", State.NOT_LOOKED_FOR, 0.0, 0)
    shown = sections(replace(base, survey=replace(base.survey, findings=(*base.survey.findings, finding))))
    assert "Crack seen" in shown["Not looked for"]
    assert "Crack seen" not in shown["For and against"]


# ---------------------------------------------------------------- safety


def test_below_the_answer_every_section_can_be_reached() -> None:
    markdown = case_page(worked()).markdown
    fold = re.search(r'<details class="cb-fold cb-contents cb-screen">.*?</details>', markdown, re.DOTALL)[0]
    assert re.findall(r"<li><a [^>]*>(.*?)</a>", fold) == [
        text for level, text in headings(markdown[markdown.index(fold) :]) if level == 2
    ]
    assert 'href="#after-the-repair"' in fold and markdown.index("cb-answer") < markdown.index(fold)


def test_an_open_stop_is_first_and_cannot_be_folded() -> None:
    markdown = case_page(worked(sample.stopped())).markdown
    assert headings(markdown)[1] == (2, "Stop-use notice")
    notice = sections(worked(sample.stopped()))["Stop-use notice"]
    assert "Out of service: Heat exchanger suspected open" in notice
    assert "The flame bent when the blower started" in notice
    assert markdown.index("Out of service") < markdown.index("## The answer") < markdown.index("cb-caution-general")
    inside = [within for within, text in Outline(html(markdown)).texts if "Out of service: Heat" in text]
    assert inside and not any("details" in within for within in inside)


def test_a_closed_stop_says_that_it_is_closed_and_by_what() -> None:
    shown = sections(closed(worked(sample.stopped())))
    assert "Stop-use notice" not in shown
    assert "Burner put right, test repeated on 20 February" in shown["Stop-use notice, closed"]
    whole = shown["The answer"]
    assert whole.index("</dl>") < whole.index("Out of service: this furnace must not run.")
    assert "told in writing" in whole
    inside = [within for within, text in Outline(whole).texts if "this furnace must not run" in text]
    assert inside and not any("details" in within for within in inside)


def test_cautions_stand_above_the_step_that_carries_the_risk() -> None:
    cautions = (*sample.workup().cautions, StepCaution("gas", "Gas", "Leak-check every joint.", 6))
    markdown = case_page(worked(replace(sample.workup(), cautions=cautions))).markdown
    assert markdown.index("### Step 4") < markdown.index("Before step 5: Gas") < markdown.index("### Step 5")
    assert markdown.index("Leak-check every joint") < markdown.index("### Step 5")
    assert markdown.count("Leak-check every joint") == 1
    again = markdown[markdown.index("### Step 6") : markdown.index("### Step 7")]
    assert '<strong>Gas</strong>: as <a href="#cb-caution-gas">above step 5</a>' in again
    assert again.index("#cb-caution-gas") < again.index("131.3")


def test_every_page_defers_to_plate_code_and_licence() -> None:
    for made in ALL:
        end = case_page(worked(made())).markdown.rstrip().splitlines()[-1]
        assert "rating plate" in end and "local code" in end and "licence" in end


@pytest.mark.parametrize(
    ("outcome", "short", "said"),
    [
        (Outcome.CORRECTED, "Not cleared here.", "spoke against it"),
        (Outcome.FIRST_WRONG, "Not cleared here.", "spoke against it"),
        (Outcome.NOT_CORRECTED, "Not cleared here.", "not corrected here"),
        (Outcome.LIKELY, "Not cleared here.", "likely, not settled"),
        (Outcome.UNDETERMINED, "Not cleared here.", "was not found"),
        (Outcome.STOPPED, "No.", "It was stopped for safety."),
    ],
)
def test_may_it_run_is_answered_and_left_to_the_person_on_site(outcome: Outcome, short: str, said: str) -> None:
    def may_run(workup: Workup) -> tuple[str, str]:
        box = sections(workup)["The answer"]
        first, told = re.search(r"<dl.*?<dt>(.*?)</dt><dd>(.*?)</dd>", box, re.DOTALL).groups()
        assert first == "May it run", "it stands above all else"
        return re.fullmatch(r"<strong>(.*?)</strong> (.*)", told).groups()

    answered, why = may_run(with_file(worked(), outcome=outcome))
    assert answered == short and said in why and why.endswith("The licensed person on site decides.")
    out, why = may_run(with_file(worked(sample.stopped()), outcome=outcome))
    assert out == "No." and why.startswith("It is out of service")
    if outcome is not Outcome.STOPPED:
        answered, ended = may_run(with_file(closed(worked(sample.stopped())), outcome=outcome))
        assert answered == short and ended.startswith("It was stopped for safety.") and said in ended
        assert "What ended the notice: Burner put right, test repeated on 20 February." in ended


# ---------------------------------------------------------------- the answer


@pytest.mark.parametrize("outcome", [Outcome.CORRECTED, Outcome.FIRST_WRONG])
@pytest.mark.parametrize(
    ("repair", "page", "customer"),
    [
        (AfterRepair(True, ()), "spoke against it", "measured again"),
        (AfterRepair(False, ()), "Nothing that was read or seen after the repair", "nothing written here shows yet"),
        (
            AfterRepair(False, ("The limit opened",)),
            "After the repair there was still: The limit opened.",
            "is not yet right",
        ),
    ],
)
def test_an_outcome_alone_clears_nothing(outcome: Outcome, repair: AfterRepair, page: str, customer: str) -> None:
    """What the author calls corrected is said so only where readings or looks after the repair bear it out."""
    shown = replace(with_file(worked(), outcome=outcome), repair=repair)
    run = " ".join(answer(shown).may_run)
    assert page in run and ("spoke against it" in run) is repair.gone
    safe = dict(customer_sections(shown))["Is it safe?"]
    assert customer in safe and ("measured again" in safe) is repair.gone


def test_it_may_run_only_when_the_repair_left_nothing_beyond_the_plate() -> None:
    furnace = worked().case.file.furnace
    assert "Not cleared here." in sections(worked())["The answer"]
    wide = with_file(worked(), furnace=furnace.model_copy(update={"static_maximum": None}))
    assert (
        "<strong>Yes, after the repair.</strong> In all that was read and seen here nothing spoke"
        in sections(wide)["The answer"]
    )


def test_the_answer_box_answers() -> None:
    text = sections(worked())["The answer"]
    for said in (
        "Undersized return",
        "settled (99 %)",
        "Filter too restrictive",
        "opening the return brought it to 52.1 °F",
        "Wide filter cabinet and a second return",
        "74.6 → 54.9 °F",
        "41.4 → 30.5 K",
        "695 → 945 cfm",
        "30 to 60 °F",
        "Settled and corrected.",
        "1 h 39 min over 8 steps",
        "nothing else spoke against it",
        "Still beyond the plate: external static 0.66 in. w.c., at most 0.50 in. w.c.",
        "The licensed person on site decides.",
    ):
        assert said in text, said
    assert "Not the same answer" not in text
    assert '<details class="cb-answer" open>' in text


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
    )["At the door"]
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
    text = sections(with_file(worked(), answered={"taps-differ": "Drilled only at the *repair*."}))["What stays open"]
    assert "taps that were read as found. <strong>Not so here:</strong> Drilled only at the <em>repair</em>." in text


def test_a_plate_limit_that_is_kept_after_the_repair_is_not_brought_up() -> None:
    base = worked()
    wide = base.case.file.furnace.model_copy(update={"static_maximum": sample.inwc(0.66)})
    text = sections(with_file(base, furnace=wide))["The answer"]
    assert "Still beyond" not in text and "nothing spoke against it" in text


def test_what_was_put_out_of_use_on_the_job_stands_in_the_answer_without_any_rule() -> None:
    base = worked()
    first, last = base.case.file.visits
    own = first.concluded.model_copy(update={"stop": "Water heater <b>off</b>"})
    visits = (
        first.model_copy(update={"concluded": own}),
        last.model_copy(update={"concluded": Conclusion(stop_closed="new line in on *14 February*")}),
    )
    told = re.search(r"<dt>Put out of use</dt><dd>(.*?)</dd>", sections(with_file(base, visits=visits))["The answer"])
    assert told and told[1] == (
        "Water heater &lt;b&gt;off&lt;/b&gt;. How it ended: new line in on <em>14 February</em>."
    )
    assert "Put out of use" not in sections(base)["The answer"]


def test_what_is_still_out_of_use_may_not_run_on_any_page() -> None:
    base = worked()
    first, last = base.case.file.visits
    out = with_file(base, visits=(first.model_copy(update={"concluded": Conclusion(stop="Burner off")}), last))
    back = with_file(
        base,
        visits=(
            first.model_copy(update={"concluded": Conclusion(stop="Burner off")}),
            last.model_copy(update={"concluded": Conclusion(stop_closed="proven and put back")}),
        ),
    )
    assert "<strong>No.</strong> It was put out of use, and nothing here says how" in sections(out)["The answer"]
    assert "put out of use, and nothing" not in sections(back)["The answer"]
    assert "Please leave it off" in dict(customer_sections(out))["Is it safe?"]
    assert "Please leave it off" not in dict(customer_sections(back))["Is it safe?"]


def test_undetermined_is_said_with_what_would_settle_it() -> None:
    base = worked(sample.sparse())
    shown = sections(with_file(base, outcome=Outcome.UNDETERMINED))
    assert "Not determined. Most believed:" in shown["The answer"]
    assert "Undetermined." in shown["The answer"]
    assert "static at the taps" in shown["What to test next"]
    assert "Not cleared here." in shown["The answer"]


def test_another_conclusion_than_the_readings_is_not_hidden() -> None:
    base = worked()
    visits = base.case.file.visits
    said = Conclusion(root={"limit-weak": "the message named it"})
    shown = sections(with_file(base, visits=(visits[0].model_copy(update={"concluded": said}), visits[1])))
    assert "Not the same answer" in shown["The answer"]
    assert "Limit opens too low" in shown["The answer"] and "the message named it" in shown["The answer"]


def test_damage_done_stands_in_the_answer() -> None:
    assert "Damage done" not in sections(worked())["The answer"]
    shown = sections(worked(sample.with_damage()))["The answer"]
    assert "<dt>Damage done</dt><dd>Limit tired by thousands of openings and Heat exchanger cracked</dd>" in shown


def test_outcome_of_the_file_and_of_the_readings_both_stand_when_they_differ() -> None:
    base = worked()
    shown = sections(replace(base, verdict=replace(base.verdict, outcome=Outcome.LIKELY)))["The answer"]
    assert '<span class="cb-outcome">Settled and corrected.</span> By the readings alone: likely.' in shown


def test_what_would_settle_it_is_said_once_and_the_one_who_was_there_first() -> None:
    base = worked(sample.sparse())
    base = replace(
        base,
        verdict=replace(
            base.verdict, would_settle=(f"{base.verdict.next_tests[0].name}: a second airflow", "static at the taps")
        ),
    )
    said = Conclusion(would_settle="A recorder on the limit.")
    visits = tuple(v.model_copy(update={"concluded": said}) for v in base.case.file.visits)
    shown = sections(with_file(base, visits=visits))["What to test next"]
    assert "<strong>What would settle it:</strong> A recorder on the limit; static at the taps." in shown
    assert shown.count(base.verdict.next_tests[0].name) == 1


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


def test_steps_in_order_with_what_was_done_read_and_moved() -> None:
    steps = steps_of(worked())
    assert list(steps) == list(range(1, 10))
    for said in (
        "Static at the taps",
        "One map splits filter",
        "14 min",
        "−0.37 in. w.c.",
        "−92 Pa",
        "Filter drop 0.33",
        "strongly against (−14.2)",
        "Filter too restrictive 58 % → 91 %; Undersized return 36 % → 86 %; Coil plugged 22 % → 1 %",
    ):
        assert said in steps[4], said
    assert "filter removed" in steps[6]


def test_the_repair_is_held_against_its_prediction_where_it_was_read() -> None:
    base = worked()
    off = replace(base.after[1], inside=False)
    for workup, said in (
        (base, "airflow and rise as predicted;"),
        (replace(base, after=(base.after[0], off)), "airflow as predicted; rise not as predicted;"),
    ):
        steps = steps_of(workup)
        assert f"Held against the prediction:</strong> {said}" in steps[9]
        assert 'href="#after-the-repair"' in steps[9] and "Held against" not in steps[8]


def test_a_void_reading_is_struck_with_its_reason_and_used_nowhere() -> None:
    base = worked()
    step = steps_of(base)[2]
    assert re.search(r"<s>plenum infrared</s>.*<s>.*96\.0 °F.*</s> Does not count: bare galvanized", step, re.DOTALL)
    rest = "".join(text for heading, text in sections(base).items() if heading != "Step by step")
    assert "plenum infrared" not in rest and "96.0 °F" not in rest


def test_a_step_that_moved_nothing_says_so() -> None:
    base = worked()
    still = replace(base.verdict.steps[-1], weights=(), after=base.verdict.steps[-2].after)
    shown = steps_of(replace(base, verdict=replace(base.verdict, steps=(*base.verdict.steps[:-1], still))))
    assert "moved no belief" in shown[8]


def test_predict_then_reveal_folds_what_was_read() -> None:
    step = steps_of(worked())[6]
    before, _, inside = step.partition('<details class="cb-reveal">')
    assert "If the filter is the whole story" in before and "131.3 °F" not in before
    assert "<summary>" in inside and "131.3 °F" in inside.partition("</details>")[0]
    assert "cb-reveal" not in steps_of(worked())[7]


def test_print_gets_every_answer_that_a_fold_keeps_back() -> None:
    markdown = case_page(worked()).markdown.replace("\u00a0", " ")
    answers = markdown[markdown.index('<section class="cb-print-answers" hidden>') :]
    assert "Step 6, Filter out for four minutes" in answers and "131.3 °F" in answers
    assert "Open the return as a second step" in answers
    plain = with_step(with_file(worked(), teach=Teach()), 6, expect="")
    assert "cb-print-answers" not in case_page(plain).markdown


# ---------------------------------------------------------------- for and against, roles, options


def test_for_and_against_can_be_added_up() -> None:
    text = sections(worked())["For and against"]
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
    text = sections(worked())["Roles, and what decided them"]
    places = [text.index(f'<td data-label="Role">{r.value}') for r in (Role.ROOT, Role.HELPED_BY)]
    places.append(text.index("<strong>Not it:</strong>"))
    assert places == sorted(places)
    assert "put right by: new return, ordinary clean filter." in text
    assert "root, Undersized return (rise out of range with no filter at all, in range with the return opened);" in text
    assert "ordinary clean filter, old return" in text and "−3.0 °F" in text
    assert "no CO alarm upstairs" in text


def test_a_reason_that_is_not_known_leaves_its_cell_empty() -> None:
    base = worked()
    first, *rest = base.verdict.causes
    silent = replace(base, verdict=replace(base.verdict, causes=(replace(first, why=""), *rest)))
    assert '<td data-label="Why" class="cb-none"></td>' in sections(silent)["Roles, and what decided them"]


def test_options_say_what_stays_out_of_range() -> None:
    text = sections(worked())["What could be done"]
    assert "Stops the tripping and leaves the rise at 65 °F, above the plate's 60." in text.replace("&#39;", "'")
    assert "Against the plate: external static; so never recommended." in text
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
    text = sections(base)["Roles, and what decided them"]
    story, _, rest = text.partition("Never serious suspects")
    assert "Coil plugged" in story  # 22 % at step 3
    assert "Vent blocked" not in story and "Vent blocked: clear to the end" in rest
    assert "Limit opens too low" not in story and "Limit opens too low" in rest  # never above 5 %
    assert (
        "Limit opens too low"
        in sections(worked())["Roles, and what decided them"].partition("Never serious suspects")[0]
    )  # ruled out by name on the job


def test_an_option_offered_on_the_job_but_not_sized_is_still_told() -> None:
    base = worked()
    first, last = base.case.file.visits
    offer = CaseOption(name="Leave it as it is", why_not="the limit would go on opening")
    text = sections(with_file(base, visits=(first.model_copy(update={"options": (*first.options, offer)}), last)))
    assert "<strong>Leave it as it is</strong>: the limit would go on opening" in text["What could be done"]
    assert "Offered on the job" not in sections(base)["What could be done"]


def test_a_step_tells_what_is_so_apart_from_what_is_not() -> None:
    base = worked()
    evidence = (
        Spoke("filter-drop-high", State.PRESENT, "filter takes 0.33 in. w.c. (looked at above 0.20)"),
        Spoke("static-high", State.UNCLEAR, "external static 0.51 in. w.c. (rating 0.50)"),
        Spoke("coil-drop-high", State.ABSENT, "coil takes 0.11 in. w.c. (looked at above 0.30)"),
        Spoke("supply-drop-high", State.ABSENT, "supply duct takes 0.15 in. w.c. (looked at above 0.20)"),
    )
    weighed = replace(base.verdict.steps[2], evidence=evidence)
    base = replace(
        base, verdict=replace(base.verdict, steps=(*base.verdict.steps[:2], weighed, *base.verdict.steps[3:]))
    )
    step = steps_of(base)[4]
    assert (
        "It means:</strong> Filter takes 0.33 in. w.c. (looked at above 0.20). External static 0.51 in. w.c. "
        "(rating 0.50), unclear. Cleared: coil takes 0.11 in. w.c. (looked at above 0.30)."
    ) in step
    summary = step[step.index('<details class="cb-fold cb-spare">') :].partition("</summary>")[0]
    assert "1 more cleared" in summary and "supply duct takes" not in summary
    assert step.count("supply duct takes 0.15 in. w.c.") == 1
    assert "Limit fault stored" in steps_of(base)[2].partition("It means")[0]  # seen, and said once
    assert "Limit fault stored:" not in steps_of(base)[2]


def test_what_the_plate_alone_said_is_not_ascribed_to_the_step() -> None:
    base = worked()
    early = replace(base.verdict.steps[0], evidence=(Spoke("rise-high", State.PRESENT, "rise above the plate"),))
    base = replace(base, verdict=replace(base.verdict, steps=(early, *base.verdict.steps[1:])))
    assert "Rise above the plate (from the plate and sizes at the door)." in steps_of(base)[2]  # read in step 3


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


def test_charts_are_places_with_sentence_and_data() -> None:
    markdown = case_page(
        worked(),
        charts=(chart("air-path"), chart("cause-chain"), Missing("run-log", "Run log", "no temperatures were logged")),
    ).markdown
    assert markdown.count('<div class="cb-chart" data-chart="air-path"></div>') == 1
    assert "<svg>wide" not in markdown
    assert "Sentence of air-path." in markdown and '<th scope="row">filter</th>' in markdown
    assert "Run log: no temperatures were logged" in markdown
    roles, drawn = markdown.index("## Roles"), markdown.index("## The readings, drawn")
    assert drawn < markdown.index('data-chart="air-path"') < roles < markdown.index('data-chart="cause-chain"')


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


def test_next_tests_say_which_notices_are_open() -> None:
    stopped = worked(sample.stopped())
    shown = [sections(w)["What to test next"] for w in (stopped, closed(stopped))]
    assert ["What it forbids is not proposed." in text for text in shown] == [True, False]


def test_a_wrong_first_favourite_stands_at_the_step_where_it_led() -> None:
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
    assert len(told) == 1 and "that was expected after the steps before" in told[0]


def test_only_what_was_read_is_held_against_what_suspects_predicted() -> None:
    page = case_page(demo("silent-relay")).markdown
    assert "explains every reading taken" not in page and "298 to 520" not in page


def test_without_a_root_nothing_is_called_one() -> None:
    page = case_page(demo("quiet-faults")).markdown
    roles = page[page.index("## Roles") : page.index("## For and against")]
    assert 'data-label="Role">most believed<' in roles and 'data-label="Role">root<' not in roles


def test_something_else_carries_the_name_of_its_complaint() -> None:
    names = [c.name for c in demo("short-calls").verdict.causes]
    assert len(set(names)) == len(names)


def test_what_was_learned_later_is_not_known_at_the_door() -> None:
    for id_ in ("bent-flame", "short-calls"):
        assert not any("design heat loss" in text for text in step_views(demo(id_))[0].means), id_
