"""The rules in force: what a team changes of those that come with buildlint, and what is told."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from buildlint.files.settings import SETTINGS
from buildlint.judging.asks import Ask
from buildlint.judging.rulebook import Rulebook, load_rulebook
from buildlint.judging.rules_in_force import InForce, RuleChange, rules_in_force, rules_of
from buildlint.measures import MEASURES
from buildlint.team.repository import Team
from buildlint.text.errors import RulebookError, SettingsError

BOOK = load_rulebook()

OWN = """\
title = "The hold-back is a little"
level = "must"
measure = "hold_back"
at_most = "10 mm"
source = "ours"
why = "Because."
cure = "Less of it."
"""


def force(root: Path, settings: str, **own: str) -> InForce:
    (root / SETTINGS).write_text(settings, encoding="utf-8")
    for ident, text in own.items():
        path = root / "rules" / f"{ident.replace('__', '/')}.toml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return rules_in_force(root)


def refused(root: Path, settings: str, **own: str) -> list[str]:
    """Give what is said of settings that cannot be followed, without the folder's path."""
    with pytest.raises(SettingsError) as caught:
        force(root, settings, **own)
    here = f"{Path(os.path.relpath(root)).as_posix()}/{SETTINGS}:"
    assert all(line.startswith(here) and line.isprintable() for line in caught.value.mistakes)
    return [line.removeprefix(here) for line in caught.value.mistakes]


def change(ident: str, lines: str) -> str:
    return f'[change."{ident}"]\n{lines}\n'


# --- nothing changed -----------------------------------------------------------------------------


@pytest.mark.parametrize("settings", [None, "", "# nothing\n"])
def test_without_a_word_of_the_teams_the_rules_are_as_they_came(tmp_path, settings):
    found = rules_in_force(tmp_path) if settings is None else force(tmp_path, settings)
    assert found.book == BOOK
    assert (found.changes, found.concessions) == ((), ())
    assert (found.settings is None) is (settings is None)


@pytest.mark.parametrize(
    "settings",
    [
        change("pair/length", "leave_out = false"),
        change("pair/length", 'same_within = "0.5 mm"'),
        change("pair/length", 'level = "must"'),
        change("bench/label", "is = true"),
    ],
)
def test_what_says_the_same_as_the_rule_is_no_change(tmp_path, settings):
    found = force(tmp_path, settings)
    assert found.book == BOOK
    assert found.changes == ()


def test_rules_beside_no_settings_are_the_teams(tmp_path):
    """Those of another program, in a folder of that name, have not the keys of a rule."""
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "other.toml").write_text('title = "x"\n[[rules]]\n', encoding="utf-8")
    assert rules_in_force(tmp_path).book == BOOK
    (tmp_path / "rules" / "one.toml").write_text(OWN, encoding="utf-8")
    assert set(rules_in_force(tmp_path).book.rules) - set(BOOK.rules) == {"one"}


# --- what a team can change ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limit", "most"), [("0 step", 0.0), ("1 step", 1.0), ("2 steps", 2.0), ("3", 3.0)]
)
def test_a_limit_of_steps_is_read_as_reports_write_it(tmp_path, limit, most):
    """In a change of a rule, and in a rule of the team's own."""
    settings = change("bench/steps", f'level = "must"\nat_most = "{limit}"')
    own = OWN.replace('at_most = "10 mm"', f'at_most = "{limit}"')
    own = own.replace("hold_back", "steps_missing")
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "one.toml").write_text(own, encoding="utf-8")
    book = force(tmp_path, settings).book
    for ident in ("bench/steps", "one"):
        ask = book[ident].ask
        assert ask is not None
        assert ask.at_most == most


