"""The likeness of two cases: what its definition says, by hand, and the fast way against the plain one."""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import replace

import pytest
from records import make_records

from causebook import knowledge
from causebook.library.like import like_cases
from causebook.library.likeness import features, features_of, likeness, neighbors, weights_of
from causebook.library.vectors import Point, axes, points


@pytest.fixture(scope="module")
def known():
    return knowledge.load()


def test_weights_and_likeness_by_hand():
    # Four cases, all of which looked for `a`: present in one.  Two looked for `b`: present in both.
    cases = [
        {"finding a": "present", "finding b": "present"},
        {"finding a": "absent", "finding b": "present"},
        {"finding a": "absent"},
        {"finding a": "absent"},
    ]
    weights = weights_of(cases)
    rare, usual, shared = math.log2(5 / 1.5), math.log2(5 / 3.5), math.log2(3 / 2.5)
    assert weights.weight("finding a", "present") == pytest.approx(rare)
    assert weights.weight("finding a", "absent") == pytest.approx(usual)
    assert weights.weight("finding b", "present") == pytest.approx(shared)
    assert weights.weight("finding never looked for", "present") == 0
    found = likeness(cases[0], cases[1], weights)
    assert found.value == pytest.approx(max(shared - (rare + usual) / 2, 0))
    assert found.same == ("finding b",) and found.differ == ("finding a",)
    in_neither = likeness(cases[1], cases[2], weights)
    assert in_neither.value == 0 and in_neither.same == in_neither.differ == ()
    alike = likeness(cases[0], {"finding a": "present"}, weights)
    assert alike.value == pytest.approx(rare / (rare + shared / 4))
    against = likeness(cases[0], cases[2], weights)
    assert against.value == 0 and against.differ == ("finding a",)


def test_not_looked_for_is_neither_same_nor_different():
    weights = weights_of([{"finding a": "present"}, {"finding a": "absent"}])
    found = likeness({"finding a": "present"}, {}, weights)
    assert found.value == 0 and found.same == found.differ == ()


def test_facts_weigh_a_quarter_of_findings():
    one = features(["high-limit"], {"x": True}, {"fuel": "propane"})
    weights = weights_of([one, features(["noise"], {"x": False}, {"fuel": "natural gas"})])
    assert weights.weight("fact fuel", "propane") == pytest.approx(weights.weight("finding x", "present") / 4)


def shares(like):
    return like.value > 0 or any(not feature.startswith("fact ") for feature in like.same)


def _belief(record, records, known):
    """Bayes' rule over the roots of the library, by hand."""
    often = Counter()
    for other in (o for o in records if o is not record):
        for root in other.roots:
            often[root] += 1.1 if other.families[0] == record.families[0] else 0.1
    for root in often:
        for finding, present in record.findings.items():
            chance = min(max(known.causes[root].links.get(finding, known.findings[finding].leak), 0.02), 0.98)
            often[root] *= chance if present else 1 - chance
    return {root: value / sum(often.values()) for root, value in often.items()}


def test_the_fast_way_for_all_pairs_agrees_with_the_plain_one(known):
    records = make_records(40, known)
    weights = weights_of([features_of(r) for r in records])
    near = neighbors(records, known, 5)
    for record in records:
        belief = _belief(record, records, known)
        plain = sorted(
            (-round((like.value + 2 * max(belief[root] for root in other.roots)) / 3, 9), other.id)
            for other in records
            if other.id != record.id and shares(like := likeness(features_of(record), features_of(other), weights))
        )
        expected = [id_ for _, id_ in plain][:5]
        assert [n.record.id for n in near[record.id].like] == expected


def test_the_nearest_with_another_root_shares_none_and_is_the_nearest(known):
    records = make_records(200, known)
    weights = weights_of([features_of(r) for r in records])
    found = neighbors(records, known)
    named = [(r, found[r.id].other_root) for r in records if found[r.id].other_root]
    assert len(named) > 150
    for record, other in named:
        assert not set(other.record.roots) & set(record.roots)
        belief = _belief(record, records, known)
        nearer = [
            o
            for o in records
            if o.id != record.id
            and not set(o.roots) & set(record.roots)
            and shares(like := likeness(features_of(record), features_of(o), weights))
            and (like.value + 2 * max(belief[root] for root in o.roots)) / 3 > other.nearness + 1e-6  # to six digits
        ]
        assert not nearer


def test_the_section_names_no_case_twice_and_the_nearest_of_another_cause(known):
    records = make_records(40, known)
    sections = [like_cases(id_, near, known) for id_, near in neighbors(records, known).items()]
    assert all(len(links) == len(set(links)) for links in (re.findall(r"/(case-\d+)/", one) for one in sections))
    whole = " ".join(sections)
    assert "Nearest case with another cause." in whole and "in neither" not in whole


def test_like_cases_have_the_same_root_far_more_often_than_chance(known):
    records = make_records(400, known)
    near = neighbors(records, known, 5)
    share = sum(set(n.record.roots) == set(r.roots) for r in records for n in near[r.id].like) / (5 * len(records))
    by_chance = sum(r.roots == o.roots for r in records for o in records if r is not o) / (400 * 399)
    assert share > 10 * by_chance


def test_a_library_without_any_root_has_like_cases_all_the_same(known):
    records = [replace(record, roles={}) for record in make_records(3, known)]
    near = neighbors(records, known)
    assert sorted(near) == sorted(r.id for r in records) and all(one.other_root is None for one in near.values())
    assert neighbors(records[:1], known)[records[0].id].like == ()


def test_two_numbers_of_one_size_are_alike_and_two_far_apart_differ():
    """A rise of 85 against 83 and against 60 °F: 2 and 25 °F apart, where 7 make no difference (meter ignored)."""
    unit = next(axis for axis in axes() if axis.id == "rise").usual
    here = points({"rise": 85 / 1.8}, {})
    near, far = (likeness({}, {}, weights_of([]), here, points({"rise": f / 1.8}, {})) for f in (83, 60))
    assert unit == pytest.approx(7 / 1.8)
    close = math.exp(-((2 / 7) ** 2) / 2)
    assert near.value == pytest.approx(close - (1 - close))
    assert far.value == 0


def test_a_ratio_to_the_plate_is_compared_and_not_the_number():
    """5.7 of 7.5 µF and 3.8 of 5 µF are both 0.76."""
    one = points({"capacitor": 5.7e-6, "capacitor-marking": 7.5e-6}, {})["capacitor"]
    other = points({"capacitor": 3.8e-6, "capacitor-marking": 5e-6}, {})["capacitor"]
    assert one.at == pytest.approx(other.at) == pytest.approx(0.76)
    assert "capacitor" not in points({"capacitor": 5.7e-6}, {})


def test_the_drop_across_a_part_is_the_difference_of_its_taps_where_it_was_not_read():
    taps = {"tap-before-filter": -50.0, "tap-after-filter": -120.0}
    assert points(taps, {"tap-before-filter": 3.0, "tap-after-filter": 4.0})["filter-drop"] == Point(70.0, 5.0, 70.0)
    assert points(taps | {"drop-across-filter": 66.0}, {})["filter-drop"].value == 66.0
