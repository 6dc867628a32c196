"""Tries any amount of odd input on what reads a team's files: no text may bring it down.

`python -m tests.fuzz readings 1000000 --seed 1` tries a million readings; see `__main__`.
"""