def test_a_limit_is_changed_and_everything_says_so(tmp_path):
    found = force(tmp_path, change("pair/length", 'same_within = "1 mm"'))
    rule, was = found.book["pair/length"], BOOK["pair/length"]
    assert rule.ask == Ask(same_within=0.001, texts={"same_within": "1 mm"})
    assert rule.title == "Length: the same within 1 mm"
    assert rule.source == (
        "the team's own limit, buildlint.toml; it came with length the same within 0.5 mm "
        "(ours, not published)"
    )
    # the rest is as it came
    kept = ("id", "level", "measure", "why", "cure", "turn", "caution", "only", "path")
    assert all(getattr(rule, name) == getattr(was, name) for name in kept)
    assert {r.id for r in found.book if r != BOOK[r.id]} == {"pair/length"}
    said = "length the same within 1 mm, but it came with length the same within 0.5 mm"
    assert found.changes == (
        RuleChange("pair/length", "changed", "must", said, tmp_path / SETTINGS, 1, 2),
    )


def test_a_title_and_a_source_of_the_teams_own_stand(tmp_path):
    texts = 'same_within = "1 mm"\ntitle = "Ours\\nare longer"\nsource = "measured \\u001b[31m"'
    rule = force(tmp_path, change("pair/length", texts)).book["pair/length"]
    assert (rule.title, rule.source) == ("Ours are longer", r"measured \x1b[31m")


def test_a_rule_that_is_off_is_gone_and_told(tmp_path):
    found = force(tmp_path, change("pair/length", "leave_out = true"))
    assert set(BOOK.rules) - set(found.book.rules) == {"pair/length"}
    assert found.changes == (
        RuleChange("pair/length", "left out", "must", "left out", tmp_path / SETTINGS, 1, 2),
    )


def test_a_must_that_is_made_a_should_is_told_by_the_level_that_it_came_with(tmp_path):
    found = force(tmp_path, change("pair/length", 'level = "should"'))
    assert found.book["pair/length"].level == "should"
    (told,) = found.changes
    assert (told.level, told.what) == ("must", "a should, but it came as a must")


def test_a_limit_and_a_level_are_both_told(tmp_path):
    found = force(tmp_path, change("pair/length", 'same_within = "1 mm"\nlevel = "should"'))
    assert found.changes[0].what == (
        "length the same within 1 mm, but it came with length the same within 0.5 mm; "
        "a should, but it came as a must"
    )


@pytest.mark.parametrize(
    ("line", "what"),
    [('title = "Another"', "another title"), ('source = "elsewhere"', "another source")],
)
def test_texts_alone_are_told_too(tmp_path, line, what):
    assert [c.what for c in force(tmp_path, change("pair/length", line)).changes] == [what]


def test_bands_go_by_what_the_rule_goes_by_unless_told_otherwise(tmp_path):
    bands = 'bands = [{ up_to = "50 mm", at_most = "5 mm" }, { at_most = "9 mm" }]'
    ident = "hold-back/by-body-length"
    rule = force(tmp_path, change(ident, bands)).book[ident]
    assert rule.by == "body_length"
    assert [b.ask.at_most for b in rule.by_band] == pytest.approx([0.005, 0.009])
    title = "Hold-back by body length, up to 50 mm: at most 5 mm; from there on: at most 9 mm"
    assert rule.title == title
    rule = force(tmp_path, change(ident, f'by = "stroke"\n{bands}')).book[ident]
    assert rule.by == "stroke"
    assert rule.title.startswith("Hold-back by stroke, up to 50 mm")


def test_bands_give_way_to_a_plain_limit_and_the_other_way(tmp_path):
    rule = force(tmp_path, change("hold-back/by-body-length", 'at_most = "9 mm"')).book[
        "hold-back/by-body-length"
    ]
    assert (rule.by, rule.bands, rule.title) == (None, (), "Hold-back: at most 9 mm")
    bands = 'by = "stroke"\nbands = [{ up_to = "5 mm", at_least = "1 mm" }, { at_least = "2 mm" }]'
    rule = force(tmp_path, change("fit/limiter-in-stroke", bands)).book["fit/limiter-in-stroke"]
    assert (rule.ask, rule.by, len(rule.bands)) == (None, "stroke", 2)


