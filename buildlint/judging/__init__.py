"""Rules held against what was measured: verdicts, cures, figures, comparisons."""
