"""One rule as read: what its file may say, and every mistake in it named with its place."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from buildlint.judging.asks import Ask
from buildlint.judging.rule import Rule, asked
from buildlint.judging.rulebook import read_rule
from buildlint.text.errors import RulebookError

SOUND = """\
title = "The hold-back is a little"
level = "should"
measure = "hold_back"
at_most = "10 mm"
source = "ours, not published"
why = "Because."
cure = "Less of it."
"""


def one(folder: Path, text: str, ident: str = "team/one") -> Rule:
    """Write a rule, and read it."""
    path = folder / f"{ident}.toml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return read_rule(ident, path)


def mistakes(folder: Path, text: str, ident: str = "team/one") -> list[str]:
    """Load a folder that holds one wrong rule, and give what is said, without the folder's path."""
    with pytest.raises(RulebookError) as caught:
        one(folder, text, ident)
    path = Path(os.path.relpath(folder / f"{ident}.toml")).as_posix()
    assert all(line.startswith(f"{path}:") for line in caught.value.mistakes)
    assert str(caught.value) == "\n".join(caught.value.mistakes)
    return [line.removeprefix(f"{path}:") for line in caught.value.mistakes]


def instead(line: str) -> str:
    """Give the sound rule with another line for its measure's limit."""
    return SOUND.replace('at_most = "10 mm"', line)


# --- what a rule may say -------------------------------------------------------------------------


def test_a_sound_rule_is_read_into_si(tmp_path):
    """10 mm is 0.010 m."""
    rule = one(tmp_path, SOUND)
    assert (rule.id, rule.level, rule.measure) == ("team/one", "should", "hold_back")
    assert rule.ask is not None
    assert (rule.ask.at_most, rule.ask.at_least) == (pytest.approx(0.010), None)
    assert rule.compares_sides is False


@pytest.mark.parametrize(
    ("line", "low", "high"),
    [
        ('at_least = "1 mm"', 1e-3, None),
        ('between = ["1 mm", "1/2 in"]', 1e-3, 12.7e-3),  # 1 in is 25.4 mm
        ('between = ["1 mm", "1 mm"]', 1e-3, 1e-3),
    ],
)
def test_limits_one_way_and_both(tmp_path, line, low, high):
    ask = one(tmp_path, instead(line)).ask
    assert ask is not None
    assert ask.at_least == pytest.approx(low)
    assert ask.at_most == (pytest.approx(high) if high is not None else None)


def test_left_and_right_are_compared_by_an_amount_a_share_or_exactly(tmp_path):
    ask = one(tmp_path, instead('same_within = "0.5 mm"')).ask
    assert ask is not None
    assert (ask.same_within, ask.relative, ask.exactly) == (pytest.approx(0.5e-3), False, False)
    ask = one(tmp_path, instead('same_within = "10 %"')).ask
    assert ask is not None
    assert (ask.same_within, ask.relative) == (pytest.approx(0.1), True)
    # of what is a share itself, a share is in points
    ask = one(tmp_path, instead('same_within = "10 %"').replace("hold_back", "rebound")).ask
    assert ask is not None
    assert (ask.same_within, ask.relative) == (pytest.approx(0.1), False)
    rule = one(tmp_path, instead('same_within = "exactly"').replace("hold_back", "oil"))
    assert rule.ask is not None and rule.ask.exactly and rule.compares_sides


def test_one_of_lists_ids(tmp_path):
    ask = one(tmp_path, instead('one_of = ["o350", "o450"]').replace("hold_back", "oil")).ask
    assert ask is not None and ask.one_of == ("o350", "o450")


def test_bands_rise_and_the_last_goes_on_without_end(tmp_path):
    line = """by = "body_length"
bands = [{ up_to = "45 mm", at_most = "3 mm" }, { between = ["4 mm", "8 mm"] }]"""
    rule = one(tmp_path, instead(line))
    assert rule.by == "body_length"
    assert [(band.up_to, band.at_most) for band in rule.bands] == [("45 mm", "3 mm"), (None, None)]
    assert [band.up_to for band in rule.by_band] == [pytest.approx(45e-3), None]
    assert rule.by_band[0].ask.at_most == pytest.approx(3e-3)
    assert rule.by_band[1].ask.at_least == pytest.approx(4e-3)


def test_only_narrows_and_turn_lists_readings(tmp_path):
    text = SOUND + 'turn = ["hold_back"]\nonly = { style = "bladder", end = "rear" }\n'
    rule = one(tmp_path, text)
    assert rule.turn == ("hold_back",)
    assert rule.only.words == {"style": "bladder", "end": "rear"}