def test_an_only_of_the_rule_stays(tmp_path):
    ident = next(rule.id for rule in BOOK.measured() if rule.only.words and rule.ask)
    was = BOOK[ident]
    assert force(tmp_path, change(ident, 'level = "should"')).book[ident].only == was.only


# a limit that each kind of figure can have
_LIMITS = {
    "1": "41 %",
    "step": "2",
    "day": "3 day",
    "h": "7 h",
}


FIGURES = [r for r in BOOK.measured() if MEASURES[r.measure or ""].unit not in ("id", "yes")]


@pytest.mark.parametrize("rule", FIGURES, ids=lambda rule: rule.id)
def test_the_title_of_a_changed_rule_is_its_figure_and_the_limit(tmp_path, rule):
    measure = MEASURES[rule.measure or ""]
    limit = _LIMITS.get(measure.unit, f"3 {measure.unit}")
    found = force(tmp_path, change(rule.id, f'at_most = "{limit}"')).book[rule.id]
    words = measure.in_words
    said = limit.replace("day", "days")
    assert found.title == f"{words[0].upper()}{words[1:]}: at most {said}"
    assert found.source.endswith(f"({rule.source})")


def test_the_two_rules_about_concessions_can_be_changed(tmp_path):
    found = force(
        tmp_path,
        change("file/concession-unused", "leave_out = true")
        + change("file/concession-expired", 'level = "should"'),
    )
    assert "file/concession-unused" not in found.book.rules
    assert found.book["file/concession-expired"].level == "should"
    assert [(c.rule, c.kind, c.level) for c in found.changes] == [
        ("file/concession-expired", "changed", "must"),
        ("file/concession-unused", "left out", "should"),
    ]


# --- what it cannot ------------------------------------------------------------------------------

FILES = "is about how files are written: it cannot be changed"


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        (
            change("pair/lenght", "leave_out = true"),
            ['1:2: there is no rule "pair/lenght"; did you mean pair/length?'],
        ),
        (change("zz", "leave_out = true"), ['1:2: there is no rule "zz"']),
        (
            change("pair/length", ""),
            ["1:2: nothing is changed: give a limit, a level, or leave_out = true"],
        ),
        (
            change("pair/length", 'leave_ot = true\nwhy = "x"'),
            [
                '2:1: "leave_ot" cannot be changed in a rule; did you mean leave_out?',
                '3:1: "why" cannot be changed in a rule; these can: by, at_most, at_least, '
                "between, same_within, as_planned_within, bands, is, one_of, level, title, "
                "source and leave_out",
            ],
        ),
        (change("pair/length", "leave_out = 1"), ["2:1: leave_out takes true"]),
        (change("pair/length", 'level = "may"'), ['2:1: level is "must" or "should"']),
        (change("pair/length", "level = []"), ['2:1: level is "must" or "should"']),
        (
            change("pair/length", 'title = " "\nsource = 4'),
            ["2:1: title is empty: text belongs here", "3:1: source is text in quotes"],
        ),
        (
            change("pair/length", f'title = "{"x" * 201}"\nsource = "{"x" * 2001}"'),
            [
                "2:1: title is too long: at most 200 characters",
                "3:1: source is too long: at most 2,000 characters",
            ],
        ),
        (
            change("pair/length", 'leave_out = true\nsame_within = "1 mm"'),
            ["2:1: leave_out = true stands alone: no limit or level goes with it"],
        ),
        (change("file/not-toml", "leave_out = true"), [f"1:2: file/not-toml {FILES}"]),
        (change("file/bottle-weight", 'level = "should"'), [f"1:2: file/bottle-weight {FILES}"]),
        (
            change("file/concession-unused", 'at_most = "1 mm"'),
            ["2:1: a rule about files has no limit"],
        ),
        (
            change("pair/length", 'at_most = "1 mm"\nat_least = "0 mm"'),
            [
                "3:1: a rule asks one of at_most, at_least, between, same_within, "
                "as_planned_within, bands, is, one_of; this one has at_most and at_least"
            ],
        ),
        (
            change("pair/length", 'by = "stroke"'),
            [
                "1:2: a rule asks one of at_most, at_least, between, same_within, "
                "as_planned_within, bands, is, one_of; this one has none"
            ],
        ),
        (
            change("pair/length", 'by = "stroke"\nsame_within = "1 mm"'),
            ["2:1: by goes with bands"],
        ),
        (
            change("pair/length", 'one_of = ["a"]'),
            ["2:1: length is not an id: it does not take one_of"],
        ),
        (
            change("damping/balance", 'same_within = "5 %"'),
            [
                "2:1: damping_balance is a figure of the whole car: it has no left and right, "
                "and no bands"
            ],
        ),
        (
            change("pair/length", "same_within = 1"),
            ['2:1: a limit is a reading in quotes, such as "6.4 mm"'],
        ),
    ],
)
def test_a_change_that_cannot_be_made_is_refused_where_it_stands(tmp_path, settings, said):
    assert refused(tmp_path, settings) == said


