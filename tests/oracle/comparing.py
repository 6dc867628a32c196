"""Judge random teams by the package and by the oracle, and count where they differ.

The public functions of the package alone are asked: `load_team`, `inspect_team`, `figures`. Each
team has rules of its own, whose limits lie near figures of its builds, so that a chance is told of
every measure.
"""

import math
import random
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from buildlint import figures, inspect_team, load_team
from tests.oracle import dampers, measures, teams, verdicts
from tests.oracle.dampers import CORNERS, Build

RULES = Path(__file__).parents[2] / "rules"
A_TEAM = 25
TELLING = 1e-9
A_CHANCE = 2e-6  # the package's normal probability is good to so much

#: Worked out of several readings before anything is judged, the ends added as squares there: the
#: oracle moves each reading by itself, which differs to second order. Only values are compared.
COMBINED = {
    "blends": "of parts, shares and the mixing law",
    "bladders by the cup": "of radius and depth",
    "bodies with no oil": "of bore, length and what is assumed",
    "chamfers": "known to 0.05 mm here, as a caliper's reading there",
    "dynamic viscosities": "of the dynamic viscosity and the density",
    "rates by the wire": "of wire, diameter, coils and shear modulus",
    "solid lengths by the wire": "of wire and coils",
}
#: What the two read differently, and why: a measure or a feature.
DISPUTED = {
    "cap_pressure": "told of emulsions, too; the need keeps its floor where the chance is of it",
    "holes of two sizes": "moved as one reading, and let through at jet speeds of their own",
    "neutral_point": "said of emulsions, too: nothing but a bladder holds a shaft back",
    "sealed_in": "said of emulsions, too",
    "void_stroke": "of an emulsion the oracle says not checked, the judge nothing",
}
# Rules that are read otherwise.
RULES_LEFT_OUT = {
    "bench/label": "words on a cap are not worked out",
}


@dataclass
class Tally:
    """Count what was compared, and keep what differs."""

    compared: Counter[str] = field(default_factory=Counter)
    differ: Counter[str] = field(default_factory=Counter)
    differences: list[str] = field(default_factory=list)
    chances_apart: list[float] = field(default_factory=list)
    by_measure: Counter[tuple[str, str]] = field(default_factory=Counter)

    def note(self, kind: str, measure: str, same: bool, text: str) -> None:
        """Count one comparison."""
        self.compared[kind] += 1
        if not same:
            self.differ[kind] += 1
            self.by_measure[kind, measure] += 1
            if self.by_measure[kind, measure] <= 3:
                self.differences.append(f"{kind} of {measure}: {text}")

    def text(self) -> str:
        """Say in a few lines what was found."""
        lines = [
            f"{kind}: {self.compared[kind]} compared, {self.differ[kind]} differ"
            for kind in self.compared
        ]
        if self.chances_apart:
            some = sum(apart > TELLING for apart in self.chances_apart)
            far = max(self.chances_apart)
            lines.append(f"chances further apart than {TELLING}: {some}, at most by {far:.2g}")
        lines += [
            f"  {kind} of {measure}: {count}"
            for (kind, measure), count in sorted(self.by_measure.items())
        ]
        return "\n".join([*lines, *self.differences[:20]])


def near(a: float | None, b: float | None) -> bool:
    """Say whether two figures are the same to nine digits."""
    if a is None or b is None:
        return a is b or (a is not None and math.isinf(a)) or (b is not None and math.isinf(b))
    return math.isclose(a, b, rel_tol=TELLING, abs_tol=1e-12)


def corners_of(subject: str) -> list[str]:
    """Name the corners that a subject stands for."""
    return [each for each in CORNERS if subject == "car" or each.startswith(subject)]


def compare(
    count: int,
    seed: int = 1,
    everything: bool = False,
    values_alone: bool = False,
    wild: bool = False,
) -> Tally:
    """Compare so many builds, in teams of at most 25; `wild`, with readings that are far off."""
    tally = Tally()
    without = () if everything else DISPUTED if values_alone else {**COMBINED, **DISPUTED}
    left_out = [each for each in without if each in teams.FEATURES]
    for index in range(0, count, A_TEAM):
        with tempfile.TemporaryDirectory() as name:
            root = Path(name).resolve()
            team_seed = seed * 1_000_003 + index
            names = teams.write(root, team_seed, min(A_TEAM, count - index), left_out)
            if wild:
                make_wild(root, random.Random(team_seed + 2))
                waiting = {each.id for each in inspect_team([root]).builds if each.waits}
                tally.compared["left out for mistakes"] += len(waiting)
                names = [name for name in names if name not in waiting]
            compare_team(root, names, random.Random(team_seed + 1), tally, everything)
    return tally