def test_texts_over_several_lines_are_one_paragraph(tmp_path):
    rule = one(tmp_path, SOUND.replace('why = "Because."', 'why = """\nBecause\nof it.\n"""'))
    assert rule.why == "Because of it."


def test_a_rule_about_files_has_texts_only(tmp_path):
    text = "".join(
        line for line in SOUND.splitlines(True) if line.split()[0] not in ("measure", "at_most")
    )
    rule = one(tmp_path, text, "file/mistake")
    assert (rule.measure, rule.ask) == (None, None)


def test_a_byte_order_mark_is_passed_over(tmp_path):
    assert one(tmp_path, "\ufeff" + SOUND).level == "should"


# --- every kind of mistake, each with its line and column ----------------------------------------

WRONG = [
    # (what is wrong, line of the sound rule, what stands instead, place, what is said)
    ("measure", 'measure = "holdback"', "3:1", ["holdback", "not a measure", "hold_back"]),
    ("measure", 'measure = "zzzz"', "3:1", ["zzzz", "not a measure"]),
    ("measure", "measure = 6", "3:1", ["not a measure"]),
    ("measure", "", "1:1", ["measure is missing"]),
    ("level", 'level = "maybe"', "2:1", ["must", "should"]),
    ("level", "", None, ["level"]),
    ("title", "", "1:1", ["title is missing"]),
    ("source", "", "1:1", ["source is missing"]),
    ("why", "", "1:1", ["why is missing"]),
    ("cure", "", "1:1", ["cure is missing"]),
    ("source", 'source = "  "', "5:1", ["source is empty: text belongs here"]),
    ("why", "why = 7", "6:1", ["why is text in quotes"]),
    ("at_most", "", "1:1", ["a rule asks one of", "none"]),
    ("at_most", 'at_most = "1 mm"\nat_least = "0 mm"', "5:1", ["at_most and at_least"]),
    (
        "at_most",
        'at_most = "1 mm"\nat_least = "0 mm"\nsame_within = "1 mm"',
        "5:1",
        ["at_most and at_least and same_within"],
    ),
    ("at_most", 'at_most = "10 cSt"', "4:1", ["a kinematic viscosity", "a length"]),
    ("at_most", 'at_most = "10 wt"', "4:1", ["wt is not a unit"]),
    ("at_most", 'at_most = "10 mn"', "4:1", ["mn", "mm"]),
    ("at_most", 'at_most = "10"', "4:1", ["no unit"]),
    ("at_most", "at_most = 10", "4:1", ["reading in quotes"]),
    ("at_most", 'at_most = "10 mm ± 1 mm"', "4:1", ["a limit has no tolerance"]),
    ("at_most", 'at_most = ["1 mm"]', "4:1", ["reading in quotes"]),
    ("at_most", 'between = ["1 mm"]', "4:1", ["two limits"]),
    ("at_most", 'between = "1 mm"', "4:1", ["two limits"]),
    ("at_most", 'between = ["2 mm", "1 mm"]', "4:1", ["first limit is above the second"]),
    ("at_most", 'between = ["2 mm", "1 cSt"]', "4:1", ["a kinematic viscosity"]),
    ("at_most", 'same_within = "5 cSt"', "4:1", ["a kinematic viscosity"]),
    ("at_most", 'same_within = "exactly"', "4:1", ["hold_back is a figure"]),
    ("at_most", "is = true", "4:1", ["hold_back is not a yes or no"]),
    ("at_most", "is = false", "4:1", ["is takes true"]),
    ("at_most", "one_of = []", "4:1", ["a list of ids"]),
    ("at_most", 'one_of = ["a", 4]', "4:1", ["a list of ids"]),
    ("at_most", 'one_of = ["\\u001b[31m"]', "4:1", ["a list of ids"]),
    ("at_most", 'same_within = "-1 mm"', "4:1", ["same_within cannot be below zero"]),
    ("at_most", 'as_planned_within = "-1 mm"', "4:1", ["as_planned_within cannot be below zero"]),
    ("at_most", 'same_within = "-1 %"', "4:1", ["same_within cannot be below zero"]),
    ("cure", 'cure = "x"\nonly = { class = "\\u001b[31m" }', "8:10", ["class is text in quotes"]),
    ("at_most", 'one_of = ["a"]', "4:1", ["hold_back is not an id"]),
    ("at_most", 'one_of = "a"', "4:1", ["a list of ids"]),
    ("at_most", 'at_most = "1 mm"\nby = "body_length"', "5:1", ["by goes with bands"]),
    ("cure", 'cure = "x"\nlevle = "must"', "8:1", ["levle", "not a key of a rule", "level"]),
    ("cure", 'cure = "x"\nturn = "hold_back"', "8:1", ["turn takes a list"]),
    ("cure", 'cure = "x"\nturn = ["holdback"]', "8:1", ["holdback", "turned"]),
    ("cure", 'cure = "x"\nonly = "bladder"', "8:1", ["only is written with its keys in brackets"]),
    ("cure", 'cure = "x"\nonly = { side = "left" }', "8:10", ["side", "style, end, cap and class"]),
    ("cure", 'cure = "x"\nonly = { end = "middle" }', "8:10", ["front", "rear"]),
    ("cure", 'cure = "x"\nonly = { style = 4 }', "8:10", ["bladder", "emulsion"]),
]