@pytest.mark.parametrize("limit", ["1 cSt", "1 wt", "1", "1 mm ± 1 mm", "nan mm", "1e999 mm"])
def test_a_limit_is_a_sound_reading_of_the_rules_own_dimension(tmp_path, limit):
    (said,) = refused(tmp_path, change("pair/length", f'same_within = "{limit}"'))
    assert said.startswith("2:1: ")


def test_every_mistake_is_told_at_once(tmp_path):
    settings = (
        change("pair/lenght", "leave_out = true")
        + change("pair/length", 'same_within = "1 cSt"')
        + '[[concession]]\nrule = "pair/rebond"\nreason = "x"\nuntil = 2027-06-30\n'
    )
    assert [line.split(":")[0] for line in refused(tmp_path, settings)] == ["1", "4", "6"]


def test_every_mistake_of_one_change_is_told_at_once(tmp_path):
    lines = 'level = "may"\nsame_within = "1 cSt"\ntitel = "x"\nsource = ""'
    assert [line.split(":")[0] for line in refused(tmp_path, change("pair/length", lines))] == [
        *"2345"
    ]


def test_a_limit_that_was_refused_is_told_once(tmp_path):
    bands = 'bands = [{ up_to = "45 mm", at_most = 3 }, { at_most = "8 mm" }]'
    said = ['2:29: a limit is a reading in quotes, such as "6.4 mm"']
    assert refused(tmp_path, change("hold-back/by-body-length", bands)) == said
    said = ['2:1: "strok" is not a measure; did you mean stroke?']
    lines = 'by = "strok"\nbands = [{ up_to = "45 mm", at_most = "3 mm" }, { at_most = "8 mm" }]'
    assert refused(tmp_path, change("hold-back/by-body-length", lines)) == said


def test_a_concession_that_says_nothing_is_told_what_it_lacks(tmp_path):
    assert refused(tmp_path, "[[concession]]\n") == [
        f"1:3: {key} is missing: every concession needs it" for key in ("reason", "rule", "until")
    ]


def test_a_change_that_was_refused_is_not_told_as_none(tmp_path):
    said = ['2:1: level is "must" or "should"']
    assert refused(tmp_path, change("pair/length", 'level = "may"')) == said


# --- rules of the team's own ---------------------------------------------------------------------


def test_a_rule_of_the_teams_own_joins_the_others_in_the_order_of_ids(tmp_path):
    found = force(tmp_path, "", pair__own=OWN)
    assert [r.id for r in found.book] == sorted([*BOOK.rules, "pair/own"])
    path = tmp_path / "rules" / "pair" / "own.toml"
    assert found.changes == (
        RuleChange("pair/own", "own", "must", "hold_back at most 10 mm", path, 1, 1),
    )


def test_a_rule_of_the_teams_own_is_changed_in_its_own_file(tmp_path):
    said = "1:2: pair/own is a rule of the team's own: change it in rules/pair/own.toml"
    assert refused(tmp_path, change("pair/own", "leave_out = true"), pair__own=OWN) == [said]


