"""The rules in force for a team: those that come with buildlint as it changed them, and its own."""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Literal

from buildlint.files.concession import Concession
from buildlint.files.mistakes import checked
from buildlint.files.places import Places
from buildlint.files.rule_keys import ASKS
from buildlint.files.settings import (
    OWN,
    SETTINGS,
    SURE,
    Change,
    Inspect,
    SettingsFile,
    read_settings,
)
from buildlint.judging.rule import Rule, asked
from buildlint.judging.rulebook import Rulebook, load_rulebook, own_rules
from buildlint.measures import MEASURES
from buildlint.team.repository import Team
from buildlint.text.words import nearest, shown

__all__ = ["CHANGEABLE_ABOUT_FILES", "InForce", "RuleChange", "rules_in_force", "rules_of"]

_AROUND = "but the team around it has it"
_ANOTHER_TEAM = "this folder is a team of its own, inside another one"

#: Goes for the rule where the chance is changed from which every must holds.
SURE_SETTING = "judging/sure"
#: What a change of which builds are judged goes by.
PASS_OVER_SETTING = "inspect/pass_over"

#: These two are about the settings themselves; the other rules about files cannot be changed.
CHANGEABLE_ABOUT_FILES = ("file/concession-expired", "file/concession-unused")


@dataclass(frozen=True, slots=True)
class RuleChange:
    """One way in which a team's rules differ from those that come with buildlint.

    `what` is what was done to the rule, in words; `level` is the level that it came with (of a
    rule of the team's own, the one that it has). A change of the chance from which every must
    holds is told as one too, with SURE_SETTING for the rule, and so is what is passed over, with
    PASS_OVER_SETTING.
    """

    rule: str
    kind: Literal["left out", "changed", "own"]
    level: Literal["must", "should"]
    what: str
    path: Path
    line: int = 1
    column: int = 1

    @property
    def in_words(self) -> str:
        """Say which rule it is, what it came as, and what was done to it."""
        if self.rule in (SURE_SETTING, PASS_OVER_SETTING):
            return f"{self.rule}: {self.what}"
        came = "is" if self.kind == "own" else "came as"
        return f"{self.rule}, which {came} a {self.level}: {self.what}"


@dataclass(frozen=True, slots=True)
class InForce:
    """The rules that a team's builds are judged by, how they came about, and its concessions.

    `sure` is the chance from which a must holds, `inspect` says which builds are judged.
    """

    book: Rulebook
    changes: tuple[RuleChange, ...] = ()
    concessions: tuple[Concession, ...] = ()
    settings: SettingsFile | None = None
    sure: float = SURE
    inspect: Inspect = field(default_factory=Inspect)

    def passed_over(self, root: Path, builds: Iterable[Path]) -> set[Path]:
        """Return those of a team's builds that its settings pass over."""
        if not self.inspect.pass_over:
            return set()
        return {p for p in builds if self.inspect.passes_over(p.relative_to(root).as_posix())}


def rules_in_force(
    root: Path, base: Rulebook | None = None, counts: Callable[[Path], bool] | None = None
) -> InForce:
    """Return the rules in force for the team whose root this is.

    `base` stands in for the rules that come with buildlint: it is taken as it is, and of the team's
    settings only the concessions are followed. `counts` says which files of own rules are the
    team's; left out, all are. Raises SettingsError and RulebookError with every
    mistake, each with its file and line.
    """
    settings = read_settings(root)
    if base is not None:
        # whether a concession is for a rule at all, the rules given cannot say
        settings.refuse()
        return InForce(base, (), settings.says.concessions, settings if settings.there else None)
    shipped = load_rulebook()
    found = _of_team(settings, shipped, counts)
    around = _root_around(root)
    if around is None:
        return found
    # a folder made a team of its own would else be out of the reach of rules without a word
    others = _of_team(read_settings(around), shipped, counts)
    changes = (*found.changes, *_left_behind(settings, found.book, others.book, shipped))
    if others.sure not in (found.sure, SURE):
        what = f"{_sure_in_words(found.sure, _AROUND, others.sure)} ({_ANOTHER_TEAM})"
        changes += (RuleChange(SURE_SETTING, "changed", "must", what, settings.path),)
    return replace(found, changes=changes)


def rules_of(team: Team, base: Rulebook | None = None) -> InForce:
    """Return the rules in force for a team, which are read once for it; as `rules_in_force`."""
    if base is not None:
        return rules_in_force(team.root, base)
    if team.rules is None:
        team.rules = rules_in_force(team.root)
    found: InForce = team.rules
    return found