def make_wild(root: Path, rng: random.Random) -> None:
    """Change readings in each file, as many as can be without a mistake in it."""
    for path in sorted(root.glob("*.toml")):
        tame = path.read_text("utf-8")
        for share in (0.1, 0.05, 0.02, 0.0):
            path.write_text(teams.wilder(tame, rng, share), "utf-8")
            if path not in {mistake.path for mistake in load_team(root).mistakes}:
                break


def compare_team(
    root: Path, names: list[str], rng: random.Random, tally: Tally, everything: bool
) -> None:
    """Compare the figures of a team's builds, then the verdicts."""
    if not names:
        return
    team = dampers.load(root)
    builds = {name: Build(team, name) for name in names}
    found = {
        name: {
            (subject, measure, condition): figure for subject, measure, condition, figure in all_
        }
        for name, all_ in ((name, verdicts.figures(build)) for name, build in builds.items())
    }
    (root / "buildlint.toml").write_text("", "utf-8")
    theirs = load_team(root)
    skip = () if everything else DISPUTED
    units: dict[str, str] = {}
    for name in names:
        compare_figures(name, found[name], figures(theirs.builds[name], theirs), tally, skip, units)
    sure = rng.choice((0.8, 0.95, 0.999))
    rules = verdicts.load_rules(RULES)
    settings = f'[judging]\nsure = "{sure * 100:g} %"\n'
    for rule in rules:
        if rng.random() < 0.6:
            rules[rule]["level"] = "must"
            settings += f'[change."{rule}"]\nlevel = "must"\n'
    (root / "buildlint.toml").write_text(settings, "utf-8")
    for measure, unit in units.items():
        rule = rule_near(measure, unit, found, rng)
        (root / "rules" / "near").mkdir(parents=True, exist_ok=True)
        (root / "rules" / "near" / f"{measure.replace('_', '-')}.toml").write_text(rule, "utf-8")
        if measure in measures.BALANCES or measure == "days_before_event":
            continue
        rule = twin_rule(measure, unit, found, rng)
        (root / "rules" / "twin").mkdir(parents=True, exist_ok=True)
        (root / "rules" / "twin" / f"{measure.replace('_', '-')}.toml").write_text(rule, "utf-8")
    rules |= verdicts.load_rules(root / "rules")
    inspection = inspect_team([root])
    for name in names:
        told = [each for each in inspection.findings if each.build == name]
        compare_verdicts(builds[name], told, rules, sure, tally, skip, everything)


def rule_near(measure: str, unit: str, found: dict, rng: random.Random) -> str:  # type: ignore[type-arg]
    """Write a rule with a limit near some figure of the measure."""
    which = [fig for each in found.values() for key, fig in each.items() if key[1] == measure]
    figure = rng.choice(which)
    scale = verdicts.UNIT_OF[unit]
    u = max(figure.u(figure.up), figure.u(figure.down), 0.01 * abs(figure.read)) / scale
    value = figure.read / scale if math.isfinite(figure.read) else 100.0
    low, high = (value + rng.uniform(-2.5, 2.5) * u for _ in range(2))
    unit = "" if unit in ("1", "step") else unit
    low_text, high_text = (f"{each:.5f} {unit}".strip() for each in sorted((low, high)))
    asks = rng.choice(
        (
            f'at_most = "{high_text}"',
            f'at_least = "{low_text}"',
            f'between = ["{low_text}", "{high_text}"]',
        )
    )
    return (
        f'title = "Near"\nlevel = "must"\nmeasure = "{measure}"\n{asks}\n'
        'source = "invented"\nwhy = "It is near."\ncure = "None."\n'
    )


def twin_rule(measure: str, unit: str, found: dict, rng: random.Random) -> str:  # type: ignore[type-arg]
    """Write a rule that compares left and right, within about their uncertainty."""
    which = [fig for each in found.values() for key, fig in each.items() if key[1] == measure]
    figure = rng.choice(which)
    scale = verdicts.UNIT_OF[unit]
    within = rng.uniform(0.5, 3) * max(figure.u(figure.up) / scale, 1e-3)
    text = f"{within:.5f} {'' if unit in ('1', 'step') else unit}".strip()
    return (
        f'title = "Twin"\nlevel = "must"\nmeasure = "{measure}"\nsame_within = "{text}"\n'
        'source = "invented"\nwhy = "They are twins."\ncure = "None."\n'
    )