@pytest.mark.parametrize(
    ("key", "line", "place", "said"), WRONG, ids=[f"{w[0]}-{w[1]}" for w in WRONG]
)
def test_a_mistake_is_named_with_its_place(tmp_path, key, line, place, said):
    lines = [(line if of.startswith(f"{key} =") else of) for of in SOUND.splitlines()]
    found = mistakes(tmp_path, "\n".join(lines) + "\n")
    right = [m for m in found if all(words in m for words in said)]
    assert right, found
    if place is not None:
        assert right[0].startswith(f"{place}:"), right


BAD_BANDS = [
    ('[{ at_most = "1 mm", up_to = "45 mm" }]', ["the last has none"]),
    ('[{ at_most = "1 mm" }, { at_most = "2 mm" }]', ["every band but the last has up_to"]),
    (
        '[{ up_to = "45 mm", at_most = "1 mm" }, { up_to = "40 mm", at_most = "1 mm" }, '
        '{ at_most = "2 mm" }]',
        ["up_to has to be larger"],
    ),
    (
        '[{ up_to = "45 mm", at_most = "1 mm" }, { up_to = "4.5 cm", at_most = "1 mm" }, '
        '{ at_most = "2 mm" }]',
        ["up_to has to be larger"],
    ),
    ('[{ up_to = "45 mm" }, { at_most = "2 mm" }]', ["a band has one of"]),
    ('[{ up_to = "45 cSt", at_most = "1 mm" }, { at_most = "2 mm" }]', ["viscosity"]),
    ('[{ up_to = "45 mm", at_most = "1 cSt" }, { at_most = "2 mm" }]', ["viscosity"]),
    ('[{ up_to = "45 mm", at_mots = "1 mm" }, { at_most = "2 mm" }]', ["at_mots", "not a key"]),
    (
        '[{ up_to = "45 mm", at_most = "1 mm", at_least = "0 mm" }, { at_most = "2 mm" }]',
        ["one of"],
    ),
    ("[]", ["bands takes a list, such as"]),
    ('"45 mm"', ["bands takes a list, such as"]),
]


@pytest.mark.parametrize(("bands", "said"), BAD_BANDS)
def test_a_mistake_in_the_bands_is_named_at_them(tmp_path, bands, said):
    found = mistakes(tmp_path, instead(f'by = "body_length"\nbands = {bands}'))
    right = [m for m in found if all(words in m for words in said)]
    assert right, found
    assert right[0].startswith("5:")


def test_bands_need_a_figure_to_go_by(tmp_path):
    bands = 'bands = [{ up_to = "45 mm", at_most = "1 mm" }, { at_most = "2 mm" }]'
    assert "by is missing" in mistakes(tmp_path, instead(bands))[0]
    assert "is not a measure" in mistakes(tmp_path, instead(f'by = "length_of_it"\n{bands}'))[0]
    assert "not a figure" in mistakes(tmp_path, instead(f'by = "oil"\n{bands}'))[0]


def test_an_id_takes_no_amount(tmp_path):
    found = mistakes(tmp_path, SOUND.replace("hold_back", "oil"))
    assert 'oil is an id: it takes same_within = "exactly", or one_of' in found[0]


def test_a_rule_about_files_has_no_measure(tmp_path):
    found = mistakes(tmp_path, SOUND, "file/mistake")
    assert len(found) == 2
    assert all("a rule about files has no measure" in m for m in found)
    assert [m.split(":")[0] for m in found] == ["3", "4"]