def test_a_broken_rule_of_the_teams_own_is_told(tmp_path):
    with pytest.raises(RulebookError, match="hold_bakc"):
        force(tmp_path, "", pair__own=OWN.replace("hold_back", "hold_bakc"))


# --- concessions ---------------------------------------------------------------------------------


def leave(rule: str, more: str = "") -> str:
    return f'[[concession]]\nrule = "{rule}"\nreason = "x"\nuntil = 2027-06-30\n{more}\n'


def test_a_concession_may_be_for_any_rule_on_a_build_even_one_that_is_off(tmp_path):
    settings = change("pair/length", "leave_out = true") + leave("pair/length") + leave("pair/own")
    found = force(tmp_path, settings, pair__own=OWN)
    assert [given.rule for given in found.concessions] == ["pair/length", "pair/own"]


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        (
            leave("pair/lenght"),
            '2:1: there is no rule "pair/lenght"; did you mean pair/length?',
        ),
        (
            leave("file/not-toml"),
            "2:1: no concession covers a mistake in a file: it can only be mended",
        ),
        (
            leave("file/nothing"),
            "2:1: no concession covers a mistake in a file: it can only be mended",
        ),
        (
            leave("pair/length", 'where = "front.left"'),
            '5:1: pair/length compares left with right: write where = "front", not one side',
        ),
        (
            leave("damping/balance", 'where = "rear"'),
            '5:1: damping/balance is about the whole car: write where = "car", or leave where out',
        ),
    ],
)
def test_a_concession_that_can_be_of_no_use_is_refused(tmp_path, settings, said):
    assert refused(tmp_path, settings) == [said]


@pytest.mark.parametrize(
    ("rule", "where"),
    [("pair/length", "front"), ("pair/length", "car"), ("damping/balance", "car")],
)
def test_a_concession_may_say_where_its_rule_speaks(tmp_path, rule, where):
    assert len(force(tmp_path, leave(rule, f'where = "{where}"')).concessions) == 1


# --- rules given by a program --------------------------------------------------------------------


def test_rules_that_are_given_stand_as_they_are_and_only_concessions_are_followed(tmp_path):
    given = Rulebook({"pair/length": BOOK["pair/length"]})
    settings = (
        change("pair/length", "leave_out = true") + leave("pair/length") + leave("pair/parts")
    )
    (tmp_path / SETTINGS).write_text(settings, encoding="utf-8")
    found = rules_in_force(tmp_path, given)
    assert found.book is given
    assert found.changes == ()
    assert [leave.rule for leave in found.concessions] == ["pair/length", "pair/parts"]


def test_settings_in_a_wrong_form_are_refused_with_given_rules_too(tmp_path):
    (tmp_path / SETTINGS).write_text("one = 1\n", encoding="utf-8")
    with pytest.raises(SettingsError, match='"one" is not a key of the settings'):
        rules_in_force(tmp_path, BOOK)


@pytest.mark.parametrize("text", ['same_within = "1 mm"', 'title = "Another"'])
def test_a_fault_goes_where_the_limit_or_the_title_is_the_teams_own(tmp_path, text):
    """It states the limit that the rule came with."""
    assert BOOK["pair/length"].fault
    assert force(tmp_path, change("pair/length", text)).book["pair/length"].fault == ""


def test_a_change_that_changes_nothing_hides_no_other(tmp_path):
    same = change("bench/label", "is = true")
    found = force(tmp_path, same + change("pair/length", 'same_within = "2 mm"'))
    assert [c.rule for c in found.changes] == ["pair/length"]


def test_what_is_turned_stays_when_the_bands_go_by_something_else(tmp_path):
    ident = "hold-back/by-body-length"
    assert BOOK[ident].turn == ("hold_back",)
    bands = 'by = "limiter"\nbands = [{ up_to = "5 mm", at_most = "1 mm" }, { at_most = "9 mm" }]'
    rule = force(tmp_path, change(ident, bands)).book[ident]
    assert "hold_back" in rule.turn
    own = OWN.replace('cure = "Less of it."', 'cure = "Less of it."\nturn = ["hold_back"]')
    assert force(tmp_path, "", ours__few=own).book["ours/few"].turn == ("hold_back",)


