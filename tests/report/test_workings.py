"""Every number shown has a working, the workings chain, and what a formula gives is what is printed."""

import re
from html.parser import HTMLParser

import pytest

from drawn_plans import NAMES, plan_named, sheets_of
from rillwright.errors import NotExplainedError
from rillwright.report.page import anchor, render_page
from rillwright.report.workings import all_workings, working_of


class _Page(HTMLParser):
    """Ids, links to places on the page, and cells of figures without a link."""

    def __init__(self):
        super().__init__()
        self.ids, self.links, self.bare, self.words = [], [], [], []
        self._cell = None
        self._skip = False

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if "id" in given:
            self.ids.append(given["id"])
        if tag == "a" and given.get("href", "").startswith("#"):
            self.links.append(given["href"][1:])
            if self._cell is not None:
                self._cell[1] = True
        if tag == "td" and given.get("class") == "n":
            self._cell = ["", False]
        if tag in ("style", "script"):
            self._skip = True

    def handle_endtag(self, tag):
        if tag == "td" and self._cell is not None:
            if re.search(r"\d", self._cell[0]) and not self._cell[1]:
                self.bare.append(self._cell[0])
            self._cell = None
        if tag in ("style", "script"):
            self._skip = False

    def handle_data(self, data):
        if self._cell is not None:
            self._cell[0] += data
        if not self._skip:
            self.words.append(data)


def page(name):
    sheets = sheets_of(name)
    text = render_page(plan_named(name), drawing=sheets[0], depth_drawing=sheets[1] if len(sheets) > 1 else None)
    parsed = _Page()
    parsed.feed(text)
    return text, parsed


@pytest.mark.parametrize("name", NAMES)
def test_numbers_that_a_formula_gives_are_the_numbers_printed(name):
    workings = all_workings(plan_named(name)).values()
    checked = [w for w in workings if w.again is not None]
    assert len(checked) > (100 if name in ("demo", "crowded") else 3)
    for w in checked:
        assert w.again == pytest.approx(w.value, rel=1e-6, abs=1e-12), w.key


@pytest.mark.parametrize("name", NAMES)
def test_every_working_says_how_and_from_what(name):
    workings = all_workings(plan_named(name))
    for w in workings.values():
        assert w.formula, w.key
        assert w.title, w.key
        for given in w.inputs:
            assert not given.key or given.key in workings, f"{w.key}: {given.name} leads to {given.key}"


def reached_from(key, workings):
    reached, wave = set(), {key}
    while wave:
        reached |= wave
        wave = {given.key for at in wave for given in workings[at].inputs if given.key} - reached
    return reached


@pytest.mark.parametrize("name", ["demo", "crowded"])
def test_a_reader_can_follow_the_safe_flow_down_to_every_step_of_the_pressure(name):
    plan = plan_named(name)
    workings = all_workings(plan)
    most = max(plan.zones, key=lambda zone: zone.flow)
    from_supply = reached_from("supply.safe-flow", workings)
    assert {"supply.limit.curve", "supply.reference-pressure", f"zone.{most.id}.needed-pressure"} <= from_supply
    for zone in plan.zones:
        steps = {f"zone.{zone.id}.step.{n}" for n in range(1, len(zone.steps) + 1)}
        wanted = steps | {f"zone.{zone.id}.entry-pressure", f"zone.{zone.id}.flow-control"}
        assert wanted <= reached_from(f"zone.{zone.id}.safe-flow", workings)
        assert zone is not most or wanted <= from_supply


def test_a_zones_flow_control_takes_what_its_entry_has_over_its_need():
    plan = plan_named("demo")
    workings = all_workings(plan)
    for zone in plan.zones:
        control = sum(step.pressure for step in zone.steps if step.label.startswith("flow control"))
        assert workings[f"zone.{zone.id}.flow-control"].value == pytest.approx(control, abs=1e-3)


def test_a_page_of_a_large_plan_leaves_the_workings_of_what_there_is_most_of_to_a_command(monkeypatch):
    plan = plan_named("crowded")
    keys = set(all_workings(plan))
    groups = {group: {key for key in keys if key.split(".")[0] == group} for group in ("head", "pipe", "zone")}
    largest = max(groups, key=lambda group: len(groups[group]))
    monkeypatch.setattr("rillwright.report.page._MOST_WORKINGS", len(keys) - 1)
    text, parsed = page("crowded")
    assert set(parsed.links) <= set(parsed.ids)
    assert {anchor(key) for key in keys - groups[largest]} <= set(parsed.ids)
    assert not {anchor(key) for key in groups[largest]} & set(parsed.ids)
    assert f"the workings of every {largest} are left to it" in " ".join(parsed.words)
    shown = set(re.findall(r'title="rillwright explain ([^"]+)"', text))
    assert shown
    assert all(working_of(plan, key).key in groups[largest] for key in shown)


def test_capitals_and_spaces_round_a_name_do_not_matter():
    plan = plan_named("crowded")
    assert working_of(plan, " head.h1.FLOW ").key == "head.H1.flow"


@pytest.mark.parametrize(
    ("asked", "near"),
    [("supply.safe-flo", "supply.safe-flow"), ("head.H3", "head.H3.flow"), ("cost.totl", "cost.total")],
)
def test_a_name_that_is_nearly_right_is_answered_with_the_right_one(asked, near):
    with pytest.raises(NotExplainedError, match=re.escape(near)):
        working_of(plan_named("crowded"), asked)


@pytest.mark.parametrize("name", NAMES)
def test_every_link_on_the_page_leads_somewhere_and_every_figure_has_one(name):
    _, parsed = page(name)
    assert len(parsed.ids) == len(set(parsed.ids))
    assert not [i for i in parsed.ids if re.search(r"\s", i)]
    assert set(parsed.links) <= set(parsed.ids)
    assert parsed.bare == []
    assert len(parsed.links) > 5


@pytest.mark.parametrize("name", NAMES)
def test_the_page_stands_alone_and_shows_no_hole(name):
    text, parsed = page(name)
    assert not re.search(r'(src|href)="(?!#|data:)', text)
    assert "@import" not in text
    words = " ".join(parsed.words)
    assert not re.search(r"\b(None|nan|inf|Undefined)\b", words)
    sections = re.split(r"<h[23][^>]*>", text.split("<main>")[1])[1:]
    for section in sections:
        body = re.sub(r"<[^>]+>", "", section.split("</h", 1)[1].split(">", 1)[1])
        assert body.strip() or "<svg" in section


def test_findings_link_to_what_they_are_about():
    plan = plan_named("too little water")
    text, parsed = page("too little water")
    about_heads = [f for f in plan.findings if any(f.where == h.id for h in plan.heads)]
    for finding in about_heads:
        assert f'<a href="#head-{finding.where}">' in text
        assert f"head-{finding.where}" in parsed.ids


def test_cautions_stand_on_the_page_before_the_first_table():
    text, _ = page("crowded")
    before = text.split("<table", 1)[0]
    for word in ("utility-location service", "drinking water", "line voltage", "flammable vapour"):
        assert word in before