def compare_figures(name, mine, theirs, tally, skip, units) -> None:  # type: ignore[no-untyped-def]
    """Compare each figure and its uncertainties."""
    seen = set()
    for line in theirs.figures:
        whole = line.measure in measures.BALANCES or line.measure == "days_before_event"
        if line.measure in skip or line.measure not in measures.MEASURES:
            continue
        for corner in ["car"] if whole else corners_of(line.subject):
            key = (corner, line.measure, line.condition)
            seen.add(key)
            figure = mine.get(key)
            where = f"{name} {' '.join(str(each) for each in key)}"
            if figure is None or line.value is None:
                both = figure is None and line.value is None
                endless = figure is not None and math.isinf(figure.read)
                text = f"{where}: only one knows it: {figure and figure.read}, {line.value}"
                tally.note("known", line.measure, both or endless, text)
                continue
            units[line.measure] = line.unit
            scale = verdicts.UNIT_OF[line.unit]
            pairs = {
                "value": (figure.read / scale, line.value),
                "u up": (figure.u(figure.up) / scale, line.uncertainty_up),
                "u down": (figure.u(figure.down) / scale, line.uncertainty_down),
            }
            for kind, (here, there) in pairs.items():
                tally.note(kind, line.measure, near(here, there), f"{where}: {here}, {there}")
    for key in mine.keys() - seen:
        if key[1] not in skip:
            tally.note("known", key[1], False, f"{name} {key}: the oracle alone knows it")


def silenced(told, subject) -> bool:  # type: ignore[no-untyped-def]
    """Say whether a must fails there: what stands on the same part and is less is then not told.

    What is of the whole car is not told where one fails at each corner.
    """
    if subject == "car":
        return all(silenced(told, corner) for corner in CORNERS)
    return any(
        each.level == "must"
        and each.verdict == "fails"
        and (subject in (each.subject, *each.subjects) or f"{subject}.left" in each.subjects)
        for each in told
    )


def compare_verdicts(build, told, rules, sure, tally, skip, everything) -> None:  # type: ignore[no-untyped-def]
    """Compare the worst verdict of each rule on each subject, and the chance where it is told."""
    for name, rule in rules.items():
        known = rule["measure"] in (*measures.MEASURES, "parts", "rebound_read")
        if not known or rule["measure"] in skip or (name in RULES_LEFT_OUT and not everything):
            continue
        mine: dict[str, list] = {}  # type: ignore[type-arg]
        for subject, condition, judgment in verdicts.judgments(name, rule, build, sure):
            mine.setdefault(subject, []).append((condition, judgment))
        for subject, judged in mine.items():
            if any(verdicts.at_a_band_edge(rule, build, each) for each in corners_of(subject)):
                tally.note("at a band's edge", name, True, subject)
                continue
            verdict = max((each[1][0] for each in judged), key=verdicts.ORDER.index)
            finding = next(
                (
                    each
                    for each in told
                    if each.rule == name
                    and (
                        each.subject == subject
                        or subject in each.subjects
                        or (subject in ("front", "rear") and f"{subject}.left" in each.subjects)
                    )
                ),
                None,
            )
            there = finding.verdict if finding else "holds"
            where = f"{name} {build.table['car']} {subject}"
            less = verdict == "borderline" or (verdict == "fails" and rule["level"] == "should")
            if finding is None and less and silenced(told, subject):
                tally.note("silenced", name, True, where)
                continue
            tally.note("verdict", name, verdict == there, f"{where}: {verdict}, {there}")
            if finding is None or finding.chance is None:
                continue
            for condition, (_, figure, chance) in judged:
                if condition == finding.condition and figure is not None:
                    text = f"{where} {condition}: {chance}, {finding.chance}"
                    apart = abs(chance - finding.chance)
                    tally.chances_apart.append(apart)
                    same = apart <= A_CHANCE
                    tally.note("chance", name, same, text)
                    there_shares = [each.share for each in finding.readings]
                    here = [side[: len(there_shares)] for side in figure.shares()]
                    same = any(all(map(near, side, there_shares)) for side in here)
                    text = f"{where} {condition}: {here[0]}, {there_shares}"
                    tally.note("shares", name, same, text)
