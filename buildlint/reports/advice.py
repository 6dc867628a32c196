"""What a finding asks to be done, as sentences for reports that have no layout of their own."""

from __future__ import annotations

import re
from collections.abc import Iterable

from buildlint.judging.finding import Finding
from buildlint.text.words import clean

__all__ = ["about", "advice", "cautions", "sentence", "sentences", "what_decides"]


def about(finding: Finding) -> str:
    """Say which part of the car a finding is about, and when; nothing for a mistake in a file."""
    return clean(" ".join(filter(None, (finding.subject, finding.condition))))


def advice(finding: Finding) -> list[str]:
    """Return sentences: the caution first, then what was solved for, then the rule's cure.

    Nothing for what is not checked or is conceded: there is nothing to mend.
    """
    if finding.verdict == "not checked" or finding.concession is not None:
        return []
    told = [f"Caution: {finding.caution}"] if finding.caution else []
    if finding.verdict == "borderline":
        told.append(what_decides(finding))
    told += [figure.text for figure in finding.cure_figures]
    told += [finding.no_figure, finding.cure]
    return [sentence(f"{text[:1].upper()}{text[1:]}") for text in told if text]


def cautions(texts: Iterable[str]) -> list[str]:
    """Return the cautions of several rules as one: each sentence once, and what ends them last.

    >>> cautions(["Springs fly. See the maker.", "", "Oil burns. See the maker."])
    ['Caution: Springs fly. Oil burns. See the maker.']
    """
    every = [sentences(text) for text in dict.fromkeys(texts) if text]
    told = dict.fromkeys(one for each in every for one in each[:-1])
    told |= dict.fromkeys(each[-1] for each in every)
    return [f"Caution: {' '.join(told)}"] if told else []


def what_decides(finding: Finding) -> str:
    """Say which reading matters most to whether a limit is kept, and what to do about it."""
    if not finding.readings:
        return ""
    most = finding.readings[0]
    share = f"{most.share:.0%}".replace("%", " %")
    not_given = "" if most.given else ", which was not given"
    return f"Measure {clean(most.reading)}{not_given}: {share} of the uncertainty."


def sentences(text: str) -> list[str]:
    """Return the sentences of a text.

    >>> sentences("61 degF is 16 degC. Go to the line, e.g. 12. Save it.")
    ['61 degF is 16 degC.', 'Go to the line, e.g. 12.', 'Save it.']
    """
    return re.split(r"(?<=[\w\"%)][.!?]) (?=[A-Z])", clean(" ".join(text.split())))


def sentence(text: str) -> str:
    r"""Return a text on one line, fit to be shown, with the full stop that ends a sentence.

    >>> sentence("the cap\nis full"), sentence("Why?")
    ('the cap is full.', 'Why?')
    """
    text = clean(" ".join(text.split()))
    return text if text.endswith((".", "!", "?")) else f"{text}."