def _of_team(
    settings: SettingsFile, shipped: Rulebook, counts: Callable[[Path], bool] | None
) -> InForce:
    # own rules first: a concession may name one
    own = own_rules(settings.root, shipped, settings.there, counts)
    rules = {**shipped.rules, **_changed(settings, shipped, own), **own}
    left_out = {ident for ident, c in settings.says.changes.items() if c.leave_out}
    changes = _told(settings, shipped, rules, left_out, own)
    for concession in settings.says.concessions:
        # what lacks its rule is refused already
        wrong = _no_such_rule(concession, rules) if concession.rule else None
        if wrong is not None:
            key, what = wrong
            settings.mistakes.append((("concession", str(concession.number), key), what))
    settings.refuse()
    book = Rulebook({ident: rules[ident] for ident in sorted(rules) if ident not in left_out})
    there = settings if settings.there else None
    says = settings.says
    return InForce(book, tuple(changes), says.concessions, there, settings.sure, says.inspect)


def _root_around(root: Path) -> Path | None:
    """Return the root of the team in whose folder this one's lies, in the same git repository."""
    found = None
    for folder in (root, *root.parents):
        if found is None and folder != root and os.path.lexists(folder / SETTINGS):
            found = folder
        if os.path.lexists(folder / ".git"):
            # the top of the repository may have rules of its own without any settings
            return folder if found is None and folder != root else found
    return None


def _left_behind(
    settings: SettingsFile, here: Rulebook, around: Rulebook, shipped: Rulebook
) -> Iterator[RuleChange]:
    """Tell of what the team around changes in the rules and this one does not."""
    for rule in around:
        if rule == shipped.rules.get(rule.id):
            continue  # how this team's differs is told already
        now = here.rules.get(rule.id)
        what = "left out" if now is None else "; ".join(_differences(rule, now, _AROUND))
        if what:
            text = f"{what} ({_ANOTHER_TEAM})"
            kind: Literal["left out", "changed"] = "left out" if now is None else "changed"
            yield RuleChange(rule.id, kind, rule.level, text, settings.path)


def _no_such_rule(concession: Concession, rules: Mapping[str, Rule]) -> tuple[str, str] | None:
    """Return the key and what is wrong with it, where a concession can never be of use."""
    if concession.rule.startswith("file/"):
        return "rule", "no concession covers a mistake in a file: it can only be mended"
    rule = rules.get(concession.rule)
    if rule is None:
        return "rule", _no_rule(concession.rule, rules)
    where = concession.where or "car"
    if rule.measure is not None and MEASURES[rule.measure].of and where != "car":
        return "where", f'{rule.id} is about the whole car: write where = "car", or leave where out'
    if rule.compares_sides and "." in where:
        end = where.partition(".")[0]
        return "where", f'{rule.id} compares left with right: write where = "{end}", not one side'
    return None


def _no_rule(ident: str, known: Collection[str]) -> str:
    near = nearest(ident, known)
    return f"there is no rule {shown(ident)}" + (f"; did you mean {near}?" if near else "")


# --- rules that the team changes -----------------------------------------------------------------


def _changed(settings: SettingsFile, book: Rulebook, own: Collection[str]) -> dict[str, Rule]:
    found = {}
    for ident, change in settings.says.changes.items():
        above = ("change", ident)
        if ident in own:
            what = f"{ident} is a rule of the team's own: change it in {OWN}/{ident}.toml"
            settings.mistakes.append((above, what))
        elif ident not in book.rules:
            settings.mistakes.append((above, _no_rule(ident, set(book.rules))))
        else:
            found[ident] = _change(settings, book[ident], change, above)
    return found


def _change(settings: SettingsFile, rule: Rule, change: Change, above: tuple[str, ...]) -> Rule:
    """Return the rule as the team has it; where the change cannot be made, as it came."""
    wrong = settings.mistakes
    before = len(wrong)
    if rule.id.startswith("file/") and rule.id not in CHANGEABLE_ABOUT_FILES:
        wrong.append((above, f"{rule.id} is about how files are written: it cannot be changed"))
    refused = {keys[len(above)] for keys in settings.refused if keys[: len(above)] == above}
    if not change.given and not refused:
        wrong.append((above, "nothing is changed: give a limit, a level, or leave_out = true"))
    if change.leave_out and len(change.given) > 1:
        alone = "leave_out = true stands alone: no limit or level goes with it"
        wrong.append(((*above, "leave_out"), alone))
    asks = change.asked | ({"by": change.by} if change.by is not None else {})
    if asks and rule.measure is None:
        wrong.append(((*above, next(iter(asks))), "a rule about files has no limit"))
    elif asks and refused.isdisjoint(("by", *ASKS)):
        rule = _with_ask(settings, rule, asks, above)
    if len(wrong) > before:
        return rule
    texts = {key: getattr(change, key) for key in ("level", "title", "source")}
    if change.title is not None:
        texts["fault"] = ""  # it speaks of the title that the rule came with
    return rule.model_copy(update={key: text for key, text in texts.items() if text is not None})