@pytest.mark.parametrize(
    "data", [b"= 1", b"a = '\xff'", b"a = " + b"[" * 5000, b"a = " + b"9" * 5000]
)
def test_a_rule_that_is_no_toml_is_named(tmp_path, data):
    (tmp_path / "r.toml").write_bytes(data)
    with pytest.raises(RulebookError) as caught:
        read_rule("r", tmp_path / "r.toml")
    (line,) = caught.value.mistakes
    assert line.startswith(f"{Path(os.path.relpath(tmp_path)).as_posix()}/r.toml:1:")


def test_no_rule_file_can_steer_a_terminal(tmp_path):
    found = mistakes(tmp_path, SOUND + '"a\\u001b[31m" = 1\n')
    assert "\x1b" not in "".join(found)


def test_a_figure_that_is_asked_to_be_true_is_told_once(tmp_path):
    assert len(mistakes(tmp_path, instead("is = true"))) == 1


# --- what could not be judged is refused ---------------------------------------------------------


@pytest.mark.parametrize(
    ("measure", "ask", "said"),
    [
        (
            "damping_balance",
            'same_within = "5 %"',
            "4:1: damping_balance is a figure of the whole car: it has no left and right, "
            "and no bands",
        ),
        (
            "damping_balance",
            'bands = [{ up_to = "1 mm", at_most = "1 %" }, { at_most = "2 %" }]\nby = "hold_back"',
            "4:1: damping_balance is a figure of the whole car: it has no left and right, "
            "and no bands",
        ),
        (
            "hold_back",
            'bands = [{ up_to = "1 %", at_most = "1 mm" }, { at_most = "2 mm" }]\n'
            'by = "damping_balance"',
            "5:1: damping_balance is not a figure of a damper, and bands go by such a figure",
        ),
        (
            "rebound_read",
            'same_within = "exactly"',
            "4:1: rebound_read is a yes or no: it takes is = true",
        ),
    ],
)
def test_an_ask_that_would_always_hold_or_never_be_judged_is_refused(tmp_path, measure, ask, said):
    text = instead(ask).replace('"hold_back"', f'"{measure}"', 1)
    assert mistakes(tmp_path, text) == [said]


def test_at_most_a_hundred_bands_fit(tmp_path):
    def bands(number: int) -> str:
        rising = "".join(f'{{ up_to = "{n} mm", at_most = "1 mm" }}, ' for n in range(1, number))
        return instead(f'by = "body_length"\nbands = [{rising}{{ at_most = "2 mm" }}]')

    assert len(one(tmp_path, bands(100)).bands) == 100
    assert mistakes(tmp_path, bands(101)) == ["5:1: at most 100 bands fit"]


# --- texts that others read ----------------------------------------------------------------------


def test_no_text_of_a_rule_can_steer_a_terminal(tmp_path):
    hostile = SOUND + 'caution = "x"\n'
    for word in (
        "The hold-back is a little",
        "ours, not published",
        "Because.",
        "Less of it.",
        "x",
    ):
        hostile = hostile.replace(f'"{word}"', r'"a\u001b[31m\n  b\u202e"')
    rule = one(tmp_path, hostile)
    clean = r"a\x1b[31m b\u202e"
    assert {rule.title, rule.source, rule.why, rule.cure, rule.caution} == {clean}


def test_a_limit_keeps_to_one_line_as_it_was_written(tmp_path):
    rule = one(tmp_path, instead('at_most = """\n10   mm"""'))
    assert rule.ask == Ask(at_most=0.010, texts={"at_most": "10 mm"})
    assert asked(rule) == "hold_back at most 10 mm"


# --- the file ------------------------------------------------------------------------------------


def test_a_large_rule_is_refused_by_its_size(tmp_path):
    room = 100_000 - len(SOUND)
    assert one(tmp_path, SOUND + "#" * room).id == "team/one"
    assert mistakes(tmp_path, SOUND + "#" * (room + 1)) == ["1:1: is larger than 100,000 bytes"]


def test_what_is_no_file_is_no_rule(tmp_path):
    (tmp_path / "one.toml").mkdir()
    for name in ("one.toml", "two.toml"):
        with pytest.raises(RulebookError, match="is not a file that can be read"):
            read_rule("one", tmp_path / name)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs pipes with a name")
def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "one.toml")
    with pytest.raises(RulebookError, match="is not a file that can be read"):
        read_rule("one", tmp_path / "one.toml")
