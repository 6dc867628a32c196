"""What a finding asks to be done, as sentences for reports that have no layout of their own."""

from __future__ import annotations

from buildlint.finding import Finding
from buildlint.words import clean

__all__ = ["about", "advice", "sentence"]


def about(finding: Finding) -> str:
    """Say which part of the car a finding is about, and when; nothing for a mistake in a file."""
    return clean(" ".join(filter(None, (finding.subject, finding.condition))))


def advice(finding: Finding) -> list[str]:
    """Give sentences: the caution first, then what was solved for, then the rule's cure.

    Nothing for what is not judged or is conceded: there is nothing to mend.
    """
    if finding.verdict == "not judged" or finding.concession is not None:
        return []
    told = [f"Caution: {finding.caution}"] if finding.caution else []
    if finding.verdict == "doubtful" and finding.widest:
        told.append(f"The largest part of this doubt is {finding.widest}: measure it more closely")
    told += [figure.text for figure in finding.cure_figures]
    told += [finding.no_figure, finding.cure]
    return [sentence(f"{text[:1].upper()}{text[1:]}") for text in told if text]


def sentence(text: str) -> str:
    r"""Give a text on one line, fit to be shown, with the full stop that ends a sentence.

    >>> sentence("the cap\nis full"), sentence("Why?")
    ('the cap is full.', 'Why?')
    """
    text = clean(" ".join(text.split()))
    return text if text.endswith((".", "!", "?")) else f"{text}."