def _with_ask(
    settings: SettingsFile, rule: Rule, asks: dict[str, Any], above: tuple[str, ...]
) -> Rule:
    """Return the rule with another limit, which is checked as its own is; the title says it."""
    raw = rule.model_dump(by_alias=True, exclude_unset=True)
    raw = {key: given for key, given in raw.items() if key not in ("by", *ASKS)} | asks
    if "bands" in asks:
        raw["bands"] = [band.model_dump(exclude_unset=True) for band in asks["bands"]]
        raw.setdefault("by", rule.by)
    changed, mistakes, _ = checked(Rule, raw)
    for keys, message in mistakes:
        settings.mistakes.append(((*above, *keys), message))
    if mistakes or _asks(changed) == _asks(rule):
        return rule
    title = MEASURES[rule.measure or ""].in_words
    limit = asked(changed).removeprefix(f"{rule.measure} ")
    if changed.by is not None:
        # the name of the measure that the bands go by, for the reader of a report
        limit = limit.replace(f"by {changed.by},", f"by {MEASURES[changed.by].in_words},", 1)
    joined = f"{title} {limit}" if changed.by is not None else f"{title}: {limit}"
    source = f"the team's own limit, {SETTINGS}; it came with {asked(rule)} ({rule.source})"
    return changed.model_copy(
        update={"title": f"{joined[:1].upper()}{joined[1:]}", "fault": "", "source": source}
    )


def _asks(rule: Rule) -> tuple[Any, ...]:
    return rule.ask, rule.by, rule.by_band


# --- what is told of it --------------------------------------------------------------------------


def _told(
    settings: SettingsFile,
    shipped: Rulebook,
    rules: Mapping[str, Rule],
    left_out: set[str],
    own: Mapping[str, Rule],
) -> list[RuleChange]:
    changes = []
    if settings.says.changes:
        places = Places(settings.data)
        for ident in sorted(settings.says.changes.keys() & shipped.rules.keys()):
            was, rule = shipped[ident], rules[ident]
            what = "left out" if ident in left_out else "; ".join(_differences(was, rule))
            if not what:
                continue  # it is as it came
            place = places.of_key(("change", ident))
            changes.append(
                RuleChange(
                    ident,
                    "left out" if ident in left_out else "changed",
                    was.level,
                    what,
                    settings.path,
                    place.line,
                    place.column,
                )
            )
    return [
        *changes,
        *_settings_told(settings),
        *(
            RuleChange(rule.id, "own", rule.level, asked(rule), rule.path or settings.path)
            for rule in own.values()
        ),
    ]


def _settings_told(settings: SettingsFile) -> Iterator[RuleChange]:
    """Tell what a team sets that concerns every rule."""

    def told(setting: str, what: str) -> RuleChange:
        place = Places(settings.data).of_key(tuple(setting.split("/")))
        at = (settings.path, place.line, place.column)
        return RuleChange(setting, "changed", "must", what, *at)

    if settings.sure != SURE:
        yield told(SURE_SETTING, _sure_in_words(settings.sure, "but it came", SURE))
    if settings.says.inspect.pass_over:
        names = ", ".join(map(shown, settings.says.inspect.pass_over))
        yield told(PASS_OVER_SETTING, f"builds in {names} are passed over")


def _sure_in_words(sure: float, came: str, was: float) -> str:
    return f"every must holds from a chance of {sure * 100:.6g} %, {came} with {was * 100:.6g} %"


def _differences(was: Rule, rule: Rule, came: str = "but it came") -> list[str]:
    found = []
    if (was.measure, _asks(was)) != (rule.measure, _asks(rule)):
        found.append(f"{asked(rule)}, {came} with {asked(was)}")
    if was.only != rule.only:
        found.append(f"for other dampers only, {came} for {_only(was)}")
    if was.level != rule.level:
        found.append(f"a {rule.level}, {came} as a {was.level}")
    if not found and was.title != rule.title:
        found.append("another title")
    if not found and was.source != rule.source:
        found.append("another source")
    return found


def _only(rule: Rule) -> str:
    return " and ".join(f"{key} {word}" for key, word in rule.only.words.items()) or "all"
