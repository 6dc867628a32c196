"""Measures: named figures, worked out for many dampers at once.

A measure is a pure function whose parameters are named after readings of a `Damper`, or after other
measures; `temperature` and `altitude` are those of the condition (bench, cold, hot). All is SI.
Arguments are numpy arrays with the axes variant, condition, damper (`arrays`); a reading that is
missing is nan, and so is the figure that stands on it.
"""

from buildlint.measures.vocabulary import MEASURES, OF_THE_BLADDER, Measure

__all__ = ["MEASURES", "OF_THE_BLADDER", "Measure"]