def test_what_the_team_around_changes_is_told_where_this_one_does_not(tmp_path):
    """The nearest one within the git repository, wherever that begins."""
    (tmp_path / ".git").mkdir()
    outer, inner = tmp_path / "outer", tmp_path / "outer" / "teams" / "inner"
    inner.mkdir(parents=True)
    force(tmp_path, change("spring/coil-gap", 'level = "should"'))
    longer, level = change("pair/length", 'same_within = "2 mm"'), 'level = "should"'
    around = longer + change("bench/label", "leave_out = true") + change("pair/parts", level)
    force(outer, around, ours__few=OWN)
    # what is changed alike is no difference
    found = force(inner, longer).changes
    told = {c.rule: (c.kind, c.level) for c in found}
    assert told["ours/few"] == ("left out", "must")
    assert told["pair/parts"][0] == "changed"
    assert told.keys() == {"pair/length", "ours/few", "pair/parts"}
    assert all((c.line, c.column) == (1, 1) for c in found if c.rule != "pair/length")


@pytest.mark.parametrize(
    ("around", "here", "but"),
    [
        (0.99, 0.95, "the team around it has it with 99 %"),
        (0.99, 0.99, "it came with 95 %"),
        (0.95, 0.99, "it came with 95 %"),
    ],
)
def test_another_chance_that_the_team_around_asks_for_is_told(tmp_path, around, here, but):
    (tmp_path / ".git").mkdir()
    (tmp_path / "inner").mkdir()
    force(tmp_path, f"[judging]\nsure = {around}\n")
    (told,) = force(tmp_path / "inner", f"[judging]\nsure = {here}\n").changes
    assert (told.rule, told.level) == ("judging/sure", "must")
    said = f"every must holds from a chance of {here * 100:g} %, but {but}"
    assert told.what.split(" (")[0] == said


def test_a_rule_of_both_teams_for_other_dampers_is_told(tmp_path):
    (tmp_path / ".git").mkdir()
    (tmp_path / "inner").mkdir()
    force(tmp_path, "", ours__few=OWN + 'only = { cap = "sealed" }\n')
    own, other = force(tmp_path / "inner", "", ours__few=OWN).changes
    assert (own.kind, other.kind, other.rule) == ("own", "changed", "ours/few")
    said = "for other dampers only, but the team around it has it for cap sealed"
    assert other.what.split(" (")[0] == said


def test_around_a_team_without_another_is_the_repository_itself(tmp_path):
    (tmp_path / ".git").mkdir()
    (tmp_path / "inner").mkdir()
    own = tmp_path / "rules" / "ours" / "few.toml"
    own.parent.mkdir(parents=True)
    own.write_text(OWN, encoding="utf-8")
    (told,) = force(tmp_path / "inner", "").changes
    assert (told.rule, told.kind) == ("ours/few", "left out")


# --- rules that are given ------------------------------------------------------------------------


def test_of_the_settings_what_is_given_follows_the_concessions_alone(tmp_path):
    book = Rulebook({"pair/length": BOOK.rules["pair/length"]})
    team = Team(tmp_path, set())
    assert rules_of(team, book) == InForce(book, (), (), None)
    text = (
        change("pair/length", "leave_out = true")
        + '[[concession]]\nrule = "pair/length"\nreason = "spare"\nuntil = 2027-06-30\n'
    )
    (tmp_path / SETTINGS).write_text(text, encoding="utf-8")
    found = rules_of(team, book)
    assert (found.book, found.changes, len(found.concessions)) == (book, (), 1)
    assert found.settings is not None and found.settings.path == tmp_path / SETTINGS
    # without them, those of the team are read once
    assert "pair/length" not in rules_of(team).book.rules
    assert rules_of(team) is rules_of(team)
