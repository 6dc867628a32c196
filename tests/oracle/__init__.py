"""A second implementation of the formulas and the verdicts, written apart from the first.

It shares no line with the package: floats and the standard library only, read from the files of a
team by tomli. Where both agree on random dampers, a slip would have to be made twice.
"""
