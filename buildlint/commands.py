"""What each command does: arguments in; a report, an exit code and what to say beside it out."""

from __future__ import annotations

import os
import shlex
import sys
from argparse import Namespace
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from buildlint.words import clean

__all__ = [
    "Outcome",
    "begin",
    "compare",
    "complete",
    "figures",
    "inspect",
    "labels",
    "rulebook",
    "schema",
    "sheet",
]

_FAILED = 1

# So many files are named where more may be meant.
_SOME = 3

_MEND = "Nothing was committed. Mend and save, then `git add` the files, then commit again"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a command has to show: its report, the exit code, and notes beside the report."""

    report: str
    code: int = 0
    notes: tuple[str, ...] = ()


def inspect(chosen: Namespace) -> Outcome:
    """Judge builds."""
    from buildlint.inspection import inspect_team
    from buildlint.progress import Progress

    notes: tuple[str, ...] = ()
    if chosen.commit:
        from buildlint.commit import changed_in_commit, in_range
        from buildlint.errors import PathError

        if chosen.paths:
            raise PathError("--commit takes no paths: git says what the commit changes")
        notes = _not_as_added()
    progress = Progress()
    try:
        found = inspect_team(
            changed_in_commit(Path.cwd()) if chosen.commit else chosen.paths or ["."],
            tracked=chosen.commit,
            on=chosen.on,
            progress=progress,
        )
    finally:
        progress.close()
    differ, notes = bool(notes), (*notes, *_unseen(chosen))
    code = 0 if found.passes(chosen.strict) else _FAILED
    if chosen.form == "json":
        from buildlint.reports.as_json import inspection_json

        return Outcome(inspection_json(found, chosen.strict), code, notes)
    if chosen.form == "lines":
        from buildlint.reports.lines import inspection_lines

        return Outcome(inspection_lines(found), code, notes)
    if chosen.form == "sarif":
        from buildlint.reports.as_sarif import inspection_sarif

        return Outcome(inspection_sarif(found, chosen.strict), code, notes)
    if chosen.form == "junit":
        from buildlint.reports.as_junit import inspection_junit

        return Outcome(inspection_junit(found, chosen.strict), code, notes)
    from buildlint.reports.text import inspection_text

    if chosen.commit and not found.builds and not found.in_files:
        return Outcome("this commit changes no build\n", code, notes)
    text = inspection_text(found, _colour(chosen), chosen.strict)
    if chosen.commit and code and not in_range():
        from buildlint.reports.wrapping import wrapped

        what = "" if differ else ": what is judged is what was added"
        text += "\n".join(["", *wrapped(f"{_MEND}{what}.", 0), ""])
    return Outcome(text, code, notes)


def _not_as_added() -> tuple[str, ...]:
    """Give what is to be said of files that stand otherwise on the disk than they were added."""
    from buildlint.commit import differs_from_staged

    what = "is not on the disk as it was added: it is judged as it is on the disk"
    return tuple(f"{clean(name)} {what}" for name in differs_from_staged(Path.cwd()))


def _unseen(chosen: Namespace) -> tuple[str, ...]:
    """Give what is to be said of files that git tracks and that are not judged as one would think.

    Nothing where there is no git to ask.
    """
    from buildlint.commit import unseen
    from buildlint.errors import PathError
    from buildlint.git import top_of

    notes: list[str] = []
    try:
        given = [top_of(Path.cwd())] if chosen.commit else map(Path, chosen.paths or ["."])
        for folder in (path for path in given if path.is_dir()):
            found = unseen(folder.absolute())
            what = "in git, but not judged, for a name that begins with a dot is passed over"
            notes += _some(found.hidden, what)
            notes += _some(found.left_out, "in git, but not checked out here, so not judged")
            what = "git was told not to look at what is changed there; judged as it is on the disk"
            notes += _some(found.changed, what)
    except (PathError, OSError):
        return ()
    return tuple(dict.fromkeys(notes))


def _some(files: list[Path], what: str) -> list[str]:
    """Give one line about some files, or none."""
    from buildlint.words import seen_from_here

    names = [clean(seen_from_here(path)) for path in files]
    more = f" and {len(names) - _SOME} more" if len(names) > _SOME else ""
    return [f"{', '.join(names[:_SOME])}{more}: {what}"] if names else []


def figures(chosen: Namespace) -> Outcome:
    """Show every measure of a build."""
    from buildlint.build_figures import figures

    found = figures(chosen.build)
    code = _FAILED if found.mistakes else 0
    if chosen.form == "json":
        from buildlint.reports.as_json import figures_json

        return Outcome(figures_json(found), code, found.mistakes)
    from buildlint.reports.tables import figures_text

    return Outcome(figures_text(found), code, found.mistakes)


def rulebook(chosen: Namespace) -> Outcome:
    """Show the rules in force here, or one in full."""
    from buildlint.errors import RulebookError
    from buildlint.folders import find_root
    from buildlint.rulebook import Rulebook
    from buildlint.rules_in_force import rules_in_force

    force = rules_in_force(find_root(Path.cwd()))
    book, changes = force.book, list(force.changes)
    rules = list(book)
    name = (chosen.rule or "").rstrip("/")
    group = [rule for rule in book if rule.id.split("/")[0] == name]
    if group:
        book, rules = Rulebook({rule.id: rule for rule in group}), group
        changes = [change for change in changes if change.rule.split("/")[0] == name]
    elif chosen.rule is not None:
        if chosen.rule not in book.rules:
            from buildlint.words import shown

            near = _rule_meant(name, book.rules)
            hint = f"; did you mean {near}?" if near else ""
            off = any(change.rule == chosen.rule for change in changes)
            name = shown(chosen.rule)
            turned_off = f"the rule {name} is off here: the team's settings say so"
            raise RulebookError([turned_off if off else f"there is no rule {name}{hint}"])
        rules = [book[chosen.rule]]
        changes = [change for change in changes if change.rule == chosen.rule]
    if chosen.form == "json":
        from buildlint.reports.as_json import rules_json

        return Outcome(rules_json(rules, changes))
    from buildlint.reports.tables import rule_text, rulebook_text

    if chosen.rule is not None and not group:
        return Outcome(rule_text(rules[0], changes))
    return Outcome(rulebook_text(book, changes))


def _rule_meant(name: str, rules: Iterable[str]) -> str | None:
    """Give the rule, or the group of rules, that a name may have meant."""
    from buildlint.words import nearest

    rules = list(rules)
    # by the whole id, by its group or by what comes behind
    known = {rule.partition("/")[2]: rule for rule in reversed(rules)}
    known |= {rule: rule for rule in rules}
    known |= {group: group for group in (rule.partition("/")[0] for rule in rules)}
    begun = (word for word in known if name and word.startswith(name))
    near = name if name in known else next(begun, None) or nearest(name, known)
    return known[near] if near is not None else None


def compare(chosen: Namespace) -> Outcome:
    """Show what was changed between two builds."""
    from buildlint.comparison import compare

    found = compare(chosen.old, chosen.new)
    code = _FAILED if found.mistakes else 0
    if chosen.form == "json":
        from buildlint.reports.comparison_json import comparison_json

        return Outcome(comparison_json(found), code, found.mistakes)
    from buildlint.reports.comparison_text import comparison_text

    return Outcome(comparison_text(found), code, found.mistakes)


def labels(chosen: Namespace) -> Outcome:
    """Show what to write on the caps."""
    from buildlint.build_labels import labels

    found = labels(chosen.build)
    code = _FAILED if found.mistakes else 0
    if chosen.form == "json":
        from buildlint.reports.labels_json import labels_json

        return Outcome(labels_json(found), code, found.mistakes)
    from buildlint.reports.labels_text import labels_text

    return Outcome(labels_text(found), code, found.mistakes)


def sheet(chosen: Namespace) -> Outcome:
    """Make a bench sheet."""
    if chosen.output is None and sys.stdout.isatty():
        from buildlint.errors import PathError
        from buildlint.files.names import kind_and_id

        ident = (kind_and_id(Path(chosen.build).name) or ("build", chosen.build))[1]
        words = shlex.join(["buildlint", "sheet", chosen.build, "-o", f"{ident}.html"])
        raise PathError(f"name a file for the page: {words}")
    import logging
    import warnings

    from buildlint.reports.sheet.page import sheet_and_mistakes

    # what the libraries that draw have to say of fonts, folders and threads is nothing to a builder
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    warnings.simplefilter("ignore")
    logging.getLogger("matplotlib").setLevel(logging.CRITICAL)
    html, mistakes = sheet_and_mistakes(chosen.build, chosen.on)
    return Outcome(html, _FAILED if mistakes else 0, mistakes)


def schema(chosen: Namespace) -> Outcome:
    """Print the JSON Schema of a kind of file."""
    from buildlint.schemas import schema_text

    return Outcome(schema_text(chosen.kind))


def begin(chosen: Namespace) -> Outcome:
    """Make a starting repository."""
    from buildlint.begin import begin, next_steps
    from buildlint.words import clean, seen_from_here

    made = [clean(seen_from_here(path)) for path in begin(chosen.folder)]
    steps = next_steps(chosen.folder)
    lines = ["made:", *(f"  {path}" for path in made), "", "next:", *(f"  {s}" for s in steps)]
    lines += ["", "Every figure in these files is invented: put your own figures in their place."]
    return Outcome("\n".join(lines) + "\n")


def complete(chosen: Namespace) -> Outcome:
    """Print what a shell needs to complete commands, options and paths."""
    from buildlint.completion import completion

    return Outcome(completion(chosen.shell))


def _colour(chosen: Namespace) -> bool:
    return (
        chosen.output is None
        and sys.stdout.isatty()
        and not os.environ.get("NO_COLOR")
        and os.environ.get("TERM") != "dumb"
    )
